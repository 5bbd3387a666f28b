"""Crown and deflection: curvature integrated twice on the net section, sideways free. Crown up +, deflection down +."""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.grid import middle_of_longest_span, station_at
from engineering.core.loads import envelope, group_envelope
from engineering.core.quantities import Deflections, Grid
from engineering.core.sections import Sections
from engineering.core.statics import Frame, LoadCases, drying_curvature
from engineering.core.tendons import RodMoments
from engineering.core.time_dependent import Forces, shrinkage_share


@dataclass(frozen=True)
class Shapes:
    """Rise over the chord of the outer supports at the chosen stations (V or 1, points), for modulus 1; drying as
    it is.
    The chosen stations: those of the longest span, its middle, the left end, the right end."""

    x_in: Array
    own: Array
    later: Array
    rods: Array  # (R, V or 1, points) of a unit mean force
    live: Array  # (V or 1, rows, points)
    drying: Array

    def in_span(self) -> slice:
        return slice(0, len(self.x_in) - 3)


def rise_shapes(
    batch: Batch, grid: Grid, rise: Array, frame: Frame, sections: Sections, cases: LoadCases, moments: RodMoments
) -> Shapes:
    """rise (S, S): `grid.deflection_matrix` over the outer supports."""
    span = np.flatnonzero(grid.longest & (np.arange(len(grid.x_in)) % 3 < 2))
    middle = station_at(grid, middle_of_longest_span(batch.piece))
    chosen = np.concatenate([span, [middle, 0, len(grid.x_in) - 1]])
    rise = np.ascontiguousarray(rise[chosen].T)
    inertia = frame.free_inertia
    dried = drying_curvature(batch, grid, sections)
    return Shapes(
        grid.x_in[chosen],
        (cases.self_moment / inertia) @ rise,
        ((cases.dead_moment + cases.sustained_moment) / inertia) @ rise,
        np.matmul((moments.vertical + moments.secondary) / inertia, rise),
        np.matmul(cases.live_rows / inertia[:, None, :], rise),
        (dried + frame.restrained(dried) / inertia) @ rise,
    )


Amplitudes = tuple[Array, Array, Array]


def amplitudes(batch: Batch, forces: Forces) -> Amplitudes:
    """By how much self weight (T, V or 1), later loads (T, V or 1) and each rod (T, R, V) bend the piece at every age,
    as stress over modulus with creep."""
    concrete, plan = batch.concrete, forces.plan
    young, old, creeping = (
        concrete.modulus_at_stressing_psi,
        concrete.modulus_psi,
        concrete.creep / concrete.modulus_at_stressing_psi,
    )
    first = 1.0 / young + plan.first[:, None] * creeping
    later = plan.loaded[:, None] / old + plan.dead[:, None] * creeping
    transfer, changes = forces.force_lbf[0], forces.changes_lbf
    crept = (plan.kernel @ changes.reshape(len(changes), transfer.size)).reshape(changes.shape)
    rods = transfer * first[:, None] + (forces.force_lbf - transfer) / old + crept * creeping
    return first, later, rods


def crown_at(shapes: Shapes, bent: Amplitudes, steps: list[int], drying: list[float]) -> Array:
    """Rise (steps, V, points in the longest span) after these steps, with these shares of the drying bow."""
    own, later, rods = (part[steps, ..., None] for part in bent)
    span = shapes.in_span()
    dried = np.array(drying)[:, None, None] * shapes.drying[:, span]
    pulled = np.add.reduce(shapes.rods[..., span] * rods, 1)
    return shapes.own[:, span] * own + shapes.later[:, span] * later + dried + pulled


def crown_in_time(batch: Batch, shapes: Shapes, forces: Forces, bent: Amplitudes) -> Array:
    """Rise in the middle of the longest span at every age (T, V); the drying bow grows with shrinkage until
    installation."""
    own, later, rods = bent
    middle = len(shapes.x_in) - 3
    dried = shrinkage_share(forces.plan.ages_days - batch.piece.concrete.cure_age_days)
    grown = dried - dried[0]
    whole = grown[forces.plan.installed]
    share = np.where(np.arange(len(grown)) >= forces.plan.installed, 1.0, grown / whole if whole > 0.0 else 0.0)
    return (
        shapes.own[:, middle] * own
        + shapes.later[:, middle] * later
        + np.minimum(share, 1.0)[:, None] * shapes.drying[:, middle]
        + (shapes.rods[..., middle] * rods).sum(1)
    )


ROUNDING = 1e-9  # of the other way's deflection: less than this is no deflection


def by_magnitude(x: Array, value: Array) -> tuple[Array, Array]:
    """The value of greatest magnitude with its sign of smooth curves (..., points), and its x: the top of the parabola
    through the greatest point and its neighbours. (...)"""
    curves = value.reshape(-1, len(x))
    rows, most = np.arange(len(curves)), np.abs(curves).argmax(-1)
    found = curves[rows, most]
    if len(x) < 3:
        return found.reshape(value.shape[:-1]), x[most].reshape(value.shape[:-1])
    at = np.minimum(np.maximum(most, 1), len(x) - 2)
    x0, x1, x2 = x[at - 1], x[at], x[at + 1]
    y0, y1, y2 = curves[rows, at - 1], curves[rows, at], curves[rows, at + 1]
    rise = (y1 - y0) / np.maximum(x1 - x0, 1e-12)
    bend = ((y2 - y1) / np.maximum(x2 - x1, 1e-12) - rise) / np.maximum(x2 - x0, 1e-12)
    top = 0.5 * (x0 + x1) - 0.5 * rise / np.where(bend == 0.0, 1.0, bend)
    height = y0 + rise * (top - x0) + bend * (top - x0) * (top - x1)
    inside = (top >= x0) & (top <= x2) & (np.abs(height) > np.abs(found))
    shape = value.shape[:-1]
    return np.where(inside, height, found).reshape(shape), np.where(inside, top, x[most]).reshape(shape)


def downward(most: Array, least: Array) -> Array:
    """Of the deflections over patterns, most and least (..., points), the ones down; up, where nothing goes down but
    rounding. (..., points)"""
    goes_down = most.max(-1, keepdims=True) > ROUNDING * np.abs(least).max(-1, keepdims=True)
    return np.where(goes_down, most, least)


def deflections(
    batch: Batch, shapes: Shapes, cases: LoadCases, forces: Forces, bent: Amplitudes, lateral: tuple[Array, Array]
) -> Deflections:
    span, size = shapes.in_span(), batch.size
    x, modulus = shapes.x_in[span], batch.concrete.modulus_psi[:, None]
    drops = -shapes.live
    groups = [group_envelope(group, drops) for group in cases.plan.groups]
    most, least = envelope(groups)
    last = len(forces.plan.ages_days) - 1
    side_by_side = np.empty((5 + len(groups), size, len(x)))
    side_by_side[:3] = crown_at(shapes, bent, [0, forces.plan.installed, last], [0.0, 1.0, 1.0])
    side_by_side[3] = shapes.drying[:, span]
    together = zip((most, least), *groups, strict=True)
    side_by_side[4:] = downward(*(np.array(part)[..., span] / modulus for part in together))
    value, at = by_magnitude(x, side_by_side)
    felt = np.array([(1.0 - batch.piece.sustained_live) * value[5], *value[6:]]).max(axis=0)
    first, end = batch.piece.supports[0].at_in, batch.piece.supports[-1].at_in
    hangs = np.array([first > 0.0, end < batch.piece.length_in])
    ends = downward(*(part[:, -2:, None] / modulus[..., None] for part in (most, least)))[..., 0]
    tips = np.where(hangs, wide(ends, (size, 2)), np.nan)
    names = ("crown_transfer", "crown_installed", "crown_final", "crown_drying", "live")
    found = dict(zip(names, value, strict=False)) | {f"{name}_at": x for name, x in zip(names, at, strict=False)}
    return Deflections(
        long=value[1] - value[2] + felt,
        tip_left=tips[:, 0],
        tip_right=tips[:, 1],
        lateral=lateral[0],
        lateral_at=lateral[1],
        **found,
    )
