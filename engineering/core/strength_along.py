"""Strength and first cracking at every station of an analysis, for both signs of bending.

Arrays (V, S) as in `Analysis`; sagging presses the top, hogging the bottom. Moments are magnitudes, + in their own
direction.
"""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array
from engineering.core.block import SignedRing, width_at
from engineering.core.contract.piece import RingRole
from engineering.core.quantities import Analysis, Flags, Whole
from engineering.core.strength import Flexure, RodsAtSection, flexure, mirrored


@dataclass(frozen=True)
class StrengthAlong:
    """One direction of bending. demand: M_u with the secondary moment, not under 0; ratio: demand/(phi M_n), inf
    without strength."""

    flexure: Flexure  # (V, S), rods (V, S, R)
    depth_in: Array  # (V, S, R) d_p of each rod from the compression face
    demand_lbf_in: Array
    service_lbf_in: Array  # D + 0.5 L with the secondary moment, not under 0
    cracking_lbf_in: (
        Array  # total moment, secondary counted as load, to the first corner at flexural_yield; not under 0
    )
    ratio: Array


def strengths(analysis: Analysis) -> tuple[StrengthAlong, StrengthAlong]:
    """Sagging and hogging with the rod forces at end of life."""
    loading, final = analysis.loading, analysis.time.final_lbf
    secondary = analysis.secondary_moment(final) + analysis.stresses.drying_final
    half = (loading.dead_moment + 0.5 * loading.live_moment_max, loading.dead_moment + 0.5 * loading.live_moment_min)
    cracking = cracking_moments(analysis)
    found = []
    for sign, factored, service, first in (
        (1, loading.factored_max, half[0], cracking[0]),
        (-1, loading.factored_min, half[1], cracking[1]),
    ):
        demand = downward(sign * (factored + secondary))
        bending, depth = flexure_along(analysis, final, sign)
        design = bending.design_lbf_in
        ratio = np.where(demand <= 0, 0.0, np.where(design > 0, demand / np.where(design > 0, design, 1.0), np.inf))
        found.append(StrengthAlong(bending, depth, demand, downward(sign * (service + secondary)), first, ratio))
    return found[0], found[1]


def downward(moment: Array) -> Array:
    """The part above 0; what is only rounding beside the largest is 0."""
    least = 1e-9 * np.max(np.abs(moment), axis=-1, keepdims=True)
    return np.where(moment > least, moment, 0.0)


def flexure_along(analysis: Analysis, force_lbf: Array, sign: int) -> tuple[Flexure, Array]:
    """Flexure at every station for rods that hold `force_lbf` (V, R) before the load; sign +1 sagging, -1 hogging."""
    size = analysis.net.area_in2.shape[0]
    parts: list[tuple[Whole, Flexure, Array]] = []
    for number in range(len(analysis.batch.piece.zones)):
        stations = np.flatnonzero(analysis.grid.zone == number)
        if stations.size:
            first, again = _alike(analysis, stations)
            bending, depth = _zone_flexure(analysis, number, stations[first], force_lbf, sign)
            spread = {name: getattr(bending, name)[:, again] for name in Flexure.__dataclass_fields__}
            parts.append((stations, Flexure(**spread), depth[:, again]))
    order = np.argsort(np.concatenate([stations for stations, _, _ in parts]))

    def whole(pick: int | str) -> Array:
        arrays = [part[2] if pick == 2 else getattr(part[1], str(pick)) for part in parts]
        joined = np.concatenate([np.broadcast_to(a, (size, *a.shape[1:])) for a in arrays], axis=1)
        return joined[:, order]

    return Flexure(**{name: whole(name) for name in Flexure.__dataclass_fields__}), whole(2)


def _alike(analysis: Analysis, stations: Whole) -> tuple[Whole, Whole]:
    """Stations of a zone with the same rods at the same heights in every variant are one section: which to
    calculate, and
    where each station finds its own. Told apart by a weighted sum of all heights."""
    active, height = analysis.tendons.active[stations], analysis.tendons.height_in[:, stations]
    weight = (
        np.cos(np.arange(height.shape[0] * height.shape[2], dtype=float)).reshape(height.shape[0], 1, height.shape[2])
        + 2.0
    )
    sums = np.sum((height + 100.0) * active * weight, axis=(0, 2))
    _, first, again = np.unique(
        np.round(sums / max(1.0, np.abs(sums).max(initial=0.0)), 12), return_index=True, return_inverse=True
    )
    return first, again


def signed_rings(analysis: Analysis, number: int) -> list[SignedRing]:
    """The rings of a zone with their signs, ready for stations: (V or 1, 1, P, 2)."""
    roles = analysis.batch.piece.zones[number].rings
    return [
        (1.0 if ring.role is RingRole.CONCRETE else -1.0, points[:, None])
        for ring, points in zip(roles, analysis.batch.rings[number], strict=True)
    ]


def _zone_flexure(
    analysis: Analysis, number: int, stations: Whole, force_lbf: Array, sign: int
) -> tuple[Flexure, Array]:
    batch, gross, rods = analysis.batch, analysis.gross, analysis.batch.rods
    piece = batch.piece
    shape = (batch.size, stations.size)
    top, bottom = gross.top_in[:, number, None], gross.bottom_in[:, number, None]
    rings = signed_rings(analysis, number)
    face, across = (top, rings) if sign > 0 else (-bottom, mirrored(rings))
    depth = np.broadcast_to(top - bottom, shape)
    face = np.broadcast_to(face, shape)
    level = analysis.tendons.height_in[:, stations]
    rod_depth = (top[..., None] - level) if sign > 0 else (level - bottom[..., None])
    active = analysis.tendons.active[stations]
    span = float(np.max(np.diff([support.at_in for support in piece.supports])))
    at_section = RodsAtSection(
        depth_in=np.broadcast_to(np.where(active, rod_depth, 0.0), (*shape, len(piece.rods))),
        area_in2=rods.area_in2[:, None, :] * active,
        effective_psi=(force_lbf / rods.area_in2)[:, None, :],
        yield_psi=rods.yield_psi[:, None, :],
        ultimate_psi=rods.ultimate_psi[:, None, :],
        length_in=analysis.tendons.face_span_in[None, None, :],
    )
    breadth = np.maximum(width_at(across, face - 0.02 * depth), 1e-6)
    strength = np.broadcast_to(batch.concrete.strength_psi[:, None], shape)
    return flexure(across, face, depth, breadth, at_section, strength, span / depth), at_section.depth_in


def cracking_moments(analysis: Analysis) -> tuple[Array, Array]:
    """Total moment at which the first corner reaches flexural_yield with the final rod forces: sagging and hogging
    (V, S).

    The rods' own stress is taken without their secondary moment, which counts as load. Corners by
    `Stresses.per_moment`.
    """
    stresses = analysis.stresses
    secondary = analysis.secondary_moment(analysis.time.final_lbf)
    room = analysis.batch.concrete.flexural_yield_psi[:, None] - (stresses.rods_final - stresses.per_moment * secondary)
    steep = np.where(stresses.per_moment == 0, 1.0, stresses.per_moment)
    sagging = np.where(stresses.per_moment > 0, room / steep, np.inf)
    hogging = np.where(stresses.per_moment < 0, -room / steep, np.inf)
    return np.maximum(np.min(sagging, axis=0), 0.0), np.maximum(np.min(hogging, axis=0), 0.0)


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
    ratios = np.where(where, np.stack([sagging.ratio[variant], hogging.ratio[variant]]), -1.0)
    direction, station = np.unravel_index(int(np.argmax(ratios)), ratios.shape)
    one = (sagging, hogging)[int(direction)]
    at = (variant, int(station))
    return GoverningSection(
        int(station),
        int(direction) == 0,
        float(one.flexure.nominal_lbf_in[at]),
        float(one.flexure.design_lbf_in[at]),
        float(one.cracking_lbf_in[at]),
        one.flexure.rod_stress_psi[at],
    )
