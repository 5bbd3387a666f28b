"""What a load test on the shop floor should bring, and what the piece may do under it. in, psf or lbf alike;
elementwise."""

from engineering.core.elementwise import Elementwise

DEAD, LIVE, DEAD_ALONE = 1.15, 1.5, 1.3  # ACI 318-19 27.4.6.2 (from memory, basis m)
RESIDUAL_SHARE = 0.25  # ACI 318-19 27.4 (second-hand, basis m): of the greatest deflection, 24 h after unloading
RETEST_SHARE = 0.20  # same, for a second test (from memory)


def load_to_apply(dead: Elementwise, live: Elementwise) -> Elementwise:
    """Total load of the test, dead load included: greater of 1.15 D + 1.5 L and 1.3 D. ACI 318-19 27.4.6.2 (from
    memory, basis m)"""
    full = DEAD * dead + LIVE * live
    least = DEAD_ALONE * dead
    return full * (full >= least) + least * (full < least)


def deflection_limit(span_in: Elementwise, depth_in: Elementwise) -> Elementwise:
    """l²/(20,000 h); over it the recovery counts. span: twice the overhang at a tip. [in]"""
    return span_in**2 / (20000.0 * depth_in)


def accepted(greatest_in: float, residual_in: float, span_in: float, depth_in: float, retest: bool = False) -> bool:
    """Whether the deflections pass: small enough under load, or recovered enough 24 h after it."""
    share = RETEST_SHARE if retest else RESIDUAL_SHARE
    return greatest_in <= deflection_limit(span_in, depth_in) or residual_in <= share * greatest_in
