"""Bending strength of a piece with unbonded rods: what a cracked section carries by its rods alone.

Stress of an unbonded rod at strength by AASHTO LRFD 5.6.3.1.2 (also below 0.5 f_pu, where ACI 318-19 has no rule),
capped
by ACI 318-19 Table 20.3.2.4.1 where that rule holds, and by yield. One force for each rod at its own depth, equivalent
rectangular block (ACI 318-19 22.2.2.4) in the real gross section, strength reduction by the strain at the extreme rod.

Shapes: leading axes are variants and sections, (V, S); what belongs to a rod has one more axis at the end, (V, S, R).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engineering.core.batching import Array
from engineering.core.block import Outline, above, area_above, edges_of
from engineering.core.concrete_limits import CONCRETE_CRUSHING, block_share, reduction_by_strain
from engineering.core.elementwise import Elementwise

HINGE_GAIN_PSI = 900e3  # AASHTO LRFD Eq. 5.6.3.1.2-1, 900 ksi
SLENDER_SPAN = 35.0  # ACI 318-19 Table 20.3.2.4.1: span/depth
BLOCK_STRESS = 0.85  # ACI 318-19 22.2.2.4.1


@dataclass(frozen=True)
class RodsAtSection:
    """The rods of a section, last axis rods. depth: d_p from the compression face [in]; effective: f_se at end of
    life [psi]."""

    depth_in: np.ndarray
    area_in2: np.ndarray
    effective_psi: np.ndarray
    yield_psi: np.ndarray
    ultimate_psi: np.ndarray
    length_in: np.ndarray  # between the anchors


@dataclass(frozen=True)
class Flexure:
    """Result per section (V, S); rod_stress (V, S, R). phi by ACI 318-19 Table 21.2.2."""

    nominal_lbf_in: np.ndarray
    design_lbf_in: np.ndarray
    phi: np.ndarray
    neutral_in: np.ndarray  # c
    block_in: np.ndarray  # a
    centre_in: np.ndarray  # of the block, from the compression face
    tension_strain: np.ndarray
    rod_stress_psi: np.ndarray
    crushed: np.ndarray  # the block would have to be deeper than the section: no strength


def hinge_stress(
    effective_psi: Elementwise, depth_in: Elementwise, neutral_in: Elementwise, length_in: Elementwise
) -> Elementwise:
    """f_ps = f_se + 900 ksi (d_p - c)/l, AASHTO LRFD Eq. 5.6.3.1.2-1. [psi]"""
    return effective_psi + HINGE_GAIN_PSI * (depth_in - neutral_in) / length_in


def table_stress(
    effective_psi: Elementwise, steel_ratio: Elementwise, strength_psi: Elementwise, slenderness: Elementwise
) -> Elementwise:
    """f_ps of ACI 318-19 Table 20.3.2.4.1 before the cap at yield, valid for f_se >= 0.5 f_pu. [psi]"""
    slender = np.asarray(slenderness) > SLENDER_SPAN
    spread = strength_psi / (np.where(slender, 300.0, 100.0) * np.maximum(steel_ratio, 1e-12))
    return effective_psi + np.minimum(10e3 + spread, np.where(slender, 30e3, 60e3))


def highest_stress(
    rods: RodsAtSection, steel_ratio: Elementwise, strength_psi: Elementwise, slenderness: Elementwise
) -> Elementwise:
    """What f_ps of each rod is held to: yield, and the table where f_se >= 0.5 f_pu. [psi], (..., R)"""
    table = table_stress(rods.effective_psi, steel_ratio, strength_psi[..., None], slenderness[..., None])
    holds = rods.effective_psi >= 0.5 * rods.ultimate_psi
    return np.where(holds, np.minimum(table, rods.yield_psi), rods.yield_psi)


def rod_stress(rods: RodsAtSection, neutral_in: Elementwise, highest_psi: Elementwise) -> Elementwise:
    """f_ps of each rod for a neutral axis c below the compression face, not under 0. [psi], (..., R)"""
    hinge = hinge_stress(rods.effective_psi, rods.depth_in, neutral_in[..., None], rods.length_in)
    return np.maximum(np.minimum(hinge, highest_psi), 0.0)


def flexure(
    outline: Outline,
    face_in: Elementwise,
    depth_in: Elementwise,
    width_in: Elementwise,
    rods: RodsAtSection,
    strength_psi: Elementwise,
    slenderness: Elementwise,
) -> Flexure:
    """Strength with the compression face on top; turn the section upside down for the other sign.

    face_in: y of the compression face; depth_in, width_in: overall depth and width [in]; slenderness: span/depth.
    All (V, S).
    """
    edges = edges_of(outline).against(np.ndim(face_in))
    total_in2 = rods.area_in2.sum(axis=-1)
    ratio = total_in2[..., None] / (width_in[..., None] * np.maximum(rods.depth_in, 0.05 * depth_in[..., None]))
    share, highest = block_share(strength_psi), highest_stress(rods, ratio, strength_psi, slenderness)

    def imbalance(neutral: Array) -> Array:
        area = area_above(edges, face_in - share * neutral)
        return BLOCK_STRESS * strength_psi * area - (rods.area_in2 * rod_stress(rods, neutral, highest)).sum(axis=-1)

    neutral, crushed = balance(imbalance, depth_in / share)
    stress = rod_stress(rods, neutral, highest)
    area, moment = above(edges, face_in - share * neutral)
    centre = face_in - moment / np.where(area > 0, area, 1.0)
    centre = np.where(area > 0, centre, 0.0)
    force = rods.area_in2 * stress
    nominal = (force * (rods.depth_in - centre[..., None])).sum(axis=-1)
    nominal = np.where(crushed, 0.0, nominal)
    deepest = rods.depth_in.max(axis=-1, initial=0.0)
    strain = np.where(neutral > 0, CONCRETE_CRUSHING * (deepest - neutral) / np.where(neutral > 0, neutral, 1.0), 1.0)
    phi = reduction_by_strain(strain)
    return Flexure(
        nominal_lbf_in=nominal,
        design_lbf_in=phi * nominal,
        phi=phi,
        neutral_in=neutral,
        block_in=share * neutral,
        centre_in=centre,
        tension_strain=strain,
        rod_stress_psi=stress,
        crushed=crushed,
    )


def balance(
    imbalance: Callable[[Array], Array], highest: Elementwise, rounds: int = 60
) -> tuple[Array, NDArray[np.bool_]]:
    """Root of a rising function between 0 and highest by false position (Illinois), elementwise; and where there is
    none.

    A section whose rods pull more than the whole section can press has no root: the second array marks it.
    """
    low, high = np.zeros(np.shape(highest)), np.array(highest, dtype=float)
    g_low, g_high = imbalance(low), imbalance(high)
    none, slack = g_high < 0.0, g_low >= 0.0
    side = np.zeros(np.shape(highest))
    middle = low
    scale = 1e-12 * (np.abs(g_low) + np.abs(g_high)) + 1e-300
    for _ in range(rounds):
        gap = g_high - g_low
        middle = np.where(gap > 0, high - g_high * (high - low) / np.where(gap > 0, gap, 1.0), low)
        value = imbalance(middle)
        if ((np.abs(value) <= scale) | none | slack).all():
            break
        up = value < 0
        g_high = np.where(up, np.where(side == 1, 0.5 * g_high, g_high), value)
        g_low = np.where(up, value, np.where(side == -1, 0.5 * g_low, g_low))
        low, high = np.where(up, middle, low), np.where(up, high, middle)
        side = np.where(up, 1, -1)
    return np.where(none, highest, np.where(slack, 0.0, middle)), none
