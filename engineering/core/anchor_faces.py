"""The sections behind the anchors: what a plate finds around it at the left and right anchor face of each rod."""

from dataclasses import dataclass

import numpy as np

from engineering.core import anchorage
from engineering.core.batching import Array, wide
from engineering.core.block import Edges
from engineering.core.clearances import rectangle_margin
from engineering.core.quantities import Analysis


@dataclass(frozen=True)
class AnchorFaces:
    """Of one rod, last axis left and right (V, 2). spread: k of A2/A1 = k²; side: twice the least of edge distance
    and half the
    spacing; breadth: of upright bursting; plate, pocket margin: concrete around them, inf without a pocket. [in]"""

    depth_in: Array
    spread: Array
    side_in: Array
    breadth_in: Array
    plate_margin_in: Array
    pocket_margin_in: Array
    x_in: Array  # (2,)


def zones_at_faces(analysis: Analysis, number: int) -> tuple[int, int]:
    """The zone just inside the left and the right anchor face of a rod."""
    piece = analysis.batch.piece
    left, right = piece.rods[number].profile[0][0], piece.rods[number].profile[-1][0]
    first = next(k for k, zone in enumerate(piece.zones) if left < zone.end_in)
    last = next(k for k, zone in enumerate(piece.zones) if right <= zone.end_in * (1 + 1e-12))
    return first, last


def anchor_faces(analysis: Analysis) -> tuple[AnchorFaces, ...]:
    """Both faces of every rod. Faces of one sort of section are looked at together; a level rod between two alike finds
    the same at both ends."""
    rods = range(len(analysis.batch.piece.rods))
    zones = [zones_at_faces(analysis, number) for number in rods]
    sort = analysis.outlines.sort
    places = [
        (number, end, zones[number][end])
        for number in rods
        for end in (0, 1)
        if end == 0 or _differs(analysis, number, zones[number])
    ]
    found: dict[tuple[int, int], Array] = {}
    for kind in {int(sort[zone]) for _, _, zone in places}:
        here = [place for place in places if sort[place[2]] == kind]
        found |= {place[:2]: column for place, column in zip(here, _at_faces(analysis, here), strict=True)}
    return tuple(
        _both_ends(analysis, number, found[number, 0], found.get((number, 1), found[number, 0])) for number in rods
    )


def _differs(analysis: Analysis, number: int, zones: tuple[int, int]) -> bool:
    """Whether the right end of a rod finds anything else than the left one."""
    level, sort = analysis.batch.rods.y_in[number], analysis.outlines.sort
    return bool(sort[zones[0]] != sort[zones[1]] or (level[:, 0] != level[:, -1]).any())


def _both_ends(analysis: Analysis, number: int, left: Array, right: Array) -> AnchorFaces:
    """left, right (6, V): the columns of `AnchorFaces`."""
    profile = analysis.batch.piece.rods[number].profile
    depth, grows, side, breadth, plate, wall = np.array([left, right]).transpose(1, 2, 0)
    return AnchorFaces(depth, grows, side, breadth, plate, wall, np.array([profile[0][0], profile[-1][0]]))


def _at_faces(analysis: Analysis, places: list[tuple[int, int, int]]) -> Array:
    """What stands in `AnchorFaces`, for each of these places (rod, end, zone) of one sort of section
    (places, 6, V)."""
    batch, zone = analysis.batch, places[0][2]
    edges, numbers = analysis.outlines.edges[zone], [number for number, _, _ in places]
    shape = (batch.size, len(places))
    across = wide(batch.rods.across_in[:, numbers], shape)
    level = np.array([wide(batch.rods.y_in[k][:, -end], shape[:1]) for k, end, _ in places]).T
    depth = (analysis.gross.top_in - analysis.gross.bottom_in)[:, [zone]]
    edge = anchorage.side_distance(edges, across, level)
    width, grows, margin, wall = _rectangles(analysis, edges, numbers, across, level)
    columns = (
        wide(depth, shape),
        grows,
        2.0 * np.minimum(edge, 0.5 * _spacing(analysis)[:, numbers]),
        anchorage.upright_breadth(width, depth, edge),
        margin,
        wall,
    )
    return np.array(columns).transpose(2, 0, 1)


def _rectangles(
    analysis: Analysis, edges: Edges, numbers: list[int], across: Array, level: Array
) -> tuple[Array, Array, Array, Array]:
    """Width of each plate (places,), how it can grow, the concrete around it and around the pocket (V, places), inf
    for a rod without one. Plates and pockets are looked at side by side."""
    rods, count = [analysis.batch.piece.rods[k] for k in numbers], len(numbers)
    pockets = {k: rod.pocket for k, rod in enumerate(rods) if rod.pocket}
    sizes = [(rod.anchor.width_in, rod.anchor.height_in) for rod in rods]
    sizes += [(pocket.width_in, pocket.height_in) for pocket in pockets.values()]
    width, height = np.array(sizes).T
    which = [*range(count), *pockets]
    z, y = across[:, which], level[:, which]
    grows = anchorage.spread(edges, z, y, width, height)
    margin = rectangle_margin(edges, z, y, width, height, grows)
    walls = np.full(across.shape, np.inf)
    walls[:, list(pockets)] = margin[:, count:]
    return width[:count], grows[:, :count], margin[:, :count], walls


def _spacing(analysis: Analysis) -> Array:
    """Distance by z to the nearest other rod (V, R), inf where there is none. Rods one above the other count as one
    place."""
    across = analysis.batch.rods.across_in
    gap = np.abs(across[:, :, None] - across[:, None, :])
    return wide(np.where(gap > 1e-6, gap, np.inf).min(axis=2), (analysis.batch.size, across.shape[1]))


@dataclass(frozen=True)
class Bursting:
    """Both directions at both faces (V, 2), of a force in the rod: T [lbf] and its stress [psi]."""

    upright_lbf: Array
    across_lbf: Array
    upright_psi: Array
    across_psi: Array


def bursting(analysis: Analysis, number: int, faces: AnchorFaces, force_lbf: Array) -> Bursting:
    """0.25 P (1 - a/h) and T/(b 0.5 h), upright and across. force (V,)."""
    plate, force = analysis.batch.piece.rods[number].anchor, np.asarray(force_lbf)[:, None]
    side = np.maximum(faces.side_in, 1e-9)
    upright = anchorage.bursting_force(force, plate.height_in, faces.depth_in)
    across = anchorage.bursting_force(force, plate.width_in, side)
    return Bursting(
        upright,
        across,
        anchorage.bursting_stress(upright, faces.depth_in, np.maximum(faces.breadth_in, 1e-9)),
        anchorage.bursting_stress(across, side, faces.depth_in),
    )
