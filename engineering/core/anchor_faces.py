"""The sections behind the anchors: what a plate finds around it at the left and right anchor face of each rod."""

from dataclasses import dataclass

import numpy as np

from engineering.core import anchorage
from engineering.core.batching import Array
from engineering.core.block import SignedRing
from engineering.core.clearances import rectangle_margin
from engineering.core.contract.piece import RingRole
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


def face_rings(analysis: Analysis, number: int) -> list[SignedRing]:
    """The rings of a zone with their signs, (V or 1, P, 2)."""
    roles = analysis.batch.piece.zones[number].rings
    return [
        (1.0 if ring.role is RingRole.CONCRETE else -1.0, points)
        for ring, points in zip(roles, analysis.batch.rings[number], strict=True)
    ]


def anchor_faces(analysis: Analysis, number: int) -> AnchorFaces:
    """Both faces of rod `number`."""
    piece, rods, size = analysis.batch.piece, analysis.batch.rods, analysis.batch.size
    rod = piece.rods[number]
    ends = []
    for zone, point in zip(zones_at_faces(analysis, number), (0, -1), strict=True):
        rings = face_rings(analysis, zone)
        across = np.broadcast_to(rods.across_in[:, number], (size,))
        level = np.broadcast_to(rods.y_in[number][:, point], (size,))
        depth = analysis.gross.top_in[:, zone] - analysis.gross.bottom_in[:, zone]
        edge = anchorage.side_distance(rings, across, level)
        spacing = _spacing(analysis, number)
        width, height = np.full(size, rod.anchor.width_in), np.full(size, rod.anchor.height_in)
        pocket = (
            np.full(size, np.inf)
            if rod.pocket is None
            else rectangle_margin(
                rings, across, level, np.full(size, rod.pocket.width_in), np.full(size, rod.pocket.height_in)
            )
        )
        ends.append(
            (
                depth,
                anchorage.spread(rings, across, level, width, height),
                2.0 * np.minimum(edge, 0.5 * spacing),
                anchorage.upright_breadth(width, depth, edge),
                rectangle_margin(rings, across, level, width, height),
                pocket,
            )
        )
    columns = [np.stack([np.broadcast_to(end[k], (size,)) for end in ends], axis=1) for k in range(6)]
    depth, grows, side, breadth, plate, wall = columns
    return AnchorFaces(depth, grows, side, breadth, plate, wall, np.array([rod.profile[0][0], rod.profile[-1][0]]))


def _spacing(analysis: Analysis, number: int) -> Array:
    """Distance by z to the nearest other rod (V,), inf where there is none. Rods one above the other count as one
    place."""
    across = np.broadcast_to(analysis.batch.rods.across_in, (analysis.batch.size, len(analysis.batch.piece.rods)))
    gap = np.abs(across - across[:, number : number + 1])
    return np.min(np.where(gap > 1e-6, gap, np.inf), axis=1, initial=np.inf)


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
    return Bursting(
        anchorage.bursting_force(force, plate.height_in, faces.depth_in),
        anchorage.bursting_force(force, plate.width_in, side),
        anchorage.bursting_stress(force, plate.height_in, faces.depth_in, np.maximum(faces.breadth_in, 1e-9)),
        anchorage.bursting_stress(force, plate.width_in, side, faces.depth_in),
    )
