"""Strength and first cracking at every station of an analysis, for both directions of bending.

Arrays (2, V, S), the direction first: 0 sagging, which presses the top, 1 hogging, which presses the bottom; V and S as
in `Analysis`. Moments are magnitudes, + in their own direction.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engineering.core.batching import Array, first_of_equals, longest_span_in, wide
from engineering.core.block import Edges, width_at
from engineering.core.quantities import Analysis, Flags, Whole
from engineering.core.strength import Flexure, RodsAtSection, flexure

SAGGING, HOGGING = range(2)
DIRECTIONS = ("sagging", "hogging")
UPWARD = np.array([[[1.0]], [[-1.0]]])  # the way to the compressed face


@dataclass(frozen=True)
class StrengthAlong:
    """demand: M_u with the secondary moment, not under 0; service: D + 0.5 L, likewise; cracking: total moment,
    secondary counted as load, to the first corner at flexural_yield, not under 0."""

    rods: RodsAtSection  # (R, 2, V, K) in the sections of `Analysis.alike`
    sections: Flexure  # (2, V, K) of the same, rods (R, 2, V, K)
    section: Whole  # (S,) which of them a station has
    demand_lbf_in: Array
    service_lbf_in: Array
    cracking_lbf_in: Array

    @cached_property
    def nominal_lbf_in(self) -> Array:
        return self.sections.nominal_lbf_in.take(self.section, -1)

    @cached_property
    def ratio(self) -> Array:
        """demand/(phi M_n), inf without strength."""
        return ratio_along(self.demand_lbf_in, self.sections.design_lbf_in, self.section)

    @cached_property
    def service_ratio(self) -> Array:
        """service/M_n, inf without strength."""
        return ratio_along(self.service_lbf_in, self.sections.nominal_lbf_in, self.section)


def ratio_along(demand: Array, strength: Array, section: Whole) -> Array:
    """Demand (..., S), not under 0, over the strength of each station's section (..., K): 0 where nothing is demanded,
    inf where something is and there is no strength."""
    strong = strength > 0
    ratio = demand / np.where(strong, strength, 1.0).take(section, -1)
    return np.where((demand > 0) & ~strong.take(section, -1), np.inf, ratio)


def strengths(analysis: Analysis) -> StrengthAlong:
    """Both directions with the rod forces at end of life."""
    loading, final = analysis.loading, analysis.time.final_lbf
    restraint = analysis.secondary_moment(final) + analysis.stresses.drying_final
    half_most, half_least = (
        loading.dead_moment + 0.5 * live for live in (loading.live_moment_max, loading.live_moment_min)
    )
    sagging = np.array([loading.factored_max, half_most]) + restraint
    hogging = np.array([loading.factored_min, half_least]) + restraint
    demand, service = downward(np.array([sagging, -hogging])).swapaxes(0, 1)
    rods, sections = flexure_of_sections(analysis, final)
    return StrengthAlong(rods, sections, analysis.alike.again, demand, service, cracking_moments(analysis))


def downward(moment: Array) -> Array:
    """The part above 0; what is only rounding beside the largest is 0."""
    least = 1e-9 * np.maximum.reduce(np.abs(moment), -1, keepdims=True)
    return np.where(moment > least, moment, 0.0)


def flexure_of_sections(analysis: Analysis, force_lbf: Array) -> tuple[RodsAtSection, Flexure]:
    """Flexure of every section of `analysis.alike` in both directions, for rods that hold `force_lbf` (V, R) before the
    load; hogging as the section upside down."""
    zones, lines = analysis.grid.zone[analysis.alike.first], analysis.outlines
    top, bottom = (level.take(zones, 1) for level in (analysis.gross.top_in, analysis.gross.bottom_in))
    face, depth = np.array([top, -bottom]), top - bottom
    parts = both_ways_up(lines.sloping).take(lines.sort[zones], -1)
    edges = Edges(*wide(parts, (*parts.shape[:3], *depth.shape)))
    rods = _rods_at(analysis, face, force_lbf)
    # nothing but the table asks for the width
    width = np.maximum(width_at(edges, face - 0.02 * depth), 1e-6) if rods.well_stressed.any() else depth
    strength = analysis.batch.concrete.strength_psi[:, None]
    return rods, flexure(edges, face, depth, width, rods, strength, longest_span_in(analysis.batch.piece) / depth)


def both_ways_up(sections: Sequence[Edges]) -> Array:
    """The six parts of the edges of sections (E, V or 1, 1) side by side, upright and upside down
    (6, E, 2, V or 1, sections); a section with fewer edges is filled up with edges of no length."""
    most, lead = (max(edges.z0.shape[axis] for edges in sections) for axis in (0, 1))
    found = np.zeros((6, most, 2, lead, len(sections)))
    for number, edges in enumerate(sections):
        for way, turned in enumerate((edges, edges.upside_down())):
            for part, own in zip(found, turned, strict=True):
                part[: len(own), way, :, number] = own[..., 0]
    return found


def _rods_at(analysis: Analysis, face: Array, force_lbf: Array) -> RodsAtSection:
    """The rods of every section of `analysis.alike`. face (2, V, K): of both directions, hogging upside down."""
    stations, rods = analysis.alike.first, analysis.batch.rods
    level = analysis.tendons.height_in.transpose(2, 0, 1).take(stations, -1)
    active = analysis.tendons.active.T.take(stations, -1)
    return RodsAtSection(
        depth_in=np.where(active[:, None, None], face - level[:, None] * UPWARD, 0.0),
        area_in2=(rods.area_in2.T[..., None] * active[:, None])[:, None],
        effective_psi=(force_lbf / rods.area_in2).T[:, None, :, None],
        yield_psi=rods.yield_psi.T[:, None, :, None],
        ultimate_psi=rods.ultimate_psi.T[:, None, :, None],
        length_in=analysis.tendons.face_span_in[:, None, None, None],
    )


def cracking_moments(analysis: Analysis) -> Array:
    """Total moment at which the first corner reaches flexural_yield with the final rod forces (2, V, S), inf where no
    corner is pulled.

    The rods' own stress is taken without their secondary moment, which counts as load. Corners by
    `Stresses.per_moment`.
    """
    stresses, per_moment = analysis.stresses, analysis.stresses.per_moment
    secondary = analysis.secondary_moment(analysis.time.final_lbf)
    room = analysis.batch.concrete.flexural_yield_psi[:, None] - (stresses.rods_final - per_moment * secondary)
    found = np.full((2, *room.shape), np.inf)
    np.divide(room, per_moment, out=found[SAGGING], where=per_moment > 0)
    np.divide(room, -per_moment, out=found[HOGGING], where=per_moment < 0)
    return np.maximum(np.minimum.reduce(found, 1), 0.0)


def governing_stations(along: StrengthAlong, where: Flags) -> tuple[Whole, Whole]:
    """Direction and station of the highest factored demand ratio, of equals the first of sagging (V,). `where` (S,):
    stations to look at."""
    ratios = np.where(where, along.ratio, -1.0).swapaxes(0, 1)
    place = first_of_equals(ratios.reshape(len(ratios), -1))
    return np.divmod(place, ratios.shape[-1])
