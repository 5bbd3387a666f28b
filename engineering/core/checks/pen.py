"""How a working is written: numbers with units, in the reader's system, with enough digits to do the sum again."""

import math
from collections.abc import Iterable

from engineering.core.contract.units import QUANTITIES, SI, US, Quantity, format_number

DIGITS = 5


class Pen:
    """Writes values of the engine (US units) for a reader of `units`. Formulas with a root of psi are written in
    psi."""

    def __init__(self, units: str) -> None:
        self.units = units
        self._ends = _ENDS[units]
        # a value stands in several lines of its working, and a setting in several workings
        self._written: dict[str, dict[float, str]] = {quantity: {} for quantity in self._ends}

    def __call__(self, value: float, quantity: str) -> str:
        value, written = float(value), self._written[quantity]
        text = written.get(value)
        if text is None:
            unit, factor = self._ends[quantity]
            text = written[value] = format_number(value * factor, DIGITS) + unit
        return text

    def us(self, value: float, quantity: str) -> str:
        """In US units whatever the reader's: for formulas that hold in psi and inches only."""
        return format_number(float(value), DIGITS) + _unit_and_factor(QUANTITIES[quantity], US)[0]

    def both(self, value: float, quantity: str) -> str:
        """A result found in US units, followed by the reader's own where they differ: `167 psi = 1.1514 MPa`."""
        return f"{self.us(value, quantity)} = {self(value, quantity)}" if self.units == SI else self.us(value, quantity)

    def given_in_us(self, symbol: str, value: float, quantity: str) -> list[str]:
        """The line that turns a given value into psi or inches; none for a reader of US units."""
        return [f"{symbol} = {self(value, quantity)} = {self.us(value, quantity)}"] if self.units == SI else []

    def number(self, value: float) -> str:
        return self(value, "number")

    def at(self, value_in: float) -> str:
        return f"at x {self(value_in, 'length')}"


def _unit_and_factor(kind: Quantity, units: str) -> tuple[str, float]:
    """What follows a number, and what turns a value of the engine into it."""
    unit = kind.unit(units)
    return f" {unit}" if unit else "", kind.from_us(1.0, units)


_ENDS = {units: {name: _unit_and_factor(kind, units) for name, kind in QUANTITIES.items()} for units in (US, SI)}


def signed_sum(terms: Iterable[str]) -> str:
    """`a + b + c`; a term that starts with a minus goes into brackets."""
    return " + ".join(f"({term})" if term.startswith("-") else term for term in terms)


def ratio_line(demand: float, capacity: float, pen: Pen, quantity: str) -> str:
    """demand/capacity, the last line of most workings."""
    demand, capacity = float(demand), float(capacity)
    if not capacity > 0 or not math.isfinite(capacity):
        return "there is no capacity to set the demand against"
    if demand <= 0:
        return "the demand has the harmless sign: ratio 0"
    return f"demand/capacity = {pen(demand, quantity)} / {pen(capacity, quantity)} = {pen.number(demand / capacity)}"
