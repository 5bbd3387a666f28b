"""Crown and deflection: curvature integrated twice on the net section, sideways free. Crown up +, deflection down +."""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array, Batch
from engineering.core.grid import deflection_matrix, middle_of_longest_span, station_at
from engineering.core.loads import envelope, group_envelope
from engineering.core.quantities import Deflections, Grid, Properties, Tendons
from engineering.core.sections import Sections
from engineering.core.statics import Frame, LoadCases, drying_curvature
from engineering.core.tendons import RodMoments
from engineering.core.time_dependent import Forces


@dataclass(frozen=True)
class Shapes:
    """Rise over the chord of the outer supports at the chosen stations (V, points), for modulus 1; drying as it is.
    The chosen stations: those of the longest span, its middle, the left end, the right end."""

    x_in: Array
    own: Array
    later: Array
    rods: Array  # (V, points, R) of a unit mean force
    live: Array  # (V or 1, rows, points)
    drying: Array

    def in_span(self) -> slice:
        return slice(0, len(self.x_in) - 3)


def rise_shapes(
    batch: Batch,
    grid: Grid,
    net: Properties,
    frame: Frame,
    sections: Sections,
    cases: LoadCases,
    moments: RodMoments,
    tendons: Tendons,
) -> Shapes:
    at = frame.supports_in
    matrix = deflection_matrix(grid, float(at[0]), float(at[-1]))
    chosen = np.append(
        np.flatnonzero(grid.longest), [station_at(grid, middle_of_longest_span(batch.piece)), 0, len(grid.x_in) - 1]
    )
    rise = matrix[chosen].T
    inertia = net.free_inertia_in4
    bent = (moments.vertical + tendons.secondary[: moments.vertical.shape[0]]) / inertia[..., None]
    dried = drying_curvature(batch, grid, sections)
    held = frame.restrained(dried) / frame.free_inertia if len(frame.hats) else 0.0
    return Shapes(
        grid.x_in[chosen],
        (cases.self_moment / inertia) @ rise,
        ((cases.dead_moment + cases.sustained_moment) / inertia) @ rise,
        np.moveaxis(np.matmul(np.moveaxis(bent, -1, 1), rise), 1, -1),
        np.matmul(cases.live_rows / inertia[:, None, :], rise),
        (dried + held) @ rise,
    )


def amplitudes(batch: Batch, forces: Forces, ages: slice) -> tuple[Array, Array, Array]:
    """By how much self weight (V or 1, T), later loads (V or 1, T) and each rod (V, T, R) bend the piece at the
    ages, as
    stress over modulus with creep."""
    concrete, plan = batch.concrete, forces.plan
    young, old, creep = (a[:, None] for a in (concrete.modulus_at_stressing_psi, concrete.modulus_psi, concrete.creep))
    first = (1.0 + creep * plan.first[ages]) / young
    later = plan.loaded[ages] / old + creep * plan.dead[ages] / young
    transfer = forces.force_lbf[:, :1]
    rods = (
        transfer * first[..., None]
        + (forces.force_lbf[:, ages] - transfer) / old[..., None]
        + np.matmul(plan.kernel[ages], forces.changes_lbf) * (creep / young)[..., None]
    )
    return first, later, rods


def crown_at(batch: Batch, shapes: Shapes, forces: Forces, step: int, drying: float) -> Array:
    """Rise (V, points in the longest span) after a step, with this share of the drying bow."""
    own, later, rods = amplitudes(batch, forces, slice(step, step + 1))
    span = shapes.in_span()
    return (
        shapes.own[:, span] * own
        + shapes.later[:, span] * later
        + drying * shapes.drying[:, span]
        + np.matmul(shapes.rods[:, span], rods[:, 0, :, None])[..., 0]
    )


def crown_in_time(batch: Batch, shapes: Shapes, forces: Forces) -> Array:
    """Rise in the middle of the longest span at every age (V, T); the drying bow grows with shrinkage until
    installation."""
    own, later, rods = amplitudes(batch, forces, slice(None))
    middle = len(shapes.x_in) - 3
    grown = forces.shrinkage_strain / np.where(batch.concrete.shrinkage > 0, batch.concrete.shrinkage, 1.0)[:, None]
    whole = grown[:, forces.plan.installed][:, None]
    share = np.minimum(np.where(whole > 0, grown / np.where(whole > 0, whole, 1.0), 0.0), 1.0)
    share = np.where(np.arange(share.shape[1]) >= forces.plan.installed, 1.0, share)
    return (
        shapes.own[:, middle, None] * own
        + shapes.later[:, middle, None] * later
        + shapes.drying[:, middle, None] * share
        + np.matmul(rods, shapes.rods[:, middle, :, None])[..., 0]
    )


def by_magnitude(x: Array, value: Array) -> tuple[Array, Array]:
    """The value (V, points) of greatest magnitude with its sign, and its x. (V,)"""
    at = np.abs(value).argmax(-1)
    return np.take_along_axis(value, at[:, None], 1)[:, 0], x[at]


def downward(x: Array, most: Array, least: Array) -> tuple[Array, Array]:
    """The greatest deflection down over patterns, most and least (V, points), and its x; up, where nothing goes
    down. (V,)"""
    return by_magnitude(x, np.where(most.max(-1, keepdims=True) > 0.0, most, least))


def deflections(
    batch: Batch, shapes: Shapes, cases: LoadCases, forces: Forces, lateral: tuple[Array, Array]
) -> Deflections:
    span, size = shapes.in_span(), batch.size
    x = shapes.x_in[span]
    last = len(forces.plan.ages_days) - 1
    transfer = by_magnitude(x, crown_at(batch, shapes, forces, 0, 0.0))
    drying = by_magnitude(x, np.broadcast_to(shapes.drying[:, span], (size, len(x))))
    installed = by_magnitude(x, crown_at(batch, shapes, forces, forces.plan.installed, 1.0))
    final = by_magnitude(x, crown_at(batch, shapes, forces, last, 1.0))
    drops = -shapes.live
    modulus = batch.concrete.modulus_psi
    most, least = envelope(cases.plan, drops)
    live = downward(x, most[:, span] / modulus[:, None], least[:, span] / modulus[:, None])
    parts = [
        downward(x, *(part[:, span] / modulus[:, None] for part in group_envelope(group, drops)))[0]
        for group in cases.plan.groups
    ]
    felt = np.max([(1.0 - batch.piece.sustained_live) * parts[0], *parts[1:]], axis=0)
    ends = [downward(x[:1], most[:, [k]] / modulus[:, None], least[:, [k]] / modulus[:, None])[0] for k in (-2, -1)]
    first, end = batch.piece.supports[0].at_in, batch.piece.supports[-1].at_in
    overhangs = first > 0.0, end < batch.piece.length_in
    tips = [np.broadcast_to(value if there else np.nan, size) for value, there in zip(ends, overhangs, strict=True)]
    wide = [
        (np.broadcast_to(value, size), np.broadcast_to(at, size))
        for value, at in (transfer, drying, installed, final, live)
    ]
    names = ("crown_transfer", "crown_drying", "crown_installed", "crown_final", "live")
    found = {name: pair[0] for name, pair in zip(names, wide, strict=True)}
    found |= {f"{name}_at": pair[1] for name, pair in zip(names, wide, strict=True)}
    return Deflections(
        long=np.broadcast_to(installed[0] - final[0] + felt, size),
        tip_left=tips[0],
        tip_right=tips[1],
        lateral=lateral[0],
        lateral_at=lateral[1],
        **found,
    )
