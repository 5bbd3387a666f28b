"""Concrete stresses at the corners of the net section, biaxial: of loads, of rods, stage by stage. Tension +."""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array, Batch, greatest_along, wide
from engineering.core.quantities import (
    Extremes,
    Grid,
    Loading,
    Properties,
    Reach,
    Stresses,
    Tendons,
    TimeCourse,
    Whole,
)
from engineering.core.sections import corners
from engineering.core.tendons import RodMoments

PATTERN_SHARE_WHEN_A_ROD_IS_LOST = 0.5


@dataclass(frozen=True)
class Corners:
    """Corner geometry and stress of a unit sagging moment, (C, V or 1, S); `RodMoments.whole` of the rods."""

    z_in: Array
    y_in: Array
    across_arm: Array
    height_arm: Array
    per_moment: Array
    rods: Array  # (3, R, V or 1, S)


def corner_stresses(
    batch: Batch, grid: Grid, net: Properties, turned: tuple[Array, Array], moments: RodMoments
) -> Corners:
    """turned: slope of stress upward and across of a unit sagging moment, at stations (V or 1, S)."""
    z, y = corners(batch, grid)
    by_y, by_z = turned
    dy, dz = y - net.centroid_in, z - net.across_in
    per_moment = by_y * dy
    per_moment += by_z * dz
    return Corners(z, y, dz, dy, per_moment, moments.whole)


def of_rods(unit: Corners, force: Array) -> Array:
    """Corner stresses (C, V, S) of mean forces (V, R)."""
    if not force.shape[1]:
        return np.zeros_like(unit.per_moment)
    axial, by_y, by_z = np.add.reduce(unit.rods * force.T[..., None], 1)
    stress = by_y * unit.height_arm
    stress += by_z * unit.across_arm
    stress += axial
    return stress


def extremes(unit: Corners, rods: Array, most: Array, least: Array) -> Extremes:
    """Of the rods' corner stresses (C, V, S) with any moment between least and most (V, S)."""
    return Extremes(rods, Reach(unit.per_moment, most, least))


def early_and_final(
    unit: Corners, rods: tuple[Array, Array], most: Array, least: Array, dry: Array, dry_left: Array
) -> list[Extremes]:
    """Of the rods' corner stresses early and at end of life, each with its moment of one-sided drying."""
    if not dry.any():
        reach = Reach(unit.per_moment, most, least)
        return [Extremes(one, reach) for one in rods]
    return [extremes(unit, one, most + more, least + more) for one, more in zip(rods, (dry, dry_left), strict=True)]


def stages(
    batch: Batch,
    grid: Grid,
    unit: Corners,
    loading: Loading,
    tendons: Tendons,
    time: TimeCourse,
    handling: tuple[Array, Array],
) -> Stresses:
    shape = (len(unit.z_in), batch.size, len(grid.x_in))
    early = wide(of_rods(unit, tendons.transfer_lbf), shape)
    final = wide(of_rods(unit, time.final_lbf), shape)
    dry, dry_left = loading.drying_moment, loading.drying_moment * time.drying_left[:, None]
    per_rod = _of_unit_forces(grid, unit)
    tightening, tightening_at = _tightening(grid, unit, per_rod, loading, tendons)
    lost, lost_at = _rod_lost(grid, unit, per_rod, loading, time, dry_left)
    uneven = _uneven(grid, unit, loading, early, final, dry, dry_left)
    sustained = loading.dead_moment + loading.sustained_moment + dry_left
    service, factored = (
        early_and_final(unit, (early, final), *moments, dry, dry_left)
        for moments in ((loading.service_max, loading.service_min), (loading.factored_max, loading.factored_min))
    )
    return Stresses(
        corner_z_in=wide(unit.z_in, shape),
        corner_y_in=wide(unit.y_in, shape),
        per_moment=wide(unit.per_moment, shape),
        rods_transfer=early,
        rods_final=final,
        drying_final=dry_left,
        transfer=extremes(unit, early, loading.self_moment, loading.self_moment),
        service_early=service[0],
        service_final=service[1],
        sustained_final=extremes(unit, final, sustained, sustained),
        factored_early=factored[0],
        factored_final=factored[1],
        tightening_max=tightening,
        tightening_at_in=tightening_at,
        uneven_early=uneven[0],
        uneven_final=uneven[1],
        uneven_at_in=uneven[2],
        rod_lost=lost,
        rod_lost_at_in=lost_at,
        handling=handling[0],
        handling_at_in=handling[1],
    )


def greatest(grid: Grid, values: Array, chosen: Whole) -> tuple[Array, Array]:
    """The greatest over the chosen stations (their numbers) of values (..., S), and its x. Shapes (...)."""
    found, at = greatest_along(values[..., chosen])
    return found, grid.x_in[chosen][at]


def _of_unit_forces(grid: Grid, unit: Corners) -> Array:
    """Corner stresses of a unit mean force of each rod, where tension is looked for (C, V or 1, R, S')."""
    where = grid.tension_stations
    axial, by_y, by_z = unit.rods[..., where].swapaxes(1, 2)
    stress = by_y * unit.height_arm[:, :, None, where]
    stress += by_z * unit.across_arm[:, :, None, where]
    stress += axial
    return stress


def _worst(grid: Grid, per_rod: Array, base: Array, forces: Array) -> tuple[Array, Array]:
    """Greatest tension (V, G) over corners and stations of base (C, V, S) with rods at forces (V, G, R), and its x.
    per_rod: `_of_unit_forces`."""
    where = grid.tension_stations
    total = None
    for corner, of_loads in zip(per_rod, base[..., where], strict=True):
        stress = np.matmul(forces, corner)
        stress += of_loads[:, None]
        total = stress if total is None else np.maximum(total, stress, out=total)
    if total is None:
        raise ValueError("a section without corners")
    found, at = greatest_along(total)
    return found, grid.x_in[where][at]


def _tightening(
    grid: Grid, unit: Corners, per_rod: Array, loading: Loading, tendons: Tendons
) -> tuple[Array, Array]:
    if not tendons.turns:
        none = np.zeros((len(loading.self_moment), 0))
        return none, none
    return _worst(grid, per_rod, unit.per_moment * loading.self_moment, tendons.turn_lbf)


def _rod_lost(
    grid: Grid, unit: Corners, per_rod: Array, loading: Loading, time: TimeCourse, drying: Array
) -> tuple[Array, Array]:
    count = time.final_lbf.shape[-1]
    if not count:
        return time.final_lbf, time.final_lbf
    half, lasting = PATTERN_SHARE_WHEN_A_ROD_IS_LOST, loading.dead_moment + drying
    reach = Reach(unit.per_moment, lasting + half * loading.live_moment_max, lasting + half * loading.live_moment_min)
    left = time.final_lbf[:, None, :] * (1.0 - np.eye(count))
    return _worst(grid, per_rod, reach.high, left)


def _uneven(
    grid: Grid, unit: Corners, loading: Loading, early: Array, final: Array, dry: Array, dry_left: Array
) -> tuple[Array, Array, Array]:
    number, size = loading.settlement_moment.shape[:2]
    if number < 3:
        none = np.full((size, number), np.nan)
        return none, none, none
    where, found = grid.tension_stations, []
    for moment in np.abs(loading.settlement_moment):
        stage = [
            greatest(
                grid,
                extremes(unit, rods, loading.service_max + more + moment, loading.service_min + more - moment).any_max,
                where,
            )
            for rods, more in ((early, dry), (final, dry_left))
        ]
        found.append((stage[0][0], stage[1][0], np.where(stage[0][0] >= stage[1][0], stage[0][1], stage[1][1])))
    return tuple(np.stack(part, 1) for part in zip(*found, strict=True))  # type: ignore[return-value]  # three arrays
