"""Lifting: self weight × multiplier on the two lift points, in both turnings for a piece cast face down."""

import numpy as np

from engineering.core.batching import Array, Batch
from engineering.core.loads import patch_effects, zone_patches
from engineering.core.quantities import Grid, Tendons, TimeCourse
from engineering.core.stresses import Corners, greatest
from engineering.core.tendons import RodMoments


def handling_moment(batch: Batch, grid: Grid, weight_lbf_per_in: Array) -> Array | None:
    """Moments on the lift points with the multiplier (V or 1, S), upright; None where no handling is given."""
    handling = batch.piece.handling
    if handling is None:
        return None
    unit = patch_effects(grid, np.array(sorted(handling.lift_points_in)), zone_patches(batch.piece)).moment
    return handling.multiplier * weight_lbf_per_in @ unit


def handling_tension(
    batch: Batch,
    grid: Grid,
    unit: Corners,
    primary: RodMoments,
    weight_lbf_per_in: Array,
    tendons: Tendons,
    time: TimeCourse,
) -> tuple[Array, Array]:
    """Largest tension while lifted (V,), and its x; nan where no handling is given. The rods act, where they are tight
    already, by their primary moments alone: two lift points restrain nothing."""
    moment = handling_moment(batch, grid, weight_lbf_per_in)
    if moment is None or batch.piece.handling is None:
        nothing = np.full(batch.size, np.nan)
        return nothing, nothing
    turnings = (1.0, -1.0) if batch.piece.face_down else (1.0,)
    stress = np.max([sign * unit.per_moment * moment for sign in turnings], axis=0)
    where = np.ones(len(grid.x_in), bool)
    if batch.piece.handling.stressed and batch.piece.rods:
        where = grid.in_figures | grid.bare
        held = unit.per_rod - unit.per_moment[..., None] * tendons.secondary[: unit.per_rod.shape[1]]
        stress = stress + np.matmul(held, time.handling_lbf[..., None])[..., 0]
    value, at = greatest(grid, stress.max(0), where)
    return np.broadcast_to(value, batch.size), np.broadcast_to(at, batch.size)
