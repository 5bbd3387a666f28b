"""Bending strength of a piece with unbonded rods: what a cracked section carries by its rods alone.

Stress of an unbonded rod at strength by AASHTO LRFD 5.6.3.1.2 (also below 0.5 f_pu, where ACI 318-19 has no rule),
capped by ACI 318-19 Table 20.3.2.4.1 where that rule holds, and by yield. One force for each rod at its own depth,
equivalent rectangular block (ACI 318-19 22.2.2.4) in the real gross section, strength reduction by the strain at the
extreme rod.

Shapes: variants and sections, (V, S), and before them the direction of bending where both are looked at; what belongs
to a rod has one more axis in front, (R, V, S).
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engineering.core.batching import Array
from engineering.core.block import Outline, above, area_above, edges_of
from engineering.core.concrete_limits import CONCRETE_CRUSHING, block_share, reduction_by_strain
from engineering.core.elementwise import Elementwise

HINGE_GAIN_PSI = 900e3  # AASHTO LRFD Eq. 5.6.3.1.2-1, 900 ksi
SLENDER_SPAN = 35.0  # ACI 318-19 Table 20.3.2.4.1: span/depth
BLOCK_STRESS = 0.85  # ACI 318-19 22.2.2.4.1


class RodsAtSection(NamedTuple):
    """The rods of a section, first axis rods. depth: d_p from the compression face [in]; effective: f_se at end of
    life [psi]."""

    depth_in: np.ndarray
    area_in2: np.ndarray
    effective_psi: np.ndarray
    yield_psi: np.ndarray
    ultimate_psi: np.ndarray
    length_in: np.ndarray  # between the anchors

    @property
    def well_stressed(self) -> NDArray[np.bool_]:
        """Rods for which ACI 318-19 Table 20.3.2.4.1 holds: f_se >= 0.5 f_pu."""
        return self.effective_psi >= 0.5 * self.ultimate_psi


class Flexure(NamedTuple):
    """Result per section (V, S); rod_stress (R, V, S). phi by ACI 318-19 Table 21.2.2."""

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
    rods: RodsAtSection,
    width_in: Elementwise,
    depth_in: Elementwise,
    strength_psi: Elementwise,
    slenderness: Elementwise,
) -> Elementwise:
    """What f_ps of each rod is held to: yield, and the table where f_se >= 0.5 f_pu. [psi], (R, ...)"""
    holds = rods.well_stressed
    if not holds.any():
        return rods.yield_psi
    ratio = np.add.reduce(rods.area_in2) / (width_in * np.maximum(rods.depth_in, 0.05 * depth_in))
    table = table_stress(rods.effective_psi, ratio, strength_psi, slenderness)
    return np.where(holds, np.minimum(table, rods.yield_psi), rods.yield_psi)


def rod_stress(rods: RodsAtSection, neutral_in: Elementwise, highest_psi: Elementwise) -> Elementwise:
    """f_ps of each rod for a neutral axis c below the compression face, not under 0. [psi], (R, ...)"""
    hinge = hinge_stress(rods.effective_psi, rods.depth_in, neutral_in, rods.length_in)
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
    All (V, S). The width counts where a rod is `well_stressed` alone.
    """
    edges = edges_of(outline).against(np.ndim(face_in))
    share, block_psi = block_share(strength_psi), BLOCK_STRESS * strength_psi
    highest = highest_stress(rods, width_in, depth_in, strength_psi, slenderness)

    def imbalance(neutral: Array) -> Array:
        pull = np.add.reduce(rods.area_in2 * rod_stress(rods, neutral, highest))
        return block_psi * area_above(edges, face_in - share * neutral) - pull

    neutral, crushed = balance(imbalance, depth_in / share)
    block, stress = share * neutral, rod_stress(rods, neutral, highest)
    area, moment = above(edges, face_in - block)
    pressed = area > 0
    centre = np.where(pressed, face_in - moment / np.where(pressed, area, 1.0), 0.0)
    nominal = np.add.reduce(rods.area_in2 * stress * (rods.depth_in - centre))
    nominal = np.where(crushed, 0.0, nominal)
    deepest = np.maximum.reduce(rods.depth_in, initial=0.0)
    strain = np.where(neutral > 0, CONCRETE_CRUSHING * (deepest - neutral) / np.where(neutral > 0, neutral, 1.0), 1.0)
    phi = reduction_by_strain(strain)
    return Flexure(
        nominal_lbf_in=nominal,
        design_lbf_in=phi * nominal,
        phi=phi,
        neutral_in=neutral,
        block_in=block,
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
    settled = none | slack
    near = np.where(settled, np.inf, 1e-12 * (np.abs(g_low) + np.abs(g_high)) + 1e-300)
    g_low, g_high = np.where(settled, -1.0, g_low), np.where(settled, 0.0, g_high)  # so that they stay apart
    middle, side = low, np.zeros(np.shape(highest))
    for _ in range(rounds):
        middle = high - g_high * (high - low) / (g_high - g_low)
        value = imbalance(middle)
        if (np.abs(value) <= near).all():
            break
        up, last = value < 0, side
        side = np.where(up, 1.0, -1.0)
        kept = np.where(side == last, 0.5, 1.0)  # of the end that has stayed twice
        g_low, g_high = np.where(up, value, kept * g_low), np.where(up, kept * g_high, value)
        low, high = np.where(up, middle, low), np.where(up, high, middle)
    return np.where(none, highest, np.where(slack, 0.0, middle)), none
