"""Distances inside a cross-section: a sleeve to the faces and cores, sleeve to sleeve, a plate or pocket to the
faces. in"""

from collections.abc import Sequence

import numpy as np

from engineering.core.anchorage import spread
from engineering.core.block import SignedRing
from engineering.core.elementwise import Elementwise


def inside_concrete(rings: Sequence[SignedRing], across_in: Elementwise, level_in: Elementwise) -> Elementwise:
    """True where a point lies in concrete: inside a concrete ring and in no core or hole. Winding by crossings."""
    z0, y0 = np.asarray(across_in, float)[..., None], np.asarray(level_in, float)[..., None]
    count = np.zeros(np.broadcast_shapes(np.shape(across_in), np.shape(level_in)))
    for sign, points in rings:
        end = np.roll(points, -1, axis=-2)
        z1, y1, z2, y2 = points[..., 0], points[..., 1], end[..., 0], end[..., 1]
        crosses = (y1 > y0) != (y2 > y0)
        rise = np.where(y2 == y1, 1.0, y2 - y1)
        right = z1 + (y0 - y1) / rise * (z2 - z1) > z0
        count = count + sign * (np.sum(crosses & right, axis=-1) % 2)
    return count > 0.5


def edge_distance(rings: Sequence[SignedRing], across_in: Elementwise, level_in: Elementwise) -> Elementwise:
    """Least distance from a point to any edge of any ring; negative where the point lies in no concrete. [in]"""
    point = np.stack(np.broadcast_arrays(np.asarray(across_in, float), np.asarray(level_in, float)), axis=-1)
    least = np.full(point.shape[:-1], np.inf)
    for _, points in rings:
        step = np.roll(points, -1, axis=-2) - points
        to = point[..., None, :] - points
        length2 = np.sum(step * step, axis=-1)
        share = np.clip(np.sum(to * step, axis=-1) / np.where(length2 > 0, length2, 1.0), 0.0, 1.0)
        least = np.minimum(least, np.min(np.linalg.norm(to - share[..., None] * step, axis=-1), axis=-1))
    return np.where(inside_concrete(rings, across_in, level_in), least, -least)


def rectangle_margin(
    rings: Sequence[SignedRing],
    across_in: Elementwise,
    level_in: Elementwise,
    width_in: Elementwise,
    height_in: Elementwise,
) -> Elementwise:
    """Concrete around a rectangle about the rod: its least distance to any edge; negative where it reaches over one.
    [in]

    Not over an edge, the nearest point is a corner of one of the two: corners of the rectangle to the edges, corners
    of the
    section to the rectangle.
    """
    scale = spread(rings, across_in, level_in, width_in, height_in)
    side, rise = np.array([-0.5, -0.5, 0.5, 0.5]), np.array([-0.5, 0.5, -0.5, 0.5])
    z, y = np.multiply.outer(side, width_in) + across_in, np.multiply.outer(rise, height_in) + level_in
    least = np.min(np.abs(edge_distance(rings, z, y)), axis=0)
    for _, points in rings:
        dz = np.maximum(
            np.abs(points[..., 0] - np.asarray(across_in)[..., None]) - 0.5 * np.asarray(width_in)[..., None], 0.0
        )
        dy = np.maximum(
            np.abs(points[..., 1] - np.asarray(level_in)[..., None]) - 0.5 * np.asarray(height_in)[..., None], 0.0
        )
        least = np.minimum(least, np.min(np.hypot(dz, dy), axis=-1))
    over = (scale - 1.0) * 0.5 * np.minimum(width_in, height_in)
    return np.where((scale < 1.0) | ~inside_concrete(rings, across_in, level_in), np.minimum(over, 0.0), least)
