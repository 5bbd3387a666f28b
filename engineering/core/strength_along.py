"""Strength and first cracking at every station of an analysis, for both signs of bending.

Arrays (V, S) as in `Analysis`; sagging presses the top, hogging the bottom. Moments are magnitudes, + in their own
direction.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engineering.core.batching import Array, first_of_equals, longest_span_in, wide
from engineering.core.block import Edges, width_at
from engineering.core.quantities import Analysis, Flags, Whole
from engineering.core.strength import Flexure, RodsAtSection, flexure


@dataclass(frozen=True)
class StrengthAlong:
    """One direction of bending. demand: M_u with the secondary moment, not under 0; ratio: demand/(phi M_n), inf
    without strength."""

    sections: Flexure  # (V, K) of the sections of `Analysis.alike`, rods (V, K, R)
    section: Whole  # (S,) which of them a station has
    section_depth_in: Array  # (V, K, R) d_p of each rod from the compression face
    demand_lbf_in: Array
    service_lbf_in: Array  # D + 0.5 L with the secondary moment, not under 0
    cracking_lbf_in: (
        Array  # total moment, secondary counted as load, to the first corner at flexural_yield; not under 0
    )

    @cached_property
    def nominal_lbf_in(self) -> Array:
        return self.sections.nominal_lbf_in[:, self.section]

    @cached_property
    def design_lbf_in(self) -> Array:
        return self.sections.design_lbf_in[:, self.section]

    @cached_property
    def ratio(self) -> Array:
        demand, design = self.demand_lbf_in, self.design_lbf_in
        return np.where(demand <= 0, 0.0, np.where(design > 0, demand / np.where(design > 0, design, 1.0), np.inf))


def strengths(analysis: Analysis) -> tuple[StrengthAlong, StrengthAlong]:
    """Sagging and hogging with the rod forces at end of life."""
    loading, final = analysis.loading, analysis.time.final_lbf
    secondary = analysis.secondary_moment(final) + analysis.stresses.drying_final
    most = loading.factored_max, loading.dead_moment + 0.5 * loading.live_moment_max
    least = loading.factored_min, loading.dead_moment + 0.5 * loading.live_moment_min
    # of each sign the factored demand and that of D + 0.5 L
    demands = downward(np.array([*(m + secondary for m in most), *(-(m + secondary) for m in least)]))
    bending, cracking = flexure_of_sections(analysis, final), cracking_moments(analysis)
    again = analysis.alike.again
    (sagging, below), (hogging, above) = bending
    return (
        StrengthAlong(sagging, again, below, demands[0], demands[1], cracking[0]),
        StrengthAlong(hogging, again, above, demands[2], demands[3], cracking[1]),
    )


def downward(moment: Array) -> Array:
    """The part above 0; what is only rounding beside the largest is 0."""
    least = 1e-9 * np.abs(moment).max(axis=-1, keepdims=True)
    return np.where(moment > least, moment, 0.0)


def flexure_of_sections(analysis: Analysis, force_lbf: Array) -> tuple[tuple[Flexure, Array], tuple[Flexure, Array]]:
    """Flexure of every section of `analysis.alike` and the depths of its rods, for rods that hold `force_lbf` (V, R)
    before the load: sagging, and hogging, found in one pass. (V, K), rods (V, K, R)"""
    stations = analysis.alike.first
    zones = analysis.grid.zone[stations]
    top, bottom = analysis.gross.top_in[:, zones], analysis.gross.bottom_in[:, zones]
    level, active = analysis.tendons.height_in[:, stations], analysis.tendons.active[stations]
    upright = edges_at(analysis, zones)
    edges = Edges(*(np.concatenate(pair, axis=-1) for pair in zip(upright, upright.upside_down(), strict=True)))
    face = np.concatenate([top, -bottom], axis=1)
    rod_depth = np.concatenate([top[..., None] - level, level - bottom[..., None]], axis=1)
    depth = np.concatenate([top - bottom] * 2, axis=1)
    both = _flexure(analysis, edges, face, depth, rod_depth, np.concatenate([active] * 2), force_lbf)
    return _half(*both, slice(None, len(zones))), _half(*both, slice(len(zones), None))


def _half(bending: Flexure, depth: Array, side: slice) -> tuple[Flexure, Array]:
    return Flexure(**{name: part[:, side] for name, part in vars(bending).items()}), depth[:, side]


def edges_at(analysis: Analysis, zones: Whole) -> Edges:
    """The edges of the sections of these zones side by side (E, V or 1, zones), as far as they are not level; one with
    fewer is filled up with edges of no length."""
    own = analysis.outlines.sloping
    most = max(edges.z0.shape[0] for edges in own)
    lead = max(edges.z0.shape[1] for edges in own)

    def filled(part: Array) -> Array:
        out = np.zeros((most, lead, 1))
        out[: len(part)] = part
        return out

    which = analysis.outlines.sort[zones]
    return Edges(*(np.concatenate([filled(p) for p in parts], axis=-1)[..., which] for parts in zip(*own, strict=True)))


def _flexure(
    analysis: Analysis, edges: Edges, face: Array, depth: Array, rod_depth: Array, active: Flags, force_lbf: Array
) -> tuple[Flexure, Array]:
    batch, rods = analysis.batch, analysis.batch.rods
    at_section = RodsAtSection(
        depth_in=np.where(active, rod_depth, 0.0),
        area_in2=rods.area_in2[:, None, :] * active,
        effective_psi=(force_lbf / rods.area_in2)[:, None, :],
        yield_psi=rods.yield_psi[:, None, :],
        ultimate_psi=rods.ultimate_psi[:, None, :],
        length_in=analysis.tendons.face_span_in[None, None, :],
    )
    breadth = np.maximum(width_at(edges, face - 0.02 * depth), 1e-6)
    strength = wide(batch.concrete.strength_psi[:, None], face.shape)
    span = longest_span_in(batch.piece)
    return flexure(edges, face, depth, breadth, at_section, strength, span / depth), at_section.depth_in


def cracking_moments(analysis: Analysis) -> tuple[Array, Array]:
    """Total moment at which the first corner reaches flexural_yield with the final rod forces: sagging and hogging
    (V, S).

    The rods' own stress is taken without their secondary moment, which counts as load. Corners by
    `Stresses.per_moment`.
    """
    stresses = analysis.stresses
    secondary = analysis.secondary_moment(analysis.time.final_lbf)
    room = analysis.batch.concrete.flexural_yield_psi[:, None] - (stresses.rods_final - stresses.per_moment * secondary)
    moment = room / np.where(stresses.per_moment == 0, 1.0, stresses.per_moment)
    sagging = np.where(stresses.per_moment > 0, moment, np.inf)
    hogging = np.where(stresses.per_moment < 0, -moment, np.inf)
    return np.maximum(sagging.min(axis=0), 0.0), np.maximum(hogging.min(axis=0), 0.0)


@dataclass(frozen=True)
class GoverningSection:
    """Where the factored demand ratio of the nominal variant is highest (figures `moment.nominal` and its
    companions)."""

    station: int
    sagging: bool
    nominal_lbf_in: float
    design_lbf_in: float
    cracking_lbf_in: float
    rod_stress_psi: Array  # (R,)


def governing_section(
    sagging: StrengthAlong, hogging: StrengthAlong, where: Flags, variant: int = 0
) -> GoverningSection:
    """`where` (S,): stations to look at, those between the outermost anchor faces."""
    ratios = np.where(where, np.array([sagging.ratio[variant], hogging.ratio[variant]]), -1.0)
    direction, station = divmod(int(first_of_equals(ratios.reshape(1, -1))[0]), ratios.shape[1])
    one = (sagging, hogging)[direction]
    at = (variant, station)
    return GoverningSection(
        station,
        direction == 0,
        float(one.nominal_lbf_in[at]),
        float(one.design_lbf_in[at]),
        float(one.cracking_lbf_in[at]),
        one.sections.rod_stress_psi[variant, one.section[station]],
    )
