"""Maturity of young concrete by ASTM C1074: temperature-time factor, equivalent age, and strength read from them.

The constants of the standard are for Portland cement. Rapid-setting (calcium sulfoaluminate, CSA) cement gains by
another reaction: whoever names it must bring constants measured on the shop's own mix, or is refused.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

PORTLAND_DATUM_C = 0.0            # ASTM C1074 (from memory): type I, cured at 0 to 40 C; older texts have -10 C
PORTLAND_ACTIVATION_K = 5000.0    # Q = E/R, ASTM C1074 appendix X1 (from memory): 40 to 45 kJ/mol
REFERENCE_C = 23.0                # 20 C in Europe
KELVIN = 273.15
PORTLAND, CSA = "portland", "csa"


class NoConstants(ValueError):
    """Portland constants were about to be used for a cement that they say nothing of."""


@dataclass(frozen=True)
class MaturityConstants:
    """Where the concrete stands still, and how much a degree does. `source`: whose tests these are."""

    datum_c: float
    activation_k: float
    reference_c: float
    source: str


@dataclass(frozen=True)
class Interval:
    """A stretch of time at one mean temperature of the concrete."""

    hours: float
    temperature_c: float


def constants_for(cement: str, measured: MaturityConstants | None = None) -> MaturityConstants:
    """The mix's own constants where they were measured; else the standard's, for Portland cement only.

    Raises NoConstants for CSA or any other cement without measured constants.
    """
    if measured:
        return measured
    if cement == PORTLAND:
        return MaturityConstants(PORTLAND_DATUM_C, PORTLAND_ACTIVATION_K, REFERENCE_C, "ASTM C1074, Portland cement")
    name = "Rapid-setting (CSA) cement" if cement == CSA else f'The cement "{cement}"'
    raise NoConstants(
        f"{name} does not gain strength as Portland cement does: the constants of the standard would give a wrong "
        "strength. Measure them on cubes of this mix at three temperatures (ASTM C1074, annex), or test coupons cured "
        "beside the piece.")


def temperature_time_factor(intervals: Sequence[Interval], constants: MaturityConstants) -> float:
    """Nurse-Saul: sum of (T − T₀)·dt [degree Celsius hours], ASTM C1074 eq. 1. Below the datum nothing is gained."""
    _refuse_intervals(intervals)
    return sum(max(part.temperature_c - constants.datum_c, 0.0) * part.hours for part in intervals)


def equivalent_age_hours(intervals: Sequence[Interval], constants: MaturityConstants) -> float:
    """The age at the reference temperature: sum of exp(−Q (1/T − 1/T_s))·dt [hours], ASTM C1074 eq. 2, T in kelvin."""
    _refuse_intervals(intervals)
    reference = 1.0 / (constants.reference_c + KELVIN)
    return sum(math.exp(-constants.activation_k * (1.0 / (part.temperature_c + KELVIN) - reference)) * part.hours
               for part in intervals)


def _refuse_intervals(intervals: Sequence[Interval]) -> None:
    for part in intervals:
        if not (math.isfinite(part.hours) and part.hours >= 0):
            raise ValueError(f"an interval of {part.hours} hours cannot be right")
        if not -50.0 <= part.temperature_c <= 110.0:
            raise ValueError(f"concrete at {part.temperature_c} C cannot be right")


def strength_of_maturity(maturity: float, final_psi: float, rate: float, start: float) -> float:
    """S_u·k (M − M₀)/(1 + k (M − M₀)) [psi], ASTM C1074's hyperbola; 0 up to M₀. `rate`, `start` as `maturity`."""
    grown = rate * max(maturity - start, 0.0)
    return final_psi * grown / (1.0 + grown)
