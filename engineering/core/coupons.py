"""Coupons of the shop's own mix: bending strength from load and size, fibre from a washout, and what many say together.

Third-point loading, ASTM C947: while the span's middle third carries all the bending, stress = P L/(b d²). The load at
the limit of proportionality gives the flexural yield, the greatest load the flexural ultimate.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

CHARACTERISTIC = 2.539   # standard deviations under the mean, as for every strength of fibre concrete here (checks.md)
LEAST_SPECIMENS = 6      # three with each face up, ASTM C947 and the trade's usual set (from memory)


@dataclass(frozen=True)
class Coupon:
    """One broken coupon: total load at the limit of proportionality and at most [lbf]; span, width, depth [in]."""

    yield_lbf: float
    ultimate_lbf: float
    span_in: float
    width_in: float
    depth_in: float

    def __post_init__(self) -> None:
        sizes = (self.span_in, self.width_in, self.depth_in)
        if not all(math.isfinite(size) and size > 0 for size in sizes):
            raise ValueError("span, width and depth of a coupon are over 0")
        if self.span_in < 6 * self.depth_in:
            raise ValueError("a span of less than 6 depths is no bending test of a thin coupon")
        if not 0 < self.yield_lbf <= self.ultimate_lbf < 1e6:
            raise ValueError("the yield load is over 0 and not over the ultimate load")

    @property
    def yield_psi(self) -> float:
        return third_point_stress(self.yield_lbf, self.span_in, self.width_in, self.depth_in)

    @property
    def ultimate_psi(self) -> float:
        return third_point_stress(self.ultimate_lbf, self.span_in, self.width_in, self.depth_in)


def third_point_stress(load_lbf: float, span_in: float, width_in: float, depth_in: float) -> float:
    """P L/(b d²) [psi], ASTM C947: M = P L/6 between the loads, Z = b d²/6."""
    return load_lbf * span_in / (width_in * depth_in**2)


def fibre_share(fibre_lb: float, sample_lb: float) -> float:
    """Fibre of a fresh sample by washout, weight over weight, ASTM C1229. Raises ValueError if it cannot be."""
    if not 0 <= fibre_lb < sample_lb < 1e4:
        raise ValueError("the fibre weighs less than the sample it was washed out of")
    return fibre_lb / sample_lb


@dataclass(frozen=True)
class Spread:
    """Mean, variation (standard deviation of the sample over the mean; None for fewer than two) and number."""

    mean: float
    variation: float | None
    number: int

    @property
    def characteristic(self) -> float | None:
        return None if self.variation is None else self.mean * (1 - CHARACTERISTIC * self.variation)


def spread(values: Sequence[float]) -> Spread | None:
    """None of nothing."""
    if not values:
        return None
    mean = sum(values) / len(values)
    if len(values) < 2 or mean == 0:
        return Spread(mean, None, len(values))
    deviation = math.sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))
    return Spread(mean, deviation / abs(mean), len(values))
