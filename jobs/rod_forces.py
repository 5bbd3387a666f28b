"""Force in a rod by its stretch and by its torque, side by side; and whether a gauge can judge the stretch at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from engineering.core.contract.units import format_quantity
from jobs.words import say

STRETCH_TOLERANCE = 0.07  # ACI 318-19 26.10.2(e)
TORQUE_TOLERANCE = 0.04  # of the wrench, as its calibration allows
LIFT_OFF_TOLERANCE = STRETCH_TOLERANCE  # the two measures of force, one tolerance
GAUGE_SHARE = 1 / 3  # a gauge that shows steps coarser than this share of the tolerance cannot judge by it
APART = (1 + STRETCH_TOLERANCE) * (1 + TORQUE_TOLERANCE)  # both in tolerance can be this many times apart, no more
ROUNDING = 1 + 1e-9


@dataclass(frozen=True)
class Forces:
    """The force that each measure speaks of, and the nut factor K = T/(D F) that would make them agree."""

    by_stretch_lbf: float
    by_torque_lbf: float
    nut_factor: float | None
    assumed_nut_factor: float | None

    @property
    def agree(self) -> bool:
        ratio = self.by_torque_lbf / self.by_stretch_lbf
        return max(ratio, 1 / ratio) <= APART * ROUNDING


def forces(
    target: Mapping[str, float], nut_factor: float | None, torque_lbf_ft: float | None, elongation_in: float | None
) -> Forces | None:
    """`target` as `targets.target_at` gives it. None where one of the two was not read, or nothing was stretched."""
    if not torque_lbf_ft or not elongation_in or elongation_in < 0:
        return None
    by_stretch = target["force_jacking_lbf"] * elongation_in / target["elongation_in"]
    by_torque = target["force_jacking_lbf"] * torque_lbf_ft / target["torque_lbf_ft"]
    factor = nut_factor * by_torque / by_stretch if nut_factor else None
    return Forces(by_stretch, by_torque, factor, nut_factor)


def disagreement(
    target: Mapping[str, float],
    nut_factor: float | None,
    units: str,
    torque_lbf_ft: float | None,
    elongation_in: float | None,
) -> list[str]:
    """Said where torque and stretch are further apart than their tolerances together allow."""
    found = forces(target, nut_factor, torque_lbf_ft, elongation_in)
    if found is None or found.agree:
        return []
    factor = (
        f" The nut factor here is about {found.nut_factor:.2f}; the drawing has {found.assumed_nut_factor:.2f}."
        if found.nut_factor
        else ""
    )
    return [
        say(
            "Torque and stretch do not agree: {by_torque_lbf} by torque, {by_stretch_lbf} by stretch.{factor} "
            "Believe the stretch, tighten no further, and ask the engineer.",
            by_torque_lbf=format_quantity(found.by_torque_lbf, "force", units, 3),
            by_stretch_lbf=format_quantity(found.by_stretch_lbf, "force", units, 3),
            factor=factor,
        )
    ]


def finest_gauge_in(targets: dict[str, Any], rod: str) -> float:
    """The coarsest step of a gauge that can still judge the stretch of this rod. [in]"""
    return GAUGE_SHARE * STRETCH_TOLERANCE * abs(float(targets["rods"][rod]["elongation_in"]))


def gauge_too_coarse(targets: dict[str, Any], rod: str, resolution_in: float | None) -> str:
    """Why this gauge cannot judge the stretch of this rod; empty where it can, or where nobody said what it shows."""
    finest = finest_gauge_in(targets, rod)
    if resolution_in is None or resolution_in <= finest * (1 + 1e-9):
        return ""
    units = targets["units"]
    return say(
        "The gauge shows steps of {resolution_in}; rod {rod} needs {finest} or finer, a third of what its stretch "
        "may be off. Take a finer gauge, or lift the nut off with a jack and write down that force.",
        resolution_in=format_quantity(resolution_in, "length", units, 2),
        rod=rod,
        finest=format_quantity(finest, "length", units, 2),
    )
