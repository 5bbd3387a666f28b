"""Lifting: self weight × multiplier on the two lift points, in both turnings for a piece cast face down."""

from dataclasses import replace

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.loads import patch_effects, zone_patches
from engineering.core.quantities import Grid, TimeCourse
from engineering.core.stresses import Corners, extremes, greatest, of_rods
from engineering.core.tendons import RodMoments


def handling_moment(batch: Batch, grid: Grid, weight_lbf_per_in: Array) -> Array | None:
    """Moments on the lift points with the multiplier (V or 1, S), upright; None where no handling is given."""
    handling = batch.piece.handling
    if handling is None:
        return None
    unit = patch_effects(grid, np.array(sorted(handling.lift_points_in)), zone_patches(batch.piece))
    return handling.multiplier * weight_lbf_per_in @ unit[:, : len(grid.x_in)]


def handling_tension(
    batch: Batch,
    grid: Grid,
    unit: Corners,
    moments: RodMoments,
    weight_lbf_per_in: Array,
    time: TimeCourse,
) -> tuple[Array, Array]:
    """Largest tension while lifted (V,), and its x; nan where no handling is given. The rods act, where they are tight
    already, by their primary moments alone: two lift points restrain nothing."""
    moment = handling_moment(batch, grid, weight_lbf_per_in)
    if moment is None or batch.piece.handling is None:
        nothing = np.full(batch.size, np.nan)
        return nothing, nothing
    moment = wide(moment, (batch.size, len(grid.x_in)))
    most = np.abs(moment) if batch.piece.face_down else moment
    least = -most if batch.piece.face_down else moment
    rods = np.zeros_like(unit.per_moment)
    where = np.arange(len(grid.x_in))
    if batch.piece.handling.stressed and batch.piece.rods:
        where = np.flatnonzero(grid.in_figures | grid.bare)
        alone = replace(unit, rods=moments.primary)
        rods = of_rods(alone, time.handling_lbf)
    stress = extremes(unit, rods, most, least).any_max
    value, at = greatest(grid, stress, where)
    return wide(value, (batch.size,)), wide(at, (batch.size,))
