"""The sections behind the anchors: what a plate finds around it at the left and right anchor face of each rod."""

from dataclasses import dataclass

import numpy as np

from engineering.core import anchorage
from engineering.core.batching import Array
from engineering.core.block import Edges
from engineering.core.clearances import rectangle_margin
from engineering.core.quantities import Analysis
from engineering.core.tendons import stacked


@dataclass(frozen=True)
class AnchorFaces:
    """The left and the right face of every rod (2, R, V). spread: k of A2/A1 = k²; side: twice the least of edge
    distance and half the spacing; breadth: of upright bursting; plate, pocket margin: concrete around them, inf without
    a pocket. [in]"""

    depth_in: Array
    spread: Array
    side_in: Array
    breadth_in: Array
    plate_margin_in: Array
    pocket_margin_in: Array
    x_in: Array  # (2, R)


def zones_at_faces(analysis: Analysis, number: int) -> tuple[int, int]:
    """The zone just inside the left and the right anchor face of a rod."""
    piece = analysis.batch.piece
    left, right = piece.rods[number].profile[0][0], piece.rods[number].profile[-1][0]
    first = next(k for k, zone in enumerate(piece.zones) if left < zone.end_in)
    last = next(k for k, zone in enumerate(piece.zones) if right <= zone.end_in * (1 + 1e-12))
    return first, last


def anchor_faces(analysis: Analysis) -> AnchorFaces:
    """Both faces of every rod. Faces of one sort of section are looked at together; a level rod between two alike finds
    the same at both ends."""
    rods, sort = analysis.batch.piece.rods, analysis.outlines.sort
    zones = [zones_at_faces(analysis, number) for number in range(len(rods))]
    differing = [number for number in range(len(rods)) if _differs(analysis, number, zones[number])]
    places = [(0, number) for number in range(len(rods))] + [(1, number) for number in differing]
    sorts = [int(sort[zones[number][end]]) for end, number in places]
    found = np.empty((6, 2, len(rods), analysis.batch.size))
    for kind in set(sorts):
        here = [place for place, own in zip(places, sorts, strict=True) if own == kind]
        ends, numbers = (list(column) for column in zip(*here, strict=True))
        found[:, ends, numbers] = _at_faces(analysis, zones[numbers[0]][ends[0]], ends, numbers)
    alike = [number for number in range(len(rods)) if number not in differing]
    found[:, 1, alike] = found[:, 0, alike]
    depth, grows, side, breadth, plate, wall = found
    x = np.array([[rod.profile[end][0] for rod in rods] for end in (0, -1)])
    return AnchorFaces(depth, grows, side, breadth, plate, wall, x)


def _differs(analysis: Analysis, number: int, zones: tuple[int, int]) -> bool:
    """Whether the right end of a rod finds anything else than the left one."""
    level, sort = analysis.batch.rods.y_in[number], analysis.outlines.sort
    return bool(sort[zones[0]] != sort[zones[1]] or (level[:, 0] != level[:, -1]).any())


def _at_faces(analysis: Analysis, zone: int, ends: list[int], numbers: list[int]) -> Array:
    """What stands in `AnchorFaces`, for these ends of these rods, which lie in one sort of section, that of a zone
    (6, places, V)."""
    rods, edges = analysis.batch.rods, analysis.outlines.edges[zone]
    across = rods.across_in[:, numbers]
    level = stacked([rods.y_in[number][:, -end] for end, number in zip(ends, numbers, strict=True)]).T
    depth = (analysis.gross.top_in - analysis.gross.bottom_in)[:, [zone]]
    edge = anchorage.side_distance(edges, across, level)
    width, grows, margin, wall = _rectangles(analysis, edges, numbers, across, level)
    side = 2.0 * np.minimum(edge, 0.5 * _spacing(analysis)[:, numbers])
    found = np.empty((6, len(numbers), analysis.batch.size))
    breadth = anchorage.upright_breadth(width, depth, edge)
    for row, part in zip(found, (depth, grows, side, breadth, margin, wall), strict=True):
        row[...] = part.T
    return found


def _rectangles(
    analysis: Analysis, edges: Edges, numbers: list[int], across: Array, level: Array
) -> tuple[Array, Array, Array, Array]:
    """Width of each plate (places,), how it can grow, the concrete around it and around the pocket (V or 1, places),
    inf for a rod without one. Plates and pockets are looked at side by side."""
    rods, count = [analysis.batch.piece.rods[k] for k in numbers], len(numbers)
    pockets = {k: rod.pocket for k, rod in enumerate(rods) if rod.pocket}
    sizes = [(rod.anchor.width_in, rod.anchor.height_in) for rod in rods]
    sizes += [(pocket.width_in, pocket.height_in) for pocket in pockets.values()]
    width, height = np.array(sizes).T
    which = [*range(count), *pockets]
    z, y = across[:, which], level[:, which]
    grows = anchorage.spread(edges, z, y, width, height)
    margin = rectangle_margin(edges, z, y, width, height, grows)
    walls = np.full((len(margin), count), np.inf)
    walls[:, list(pockets)] = margin[:, count:]
    return width[:count], grows[:, :count], margin[:, :count], walls


def _spacing(analysis: Analysis) -> Array:
    """Distance by z to the nearest other rod (V or 1, R), inf where there is none. Rods one above the other count as
    one place."""
    across = analysis.batch.rods.across_in
    gap = np.abs(across[:, :, None] - across[:, None, :])
    return np.where(gap > 1e-6, gap, np.inf).min(axis=2)


@dataclass(frozen=True)
class Bursting:
    """Both directions at both faces (2, R, V), of forces in the rods: T [lbf] and its stress [psi]."""

    upright_lbf: Array
    across_lbf: Array
    upright_psi: Array
    across_psi: Array


def bursting(analysis: Analysis, faces: AnchorFaces, force_lbf: Array) -> Bursting:
    """0.25 P (1 - a/h) and T/(b 0.5 h), upright and across. force (R, V or 1)."""
    plates = [rod.anchor for rod in analysis.batch.piece.rods]
    height, width = np.array([(plate.height_in, plate.width_in) for plate in plates]).T[..., None]
    side = np.maximum(faces.side_in, 1e-9)
    upright = anchorage.bursting_force(force_lbf, height, faces.depth_in)
    across = anchorage.bursting_force(force_lbf, width, side)
    return Bursting(
        upright,
        across,
        anchorage.bursting_stress(upright, faces.depth_in, np.maximum(faces.breadth_in, 1e-9)),
        anchorage.bursting_stress(across, side, faces.depth_in),
    )
