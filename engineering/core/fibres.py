"""Fibres of a cross-section and the laws they follow in the load-to-failure analysis. One piece, no axis of variants.

Strain and stress: tension +. Concrete in compression: parabola to f'c at 2 f'c/E, level after it. Uncracked in tension:
straight. In the cracked length: straight to the limit of proportionality, then `residual_tension` until 0.01 strain.
Rod: elastic, level to 0.015, then straight to its ultimate strength at the grade's elongation.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from engineering.core.batching import Array
from engineering.core.block import SignedRing, width_at

CRUSHING_STRAIN = 0.004
LAST_TENSION_STRAIN = 0.01
HARDENING_STRAIN = 0.015
GAUSS_3 = (np.array([-np.sqrt(0.6), 0.0, np.sqrt(0.6)]), np.array([5.0, 8.0, 5.0]) / 18.0)


@dataclass(frozen=True)
class ConcreteLaw:
    strength_psi: float
    modulus_psi: float
    yield_psi: float  # limit of proportionality
    residual_psi: float

    @property
    def cracking_strain(self) -> float:
        return self.yield_psi / self.modulus_psi

    @cached_property
    def peak_strain(self) -> float:
        """At which the parabola reaches the strength, compression +."""
        return 2.0 * self.strength_psi / self.modulus_psi

    @cached_property
    def tension_ends(self) -> Array:
        """Strain of the first crack, and where fibres have pulled out (2, 1)."""
        return np.array([[self.cracking_strain], [LAST_TENSION_STRAIN]])

    def uncracked(self, strain: Array) -> tuple[Array, Array]:
        """Stress and tangent modulus of concrete that has no crack."""
        pressed = np.minimum(strain, 0.0)
        stress = strain - pressed
        stress *= self.modulus_psi
        left = pressed
        left *= 1.0 / self.peak_strain
        left += 1.0
        np.maximum(left, 0.0, out=left)
        parabola = left * left
        parabola -= 1.0
        parabola *= self.strength_psi
        stress += parabola
        left *= self.modulus_psi
        return stress, left

    def cracked_layers(self, low: Array, width: Array) -> Array:
        """Mean stress of layers whose strain runs from low up over a width, in the cracked length: each layer's part
        past the crack counts, and none of it past the strain at which fibres have pulled out."""
        # shares of each layer short of the crack, and short of where fibres have pulled out
        shares = self.tension_ends - low
        shares /= width
        np.maximum(shares, 0.0, out=shares)
        np.minimum(shares, 1.0, out=shares)
        whole, held = shares
        middle = 0.5 * width
        middle *= whole
        middle += low
        pressed = np.maximum(middle, -self.peak_strain)
        np.minimum(pressed, 0.0, out=pressed)
        stress = pressed * (0.5 / self.peak_strain)
        stress += 1.0
        stress *= pressed
        stress += np.maximum(middle, 0.0, out=middle)
        stress *= self.modulus_psi
        stress *= whole
        held -= whole
        held *= self.residual_psi
        stress += held
        return stress


@dataclass(frozen=True)
class RodLaw:
    """Arrays (R,)."""

    area_in2: Array
    modulus_psi: Array
    yield_psi: Array
    ultimate_psi: Array
    elongation: Array

    @cached_property
    def yield_strain(self) -> Array:
        return self.yield_psi / self.modulus_psi

    @cached_property
    def hardening(self) -> Array:
        """Strain from the end of the level part to the ultimate strength."""
        return np.maximum(self.elongation, HARDENING_STRAIN + 1e-9) - HARDENING_STRAIN

    @cached_property
    def reserve_psi(self) -> Array:
        """Ultimate strength over yield."""
        return self.ultimate_psi - self.yield_psi

    def force(self, strain: Array) -> Array:
        """Force [lbf]; none in compression."""
        harder = np.minimum(np.maximum((strain - HARDENING_STRAIN) / self.hardening, 0.0), 1.0)
        stress = np.minimum(self.modulus_psi * strain, self.yield_psi) + harder * self.reserve_psi
        return self.area_in2 * np.maximum(stress, 0.0)


def gauss_fibres(rings: Sequence[SignedRing], layers: int = 6) -> tuple[Array, Array]:
    """Levels and areas that integrate a parabola of stress exactly over a section of straight edges. rings: (P, 2)."""
    edges = _edges(rings, layers)
    middle, half = 0.5 * (edges[1:] + edges[:-1]), 0.5 * (edges[1:] - edges[:-1])
    level = (middle[:, None] + half[:, None] * GAUSS_3[0]).ravel()
    return level, width_at(rings, level) * (2.0 * half[:, None] * GAUSS_3[1]).ravel()


def thin_layers(rings: Sequence[SignedRing], layers: int = 90) -> tuple[Array, Array, Array]:
    """Lower edges, upper edges and areas of thin layers."""
    edges = _edges(rings, layers)
    return edges[:-1], edges[1:], width_at(rings, 0.5 * (edges[1:] + edges[:-1])) * np.diff(edges)


def _edges(rings: Sequence[SignedRing], layers: int) -> Array:
    """Layer borders from bottom to top: every corner's level, and between them no layer thicker than depth/layers."""
    levels = np.unique(np.round(np.concatenate([points[:, 1] for _, points in rings]), 12))
    depth = levels[-1] - levels[0]
    parts = [
        np.linspace(a, b, max(1, int(np.ceil((b - a) * layers / depth - 1e-9))), endpoint=False)
        for a, b in pairwise(levels)
    ]
    return np.concatenate([*parts, levels[-1:]])


def sleeve_fibres(level_in: Array, outside_in: float) -> tuple[Array, Array]:
    """The hole of a sleeve at levels (S, 1) as two negative points with its area and second moment."""
    radius = 0.5 * outside_in
    return level_in + 0.5 * radius * np.array([-1.0, 1.0]), np.full(2, -0.5 * np.pi * radius**2)


def circle_below(level_in: Array, radius_in: float) -> Array:
    """Area of a circle about 0 that lies below a level. [in2]"""
    t = np.clip(level_in / radius_in, -1.0, 1.0)
    return radius_in**2 * (t * np.sqrt(1.0 - t * t) + np.arcsin(t) + 0.5 * np.pi)
