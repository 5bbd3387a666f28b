"""Reading one object of a document, key by key, noting every fault with its path and going on.

A value that is refused reads as None: whoever goes on with it asks `known(...)` first: one slip, one fault.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeGuard

from engineering.core.contract.refusal import Faults, child, shown
from engineering.core.contract.unit_text import NotAQuantity, read_quantity
from engineering.core.contract.units import QUANTITIES, format_number, format_quantity

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
LONGEST_TEXT = 200


class Required:
    """Stands where a default would, for a key that must be given."""


REQUIRED = Required()


@dataclass(frozen=True)
class Range:
    """What a number must lie in, ends in the `us` unit of its quantity. `above` and `below` exclude their end."""

    least: float | None = None
    above: float | None = None
    most: float | None = None
    below: float | None = None

    def holds(self, value: float) -> bool:
        return not (
            (self.least is not None and value < self.least)
            or (self.above is not None and value <= self.above)
            or (self.most is not None and value > self.most)
            or (self.below is not None and value >= self.below)
        )

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
    return all(value is not None for value in values)


class Keys:
    """One object of the document at `path`. `places` gives the path of a key that came from elsewhere (`like`)."""

    def __init__(
        self, values: Mapping[Any, Any], path: str, units: str, faults: Faults, places: Mapping[str, str] | None = None,
        missing_at: str | None = None,
    ):
        self.values, self.path, self.units, self.faults = values, path, units, faults
        self.places = places or {}
        self._missing_at = path if missing_at is None else missing_at  # whose fault a missing key is
        self._asked: set[str] = set()

    def place(self, key: str) -> str:
        return self.places.get(key, child(self.path, key))

    def fault(self, key: str, message: str) -> None:
        self.faults.add(self.place(key), message)

    def missing(self, key: str, message: str) -> None:
        self.faults.add(child(self._missing_at, key), message)

    def has(self, key: str) -> bool:
        return key in self.values

    def close(self) -> None:
        """Refuse every key that was not asked for."""
        for key in self.values:
            if not isinstance(key, str) or key not in self._asked:
                where = self.places.get(key, child(self.path, key if isinstance(key, str) else repr(key)))
                self.faults.add(where, f"unknown key; known here: {', '.join(sorted(self._asked))}")

    def raw(self, key: str, what: str, default: Any = REQUIRED) -> tuple[bool, Any]:
        """(there, value). A key that is missing and required is a fault."""
        self._asked.add(key)
        if key in self.values:
            return True, self.values[key]
        if isinstance(default, Required):
            self.missing(key, f"missing; it should be {what}")
        return False, None

    # ---- plain kinds -----------------------------------------------------------------------------------------------

    def number(self, key: str, quantity: str = "number", default: Any = REQUIRED, within: Range = ANY) -> Any:
        there, value = self.raw(key, _what(quantity, self.units), default)
        if not there:
            return None if isinstance(default, Required) else default
        return read_number(value, self.place(key), quantity, within, self.units, self.faults)

    def text(self, key: str, default: Any = REQUIRED, longest: int = LONGEST_TEXT) -> str | None:
        there, value = self.raw(key, "text", default)
        if not there:
            return None if isinstance(default, Required) else default
        return read_text(value, self.place(key), self.faults, longest)

    def choice(self, key: str, options: Sequence[str], default: Any = REQUIRED) -> str | None:
        what = "one of " + ", ".join(options) if len(options) > 1 else f'"{options[0]}"'
        there, value = self.raw(key, what, default)
        if not there:
            return None if isinstance(default, Required) else default
        if isinstance(value, str) and value in options:
            return value
        self.fault(key, f"{shown(value)} should be {what}")
        return None

    def flag(self, key: str, default: bool) -> bool | None:
        there, value = self.raw(key, "true or false", default)
        if not there:
            return default
        if isinstance(value, bool):
            return value
        self.fault(key, f"{shown(value)} should be true or false")
        return None

    # ---- objects and lists -----------------------------------------------------------------------------------------

    def object(self, key: str, default: Any = REQUIRED) -> "Keys | None":
        """The object under `key`; an empty one where it may be left out and is (default not REQUIRED and not None)."""
        there, value = self.raw(key, "an object", default)
        if not there:
            return None if isinstance(default, Required) or default is None else self.below({}, key)
        if isinstance(value, Mapping):
            return self.below(value, key)
        self.fault(key, f"{shown(value)} should be an object")
        return None

    def below(self, values: Mapping[Any, Any], key: str) -> "Keys":
        return Keys(values, self.place(key), self.units, self.faults)

    def items(self, key: str, what: str, least: int, most: int, default: Any = REQUIRED) -> list[Any] | None:
        there, value = self.raw(key, f"a list of {what}", default)
        if not there:
            return None if isinstance(default, Required) else default
        return read_list(value, self.place(key), what, least, most, self.faults)

    def objects(
        self, key: str, what: str, least: int, most: int, default: Any = REQUIRED
    ) -> "list[Keys | None] | None":
        """One Keys for each object of a list; None for an element that is no object."""
        values = self.items(key, what, least, most, default)
        if values is None:
            return None
        found: list[Keys | None] = []
        for index, value in enumerate(values):
            path = child(self.place(key), index)
            if isinstance(value, Mapping):
                found.append(Keys(value, path, self.units, self.faults))
            else:
                self.faults.add(path, f"{shown(value)} should be an object")
                found.append(None)
        return found

    def numbers(
        self, key: str, quantity: str, what: str, least: int, most: int, within: Range = ANY, default: Any = REQUIRED
    ) -> list[float] | None:
        """A list of numbers; None where any of them is refused."""
        values = self.items(key, what, least, most, default)
        if values is None or values is default:
            return values
        path = self.place(key)
        numbers = [
            read_number(value, child(path, i), quantity, within, self.units, self.faults)
            for i, value in enumerate(values)
        ]
        return [n for n in numbers if n is not None] if known(*numbers) else None

    def points(self, key: str, what: str, least: int, most: int) -> list[tuple[float, float] | None] | None:
        """A list of pairs of lengths [in]; None for a pair that is refused."""
        values = self.items(key, what, least, most)
        if values is None:
            return None
        return [read_point(value, child(self.place(key), i), self.units, self.faults) for i, value in enumerate(values)]


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
    first, second = (read_number(v, child(path, i), "length", ANY, units, faults) for i, v in enumerate(value))
    return (first, second) if first is not None and second is not None else None


def read_text(value: Any, path: str, faults: Faults, longest: int = LONGEST_TEXT) -> str | None:
    if not isinstance(value, str):
        faults.add(path, f"{shown(value)} should be text")
    elif len(value) > longest:
        faults.add(path, f"{len(value)} characters; there should be at most {longest}")
    elif any(ord(c) < 32 or 0x7F <= ord(c) < 0xA0 or 0xD800 <= ord(c) < 0xE000 for c in value):
        faults.add(path, "should be one line of plain text, without control characters")
    else:
        return value
    return None


def read_number(value: Any, path: str, quantity: str, within: Range, units: str, faults: Faults) -> float | None:
    """A finite number in the `us` unit of `quantity`, within its range and the bounds of sanity; else a fault."""
    number = _as_us_value(value, path, quantity, units, faults)
    if number is None:
        return None
    kind = QUANTITIES[quantity]
    if not math.isfinite(number):
        fate = "is too large" if isinstance(value, int) else "is not finite"
        faults.add(path, f"{_given(value)} {fate}; it should be {_what(quantity, units)}")
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
            faults.add(path, f"{shown(value)} {problem}; it should be {_what(quantity, units)}")
            return None
    faults.add(path, f"{shown(value)} should be {_what(quantity, units)}")
    return None


def is_number(value: Any) -> TypeGuard[int | float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _given(value: Any, quantity: str = "number", units: str = "us") -> str:
    if not is_number(value) or not abs(value) < 10**15:
        return shown(value)
    return f"{format_number(float(value), _DIGITS)} {QUANTITIES[quantity].unit(units)}".rstrip()


def _what(quantity: str, units: str) -> str:
    kind = QUANTITIES[quantity]
    if quantity == "number":
        return "a number"
    return f"{kind.article} {quantity}: a number [{kind.unit(units)}] or text like {_EXAMPLES[quantity]}"
