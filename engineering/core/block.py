"""What of a cross-section lies above a level: area, first moment and width, for polygons with a leading axis of
variants.

A ring is given as (sign, points): sign +1 for concrete, -1 for a core or a hole; points (..., P, 2) hold z and y [in],
counter-clockwise. The level has shape (..., ) or one that broadcasts with the leading axes of the points.
"""

from collections.abc import Sequence
from itertools import accumulate
from typing import NamedTuple

import numpy as np

from engineering.core.batching import Array
from engineering.core.elementwise import Elementwise

SignedRing = tuple[float, np.ndarray]


class Edges(NamedTuple):
    """Every edge of a section's rings, edges first (E, ...): both ends [in], sign of its ring, dz/dy (0 where level).

    Edges first, so that sums over them run along whole arrays of points.
    """

    z0: Array
    y0: Array
    z1: Array
    y1: Array
    sign: Array
    slope: Array

    def against(self, ndim: int) -> "Edges":
        """Shaped to broadcast with points of so many axes."""
        missing = ndim + 1 - self.z0.ndim
        if missing <= 0:
            return self
        return Edges(*(part.reshape(part.shape[0], *(1,) * missing, *part.shape[1:]) for part in self))

    def sloping(self) -> "Edges":
        """Without the edges that are level in every variant: they add nothing to what lies above a level, and none
        crosses them."""
        kept = (self.y0 != self.y1).any(axis=tuple(range(1, self.y0.ndim)))
        return Edges(*(part[kept] for part in self))

    def upside_down(self) -> "Edges":
        """The section turned upside down (y to -y), for bending that presses the bottom."""
        return Edges(self.z1, -self.y1, self.z0, -self.y0, self.sign, -self.slope)


Outline = Sequence[SignedRing] | Edges


def edges_of(outline: Outline) -> Edges:
    """The edges of rings; edges as they are."""
    if isinstance(outline, Edges):
        return outline
    leads = {points.shape[:-2] for _, points in outline}
    lead = leads.pop() if len(leads) == 1 else np.broadcast_shapes(*leads)
    ends = [0, *accumulate(points.shape[-2] for _, points in outline)]
    corners, sign = np.empty((2, ends[-1], *lead)), np.empty((ends[-1], *(1,) * len(lead)))
    following: list[int] = []
    for (of_ring, points), start, stop in zip(outline, ends, ends[1:], strict=False):
        corners[:, start:stop] = points.transpose(-1, -2, *range(points.ndim - 2))
        sign[start:stop] = of_ring
        following += [*range(start + 1, stop), start]
    (z0, y0), (z1, y1) = corners, corners[:, following]
    rise = y1 - y0
    level = rise == 0.0
    slope = np.where(level, 0.0, (z1 - z0) / np.where(level, 1.0, rise))
    return Edges(z0, y0, z1, y1, sign, slope)


def _clipped(edges: Edges, level: Array) -> tuple[Array, Array, Array]:
    """The edges' parts above the level: y of their middle, their rise, and ∫ z dy of each, with its ring's sign."""
    low, high = np.maximum(edges.y0, level), np.maximum(edges.y1, level)
    middle, step = 0.5 * (low + high), high - low
    return middle, step, (edges.z0 + edges.slope * (middle - edges.y0)) * step * edges.sign


def area_above(outline: Outline, level_in: Elementwise) -> Array:
    """Area above a level, holes taken out. [in2]

    Every edge is clipped to y >= level; what is cut off runs along the level and adds nothing to the integral of z dy.
    """
    level = np.asarray(level_in, dtype=float)
    return np.asarray(np.add.reduce(_clipped(edges_of(outline).against(level.ndim), level)[2]))


def above(outline: Outline, level_in: Elementwise) -> tuple[np.ndarray, np.ndarray]:
    """Area above a level [in2] and its first moment about y = 0 [in3], holes taken out."""
    level = np.asarray(level_in, dtype=float)
    edges = edges_of(outline).against(level.ndim)
    middle, step, area = _clipped(edges, level)
    # ∫ z y dy = mean z × mean y × step + slope step³/12, z being straight over y
    cube = step * step * step  # step**3 would be a power, ten times as slow
    return np.add.reduce(area), np.add.reduce(area * middle + edges.sign * edges.slope / 12.0 * cube)


def width_at(outline: Outline, level_in: Elementwise) -> np.ndarray:
    """Width of concrete cut by a level [in]; on a level edge the mean of both sides.

    Each edge that crosses the level counts its z there once, upward edges positive: for a counter-clockwise ring the
    sum is the width. What does not cross it counts nothing.
    """
    at = np.asarray(level_in, dtype=float)
    edges = edges_of(outline).against(at.ndim)
    crossing = 0.5 * edges.sign * (np.sign(edges.y1 - at) - np.sign(edges.y0 - at))
    return np.asarray(np.add.reduce(crossing * (edges.z0 + edges.slope * (at - edges.y0))))
