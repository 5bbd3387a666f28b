"""What of a cross-section lies above a level: area, first moment and width, for polygons with a leading axis of
variants.

A ring is given as (sign, points): sign +1 for concrete, -1 for a core or a hole; points (..., P, 2) hold z and y [in],
counter-clockwise. The level has shape (..., ) or one that broadcasts with the leading axes of the points.
"""

from collections.abc import Sequence

import numpy as np

from engineering.core.elementwise import Elementwise

SignedRing = tuple[float, np.ndarray]


def above(rings: Sequence[SignedRing], level_in: Elementwise) -> tuple[np.ndarray, np.ndarray]:
    """Area [in2] and its first moment about y = 0 [in3] above a level, holes taken out.

    Every edge is clipped to y >= level; what is cut off runs along the level and adds nothing to the integral of z dy.
    """
    level = np.asarray(level_in, dtype=float)
    area, moment = np.zeros(np.shape(level)), np.zeros(np.shape(level))
    for sign, points in rings:
        start, end = points, np.roll(points, -1, axis=-2)
        z1, y1, z2, y2 = start[..., 0], start[..., 1], end[..., 0], end[..., 1]
        low, high = np.maximum(y1, level[..., None]), np.maximum(y2, level[..., None])
        rise = np.where(y2 == y1, 1.0, y2 - y1)
        slope = np.where(y2 == y1, 0.0, (z2 - z1) / rise)
        z_low, z_high = z1 + slope * (low - y1), z1 + slope * (high - y1)
        step, middle = high - low, 0.5 * (high + low)
        area = area + sign * np.sum(0.5 * (z_low + z_high) * step, axis=-1)
        thrice = low * z_low + 2.0 * middle * (z_low + z_high) + high * z_high
        moment = moment + sign * np.sum(thrice * step, axis=-1) / 6.0
    return area, moment


def width_at(rings: Sequence[SignedRing], level_in: Elementwise) -> np.ndarray:
    """Width of concrete cut by a level [in]; on a level edge the mean of both sides.

    Each edge that crosses the level counts its z once, upward edges positive: for a counter-clockwise ring the sum
    is the width.
    """
    level = np.asarray(level_in, dtype=float)
    width = np.zeros(np.shape(level))
    for sign, points in rings:
        end = np.roll(points, -1, axis=-2)
        z1, y1, z2, y2 = points[..., 0], points[..., 1], end[..., 0], end[..., 1]
        at = level[..., None]
        crossing = 0.5 * (np.sign(y2 - at) - np.sign(y1 - at))
        rise = np.where(y2 == y1, 1.0, y2 - y1)
        z = z1 + np.clip((at - y1) / rise, 0.0, 1.0) * (z2 - z1)
        width = width + sign * np.sum(crossing * z, axis=-1)
    return width
