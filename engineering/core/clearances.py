"""Distances inside a cross-section: a point to the faces and cores, a plate or pocket to them. in

Points (..., ) against the edges of a section, which broadcast with them.
"""

import numpy as np

from engineering.core.batching import Array
from engineering.core.block import Edges, Outline, edges_of
from engineering.core.elementwise import Elementwise
from engineering.core.quantities import Flags

CORNERS = np.array([[-1.0, -1.0, 1.0, 1.0], [-1.0, 1.0, -1.0, 1.0]])[..., None, None]  # of a rectangle: across, up


def inside_concrete(outline: Outline, across_in: Elementwise, level_in: Elementwise) -> Flags:
    """True where a point lies in concrete: inside a concrete ring and in no core or hole.

    An edge that a ray across from the point meets counts for its ring: upward +, downward -.
    """
    z, y = np.asarray(across_in, float), np.asarray(level_in, float)
    edges = edges_of(outline).against(max(z.ndim, y.ndim))
    rises = edges.y1 > y
    met = (rises != (edges.y0 > y)) & (z < edges.slope * (y - edges.y0) + edges.z0)
    return np.asarray((np.where(rises, edges.sign, -edges.sign) * met).sum(axis=0) > 0.5)


def edge_distance(outline: Outline, across_in: Elementwise, level_in: Elementwise) -> Array:
    """Least distance from a point to any edge of any ring, whichever side it lies on. [in]"""
    z, y = np.asarray(across_in, float), np.asarray(level_in, float)
    edges = edges_of(outline).against(max(z.ndim, y.ndim))
    dz, dy, to_z, to_y = edges.z1 - edges.z0, edges.y1 - edges.y0, z - edges.z0, y - edges.y0
    length2 = dz * dz + dy * dy
    share = (to_z * dz + to_y * dy) / np.where(length2 > 0.0, length2, 1.0)
    share = np.minimum(np.maximum(share, 0.0), 1.0)
    return np.asarray(np.sqrt(((to_z - share * dz) ** 2 + (to_y - share * dy) ** 2).min(axis=0)))


def depth_in_concrete(outline: Outline, across_in: Elementwise, level_in: Elementwise) -> Array:
    """Distance from a point to the nearest edge; negative where the point lies in no concrete. [in]"""
    least = edge_distance(outline, across_in, level_in)
    return np.where(inside_concrete(outline, across_in, level_in), least, -least)


def rectangle_margin(
    edges: Edges, across_in: Array, level_in: Array, width_in: Array, height_in: Array, grows: Array
) -> Array:
    """Concrete around a rectangle about the rod: its least distance to any edge; negative where it reaches over one.
    [in]

    Not over an edge, the nearest point is a corner of one of the two: corners of the rectangle to the edges, corners
    of the section to the rectangle. grows: `anchorage.spread` of the rectangle. All (V or 1, rectangles).
    """
    half_z, half_y = 0.5 * width_in, 0.5 * height_in
    z, y = across_in + CORNERS[0] * half_z, level_in + CORNERS[1] * half_y
    least = edge_distance(edges, z, y).min(axis=0)
    corner = edges.against(across_in.ndim)
    dz = np.maximum(np.abs(corner.z0 - across_in) - half_z, 0.0)
    dy = np.maximum(np.abs(corner.y0 - level_in) - half_y, 0.0)
    least = np.minimum(least, np.sqrt((dz * dz + dy * dy).min(axis=0)))
    over = (grows - 1.0) * np.minimum(half_z, half_y)
    clear = (grows >= 1.0) & inside_concrete(edges, across_in, level_in)
    return np.where(clear, least, np.minimum(over, 0.0))
