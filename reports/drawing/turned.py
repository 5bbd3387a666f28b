"""The piece turned over about its long axis, as it lies face down: left stays left, the front goes to the back."""

from dataclasses import replace

from engineering.core.contract.piece import Piece, Point, Ring, Rod, Zone
from reports.drawing.view import piece_depth


def turned_over(piece: Piece) -> Piece:
    """Heights then count up from the bed of the form, distances across from the edge that was the back.

    Supports, loads and lift points are left out: they belong to the piece as installed.
    """
    places = [z for zone in piece.zones for ring in zone.rings for z, _ in ring.points]
    width, depth = min(places) + max(places), piece_depth(piece)

    def ring(one: Ring) -> Ring:
        return replace(one, points=tuple((width - z, depth - y) for z, y in one.points))

    def zone(one: Zone) -> Zone:
        return replace(one, soffit_in=depth - one.top_in, rings=tuple(ring(r) for r in one.rings))

    def rod(one: Rod) -> Rod:
        profile: tuple[Point, ...] = tuple((x, depth - y) for x, y in one.profile)
        return replace(one, across_in=width - one.across_in, profile=profile)

    return replace(
        piece,
        zones=tuple(zone(z) for z in piece.zones),
        rods=tuple(rod(r) for r in piece.rods),
        supports=(),
        loads=(),
        handling=None,
    )
