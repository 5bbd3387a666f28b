"""Quantities, their units in both systems, and how a value is written for a reader.

Inside the engine everything is in the `us` unit of the table below (in, lbf, psi, lb/ft3 ...). `Quantity.si_per_us`
turns such a value into the `si` unit of the same line. Factors are exact by definition: 1 in = 25.4 mm,
1 lb = 0.45359237 kg, standard gravity 9.80665 m/s2 (NIST SP 811, appendix B).
"""

import math
from dataclasses import dataclass
from fractions import Fraction

MM_PER_IN = 25.4
N_PER_LBF = 0.45359237 * 9.80665
MPA_PER_PSI = N_PER_LBF / MM_PER_IN**2
KG_M3_PER_PCF = 0.45359237 / 0.3048**3
KPA_PER_PSF = MPA_PER_PSI * 1000 / 144
KN_M_PER_PLF = N_PER_LBF / 304.8
DAYS_PER_YEAR = 365.25

US, SI = "us", "si"


@dataclass(frozen=True)
class Quantity:
    """A kind of figure. `us` and `si` are its units as results spell them; largest is a bound of sanity, in `us`."""

    name: str
    us: str
    si: str
    si_per_us: float
    largest: float = 1e12
    article: str = "a"

    def unit(self, units: str) -> str:
        return self.si if units == SI else self.us

    def from_us(self, value: float, units: str) -> float:
        return value * self.si_per_us if units == SI else value

    def to_us(self, value: float, units: str) -> float:
        return value / self.si_per_us if units == SI else value


QUANTITIES: dict[str, Quantity] = {
    q.name: q
    for q in (
        Quantity("length", "in", "mm", MM_PER_IN, 12_000),
        Quantity("force", "lbf", "N", N_PER_LBF, 1e7),
        Quantity("stress", "psi", "MPa", MPA_PER_PSI, 1e6),
        Quantity("modulus", "psi", "MPa", MPA_PER_PSI, 1e9),
        Quantity("moment", "lbf·in", "N·mm", N_PER_LBF * MM_PER_IN),
        Quantity("torque", "lbf·ft", "N·m", N_PER_LBF * 0.3048, 1e6),
        Quantity("density", "lb/ft³", "kg/m³", KG_M3_PER_PCF, 1_000),
        Quantity("area load", "psf", "kPa", KPA_PER_PSF, 1e6, "an"),
        Quantity("line load", "lbf/ft", "kN/m", KN_M_PER_PLF, 1e6),
        Quantity("wobble", "1/ft", "1/m", 1 / 0.3048, 1),
        Quantity("area", "in²", "mm²", MM_PER_IN**2, 100, "an"),
        Quantity("section modulus", "in³", "mm³", MM_PER_IN**3),
        Quantity("inertia", "in⁴", "mm⁴", MM_PER_IN**4),
        Quantity("volume", "ft³", "m³", 0.3048**3),
        Quantity("age", "days", "days", 1.0, 100 * DAYS_PER_YEAR, "an"),
        Quantity("life", "years", "years", 1.0, 200),
        Quantity("curvature", "1/in", "1/mm", 1 / MM_PER_IN),
        Quantity("number", "", "", 1.0),
    )
}


def format_number(value: float, digits: int = 4) -> str:
    """A plain decimal with `digits` significant digits, no thousands marks, no trailing zeros: 0.0375, 4500, 29000000.

    Whole digits are never rounded away: 123456.7 is 123457 whatever `digits` says. Minus is the ASCII one, so
    that the text can be read back.
    """
    short = f"{value:.{digits}g}"
    if "e" not in short and "n" not in short:  # neither an exponent nor nan or inf: that is the answer
        return "0" if value == 0 else short
    if not math.isfinite(value):
        raise ValueError(f"not a finite number: {value}")
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    if decimals <= 0:
        return f"{value:.0f}"
    text = f"{value:.{min(decimals, 20)}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def format_quantity(value_us: float, quantity: str, units: str, digits: int = 4) -> str:
    """A value in the `us` unit of its quantity, written with unit in the reader's system: `4500 psi`, `31.03 MPa`."""
    kind = QUANTITIES[quantity]
    unit = kind.unit(units)
    number = format_number(kind.from_us(value_us, units), digits)
    return f"{number} {unit}" if unit else number


def format_length(value_in: float, units: str, denominator: int = 16) -> str:
    """A length as the shop reads a tape: `6 ft 3-1/2 in` to the nearest 1/16, or whole millimetres `1905 mm`.

    Rounds; use `format_quantity` where the exact figure matters.
    """
    if units == SI:
        return f"{round(value_in * MM_PER_IN)} mm"
    sixteenths = round(abs(value_in) * denominator)
    sign = "-" if value_in < 0 and sixteenths else ""
    feet, rest = divmod(sixteenths, 12 * denominator)
    whole, part = divmod(rest, denominator)
    return sign + _feet_and_inches(feet, whole, Fraction(part, denominator))


def _feet_and_inches(feet: int, whole: int, part: Fraction) -> str:
    inches = f"{whole}-{part}" if whole and part else str(part if part else whole)
    if not feet:
        return f"{inches} in"
    return f"{feet} ft" if inches == "0" else f"{feet} ft {inches} in"
