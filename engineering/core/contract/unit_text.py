"""Strings that carry their own unit: `6 ft 3-1/2 in`, `8.6 kip`, `2.5 MPa`, `4 weeks`.

A string is one number and one unit, or feet followed by inches. Numbers: decimal, exponent, 3/8, 3-1/2, 3 1/2, 3½.
"""

import re
import unicodedata
from fractions import Fraction

from engineering.core.contract.units import DAYS_PER_YEAR, KG_M3_PER_PCF, MM_PER_IN, MPA_PER_PSI, N_PER_LBF


class NotAQuantity(ValueError):
    """The text is no number with a unit of the wanted dimension; the message says what it is instead."""


_LENGTH = {
    "in": 1.0,
    "inch": 1.0,
    "inches": 1.0,
    '"': 1.0,
    "ft": 12.0,
    "foot": 12.0,
    "feet": 12.0,
    "'": 12.0,
    "mm": 1 / MM_PER_IN,
    "cm": 10 / MM_PER_IN,
    "m": 1000 / MM_PER_IN,
}
_FORCE = {
    "lbf": 1.0,
    "lb": 1.0,
    "lbs": 1.0,
    "kip": 1000.0,
    "kips": 1000.0,
    "n": 1 / N_PER_LBF,
    "kn": 1000 / N_PER_LBF,
    "kgf": 9.80665 / N_PER_LBF,
}
_STRESS = {
    "psi": 1.0,
    "ksi": 1000.0,
    "mpa": 1 / MPA_PER_PSI,
    "gpa": 1000 / MPA_PER_PSI,
    "kpa": 0.001 / MPA_PER_PSI,
    "pa": 1e-6 / MPA_PER_PSI,
    "n/mm2": 1 / MPA_PER_PSI,
    "kn/m2": 0.001 / MPA_PER_PSI,
    "psf": 1 / 144,
    "lbf/ft2": 1 / 144,
    "lb/ft2": 1 / 144,
    "lbf/in2": 1.0,
    "kn/mm2": 1000 / MPA_PER_PSI,
}
_MOMENT_N_M = 1 / (N_PER_LBF * 0.0254)  # lbf in per N m
_MOMENT = {
    "lbf*in": 1.0,
    "lb*in": 1.0,
    "in*lbf": 1.0,
    "in*lb": 1.0,
    "lbf*ft": 12.0,
    "lb*ft": 12.0,
    "ft*lbf": 12.0,
    "ft*lb": 12.0,
    "ft*lbs": 12.0,
    "in*lbs": 1.0,
    "kip*in": 1000.0,
    "kip*ft": 12000.0,
    "n*m": _MOMENT_N_M,
    "nm": _MOMENT_N_M,
    "kn*m": 1000 * _MOMENT_N_M,
    "knm": 1000 * _MOMENT_N_M,
    "n*mm": _MOMENT_N_M / 1000,
}
_DENSITY = {"lb/ft3": 1.0, "pcf": 1.0, "lbf/ft3": 1.0, "kg/m3": 1 / KG_M3_PER_PCF}
_PLF_PER_N_M = 0.3048 / N_PER_LBF
_LINE = {
    "lbf/ft": 1.0,
    "lb/ft": 1.0,
    "plf": 1.0,
    "kip/ft": 1000.0,
    "klf": 1000.0,
    "lbf/in": 12.0,
    "lb/in": 12.0,
    "n/m": _PLF_PER_N_M,
    "kn/m": 1000 * _PLF_PER_N_M,
    "n/mm": 1000 * _PLF_PER_N_M,
}
_WOBBLE = {"1/ft": 1.0, "/ft": 1.0, "1/m": 0.3048, "/m": 0.3048, "1/in": 12.0, "/in": 12.0}
_AREA = {"in2": 1.0, "mm2": 1 / MM_PER_IN**2, "cm2": 100 / MM_PER_IN**2}
_TIME = {
    "d": 1.0,
    "day": 1.0,
    "days": 1.0,
    "week": 7.0,
    "weeks": 7.0,
    "wk": 7.0,
    "h": 1 / 24,
    "hr": 1 / 24,
    "hrs": 1 / 24,
    "hour": 1 / 24,
    "hours": 1 / 24,
    "year": DAYS_PER_YEAR,
    "years": DAYS_PER_YEAR,
    "yr": DAYS_PER_YEAR,
    "yrs": DAYS_PER_YEAR,
}

# dimension: factors to the engine's own unit (in, lbf, psi, lbf in, pcf, lbf/ft, 1/ft, in2, days)
_UNITS: dict[str, dict[str, float]] = {
    "length": _LENGTH,
    "force": _FORCE,
    "stress": _STRESS,
    "moment": _MOMENT,
    "density": _DENSITY,
    "line load": _LINE,
    "wobble": _WOBBLE,
    "area": _AREA,
    "time": _TIME,
}
# quantity: its dimension, and how many of the engine's own units make one unit of the quantity
_DIMENSION: dict[str, tuple[str, float]] = {
    "length": ("length", 1.0),
    "force": ("force", 1.0),
    "stress": ("stress", 1.0),
    "modulus": ("stress", 1.0),
    "moment": ("moment", 1.0),
    "torque": ("moment", 12.0),
    "density": ("density", 1.0),
    "area load": ("stress", 1 / 144),
    "line load": ("line load", 1.0),
    "wobble": ("wobble", 1.0),
    "area": ("area", 1.0),
    "age": ("time", 1.0),
    "life": ("time", DAYS_PER_YEAR),
}

_DECIMAL = r"(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+(?![\d.]))?"
_NUMBER = re.compile(rf"(?:(?P<whole>\d+)(?:\s*-\s*|\s+))?(?P<top>\d+)\s*/\s*(?P<under>\d+)|(?P<decimal>{_DECIMAL})")
_FEET_THEN = re.compile(r"(?:'|ft\.?|feet|foot)\s*-?\s*(?=[\d.])(.*)", re.I)
_PRODUCT = re.compile(r"(?<=[a-z]) ?[-*] ?(?=[a-z])|(?<=[a-z]) (?=[a-z])")
_SAME = str.maketrans(
    {
        "′": "'",
        "’": "'",
        "‘": "'",
        "ʹ": "'",
        "″": '"',
        "”": '"',
        "“": '"',
        "ʺ": '"',
        "−": "-",
        "–": "-",
        "·": "*",
        "⋅": "*",
        "×": "*",
        "∙": "*",
        "⁄": "/",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "²": "2",
        "³": "3",
    }
)
_LONGEST_TEXT = 80


def read_quantity(text: str, quantity: str) -> float:
    """The value of `text` in the `us` unit of `quantity`. Raises NotAQuantity with what is wrong. May be infinite."""
    plain = _plain(text)
    sign = -1.0 if plain.startswith("-") else 1.0
    number, rest = _take_number(plain[1:].lstrip() if plain[:1] in ("-", "+") else plain)
    dimension, own_units = _DIMENSION[quantity]
    if dimension == "length" and (both := _FEET_THEN.fullmatch(rest)):
        return sign * _feet_inches(number, both[1])
    return sign * number * _factor(rest, dimension) / own_units


def _plain(text: str) -> str:
    """Typographers' signs replaced by those of a keyboard; 3½ becomes 3 1/2."""
    if len(text) > _LONGEST_TEXT:
        raise NotAQuantity("is too long for a number with a unit")
    if not text.isascii():
        spread = "".join(
            f" {unicodedata.normalize('NFKC', c)} " if unicodedata.decomposition(c).startswith("<fraction>") else c
            for c in text
        )
        text = spread.translate(_SAME)
    plain = text.strip()
    if not plain.isascii():
        raise NotAQuantity("has a sign in it that is no part of a number or a unit")
    return plain.replace("''", '"')


def _take_number(text: str) -> tuple[float, str]:
    found = _NUMBER.match(text)
    if not found:
        raise NotAQuantity("does not begin with a number")
    if found["decimal"]:
        number = float(found["decimal"])
    else:
        if int(found["under"]) == 0:
            raise NotAQuantity("divides by zero")
        number = float(int(found["whole"] or 0) + Fraction(int(found["top"]), int(found["under"])))
    return number, text[found.end() :].strip()


def _feet_inches(feet: float, rest: str) -> float:
    inches, unit = _take_number(rest)
    if unit.lower().rstrip(".") not in ("in", "inch", "inches", '"'):
        raise NotAQuantity("gives feet, then something that is not inches")
    return feet * 12 + inches


def _factor(unit: str, dimension: str) -> float:
    key = _unit_key(unit)
    if not key:
        raise NotAQuantity("has no unit")
    if key in _UNITS[dimension]:
        return _UNITS[dimension][key]
    for other, factors in _UNITS.items():
        if key in factors:
            raise NotAQuantity(f"is {_named(other)}")
    raise NotAQuantity(f'has a unit that is not known here: "{unit[:20]}"')


def _unit_key(unit: str) -> str:
    """Units compared without case, spaces and powers' signs; a dash or point between units is a product."""
    key = " ".join(unit.lower().split()).removesuffix(".").replace("^", "").replace("**", "")
    key = _PRODUCT.sub("*", key)
    return key.replace(" ", "").replace("per*", "/").replace("*per*", "/").replace("per/", "/")


def _named(dimension: str) -> str:
    return f"{'an' if dimension[0] in 'aeiou' else 'a'} {dimension}"
