"""Strength against age: a curve through the shop's own tests, with a published curve beside it to compare.

The curve is f(t) = f_u · k (t − t₀) / (1 + k (t − t₀)), the hyperbola of ASTM C1074 with age in the place of maturity;
ACI 209R-92 eq. 2-1, f₂₈ · t/(a + b t), is the same with t₀ = 0. The published one is for ordinary Portland concrete: it
says nothing of a rapid-setting (CSA) cement, nor of flexural strength.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

LATEST_START_SHARE = 0.95         # t0 is looked for up to this share of the earliest test's age
STARTS_TRIED = 96


@dataclass(frozen=True)
class StrengthTest:
    age_days: float
    strength_psi: float


@dataclass(frozen=True)
class StrengthCurve:
    """f(t) = final · rate (t − start) / (1 + rate (t − start)), 0 up to the start. Holds between the tested ages."""

    final_psi: float
    rate_per_day: float
    start_days: float
    first_test_days: float
    last_test_days: float
    scatter_psi: float            # root mean square of the tests about the curve

    def strength_psi(self, age_days: float) -> float:
        grown = self.rate_per_day * max(age_days - self.start_days, 0.0)
        return self.final_psi * grown / (1.0 + grown)

    def age_days(self, strength_psi: float) -> float | None:
        """The age at which the curve reaches a strength; None where it never does."""
        if strength_psi >= self.final_psi:
            return None
        return self.start_days + strength_psi / (self.final_psi - strength_psi) / self.rate_per_day

    def is_tested(self, age_days: float) -> bool:
        """Whether the age lies between tests. Outside, the curve is a guess: no piece is stressed on it."""
        return self.first_test_days <= age_days <= self.last_test_days


def fit_strength_curve(tests: Sequence[StrengthTest]) -> StrengthCurve:
    """The hyperbola of least squares about the tests; at least three of them, at three ages.

    For each trial start the curve is a straight line in t'/f over t' (t' = t − t₀), weighted by f⁴/t'² so that
    the squares are those of strength. Raises ValueError for too few tests, or tests that do not rise to a limit.
    """
    _refuse_tests(tests)
    age = np.array([test.age_days for test in tests])
    strength = np.array([test.strength_psi for test in tests])
    starts = np.linspace(0.0, LATEST_START_SHARE * age.min(), STARTS_TRIED)
    curves = [curve for start in starts if (curve := _hyperbola(age, strength, float(start)))]
    if not curves:
        raise ValueError("the tests do not rise towards a limit; no curve can be drawn through them")
    return min(curves, key=lambda curve: curve.scatter_psi)


def _refuse_tests(tests: Sequence[StrengthTest]) -> None:
    if len({test.age_days for test in tests}) < 3:
        raise ValueError("a strength curve needs tests at three ages or more")
    for test in tests:
        if not (0 < test.age_days < 36_525 and 0 < test.strength_psi < 60_000):
            raise ValueError(f"a test of {test.strength_psi:g} psi at {test.age_days:g} days cannot be right")


def _hyperbola(age: np.ndarray, strength: np.ndarray, start: float) -> StrengthCurve | None:
    since = age - start
    weight = strength**2 / since
    design = np.stack([weight, weight * since], axis=1)
    (a, b), *_ = np.linalg.lstsq(design, weight * since / strength, rcond=None)
    if a <= 0 or b <= 0:
        return None
    off = strength - since / (a + b * since)
    return StrengthCurve(float(1 / b), float(b / a), start, float(age.min()), float(age.max()),
                         float(np.sqrt(np.mean(off**2))))


# ACI 209R-92 table 2.2.1 (from memory): a in days, and b.
ACI_209_CURVES = {
    ("I", "moist"): (4.0, 0.85),
    ("III", "moist"): (2.3, 0.92),
    ("I", "steam"): (1.0, 0.95),
    ("III", "steam"): (0.70, 0.98),
}


def aci_209_ratio(age_days: float, cement: str = "I", curing: str = "moist") -> float:
    """f(t)/f₂₈ = t/(a + b t), ACI 209R-92 eq. 2-1. Portland cement type I or III only; KeyError for any other."""
    a, b = ACI_209_CURVES[cement, curing]
    return age_days / (a + b * age_days)
