"""One value of a document read as what it should be: a number with a unit, text, a list, a point. Else a fault."""

import math
import re
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, TypeGuard

from engineering.core.contract.refusal import Faults, shown
from engineering.core.contract.unit_text import NotAQuantity, read_quantity
from engineering.core.contract.units import QUANTITIES, SI, US, format_number, format_quantity

_EXAMPLES = {
    "length": '"6 ft 3-1/2 in"',
    "force": '"8.6 kip"',
    "stress": '"7 ksi"',
    "modulus": '"2500 ksi"',
    "torque": '"70 lbf*ft"',
    "density": '"130 pcf"',
    "area load": '"40 psf"',
    "line load": '"8 plf"',
    "wobble": '"0.0005 1/ft"',
    "area": '"0.14 in2"',
    "age": '"7 d"',
    "life": '"30 years"',
}
_DIGITS = 5
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff]")  # control characters and halves of surrogate pairs
LONGEST_TEXT = 200
_NUMBER_TYPES = (float, int)  # exactly: True is no number
# of a quantity in either system: how many of its units make one `us` unit, and the bound of sanity [us]
_SCALES = {
    units: {name: (kind.from_us(1.0, units), kind.largest) for name, kind in QUANTITIES.items()} for units in (US, SI)
}


@dataclass(frozen=True)
class Range:
    """What a number must lie in, ends in the `us` unit of its quantity. `above` and `below` exclude their end."""

    least: float | None = None
    above: float | None = None
    most: float | None = None
    below: float | None = None

    @cached_property
    def ends(self) -> tuple[float, float]:
        """The least and the greatest double that lie in it."""
        least, most = (-math.inf if self.least is None else self.least), (math.inf if self.most is None else self.most)
        if self.above is not None:
            least = max(least, math.nextafter(self.above, math.inf))
        if self.below is not None:
            most = min(most, math.nextafter(self.below, -math.inf))
        return least, most

    def holds(self, value: float) -> bool:
        least, most = self.ends
        return least <= value <= most

    def words(self, quantity: str, units: str) -> str:
        parts = [
            f"{word} {format_quantity(end, quantity, units)}"
            for word, end in (
                ("at least", self.least),
                ("more than", self.above),
                ("at most", self.most),
                ("less than", self.below),
            )
            if end is not None
        ]
        return " and ".join(parts)


ANY = Range()
POSITIVE = Range(above=0.0)
NOT_NEGATIVE = Range(least=0.0)
SHARE = Range(least=0.0, most=1.0)
# A dimension of a thing that is cast or cut; below it is a slip of the unit, and no section can be worked out.
SIZE = Range(least=0.001)


def known(*values: Any) -> bool:
    return None not in values


def read_list(value: Any, path: str, what: str, least: int, most: int, faults: Faults) -> list[Any] | None:
    if not isinstance(value, (list, tuple)):
        faults.add(path, f"{shown(value)} should be a list of {what}")
    elif len(value) < least:
        faults.add(path, f"{len(value)} given; there should be at least {least} {what}")
    elif len(value) > most:
        faults.add(path, f"{len(value)} given; there should be at most {most} {what}")
    else:
        return list(value)
    return None


def read_point(value: Any, path: str, units: str, faults: Faults) -> tuple[float, float] | None:
    if not isinstance(value, (list, tuple)) or len(value) != 2:
        faults.add(path, f"{shown(value)} should be a pair of lengths")
        return None
    pair = [plain_number(one, "length", ANY, units) for one in value]
    if pair[0] is not None and pair[1] is not None:
        return pair[0], pair[1]
    first, second = (read_number(v, f"{path}[{i}]", "length", ANY, units, faults) for i, v in enumerate(value))
    return (first, second) if first is not None and second is not None else None


def read_text(value: Any, path: str, faults: Faults, longest: int = LONGEST_TEXT) -> str | None:
    if not isinstance(value, str):
        faults.add(path, f"{shown(value)} should be text")
    elif len(value) > longest:
        faults.add(path, f"{len(value)} characters; there should be at most {longest}")
    elif _CONTROL.search(value):
        faults.add(path, "should be one line of plain text, without control characters")
    else:
        return value
    return None


def plain_number(value: Any, quantity: str, within: Range, units: str) -> float | None:
    """A number as it nearly always is: no text, within its range and the bounds of sanity. None: look closer."""
    if type(value) not in _NUMBER_TYPES:
        return None
    per_us, largest = _SCALES[units][quantity]
    try:
        number: float = value / per_us
    except OverflowError:
        return None
    least, most = within.ends
    return number if least <= number <= most and -largest <= number <= largest else None


def read_number(value: Any, path: str, quantity: str, within: Range, units: str, faults: Faults) -> float | None:
    """A finite number in the `us` unit of `quantity`, within its range and the bounds of sanity; else a fault."""
    number = _as_us_value(value, path, quantity, units, faults)
    if number is None:
        return None
    kind = QUANTITIES[quantity]
    if not math.isfinite(number):
        fate = "is too large" if isinstance(value, int) else "is not finite"
        faults.add(path, f"{_given(value)} {fate}; it should be {quantity_words(quantity, units)}")
    elif not within.holds(number):
        faults.add(path, f"{_given(value, quantity, units)} should be {within.words(quantity, units)}")
    elif abs(number) > kind.largest * (1 + 1e-9):
        faults.add(
            path,
            f"{_given(value, quantity, units)} is beyond any piece; "
            f"it should be at most {format_quantity(kind.largest, quantity, units)}",
        )
    else:
        return number
    return None


def _as_us_value(value: Any, path: str, quantity: str, units: str, faults: Faults) -> float | None:
    if is_number(value):
        try:
            return QUANTITIES[quantity].to_us(float(value), units)
        except OverflowError:
            return math.inf
    if isinstance(value, str) and quantity != "number":
        try:
            return read_quantity(value, quantity)
        except NotAQuantity as problem:
            faults.add(path, f"{shown(value)} {problem}; it should be {quantity_words(quantity, units)}")
            return None
    faults.add(path, f"{shown(value)} should be {quantity_words(quantity, units)}")
    return None


def is_number(value: Any) -> TypeGuard[int | float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _given(value: Any, quantity: str = "number", units: str = "us") -> str:
    if not is_number(value) or not abs(value) < 10**15:
        return shown(value)
    return f"{format_number(float(value), _DIGITS)} {QUANTITIES[quantity].unit(units)}".rstrip()


@cache
def quantity_words(quantity: str, units: str) -> str:
    kind = QUANTITIES[quantity]
    if quantity == "number":
        return "a number"
    return f"{kind.article} {quantity}: a number [{kind.unit(units)}] or text like {_EXAMPLES[quantity]}"
