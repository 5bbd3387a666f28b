"""From inches of the piece to points of the paper, and the outlines both drawings share."""

from collections.abc import Sequence
from dataclasses import dataclass

from engineering.core.contract.piece import Piece, Ring, Rod, Zone
from reports.drawing.figure import PaperPoint, shorten, text_width

CURVE_STEPS = 24


@dataclass(frozen=True)
class View:
    """along: the direction across the paper (x in an elevation, z in a section) [in]; up: y of the piece [in]."""

    left: float  # paper x of along = 0
    base: float  # paper y of up = 0
    along_scale: float  # points per inch
    up_scale: float

    def x(self, along_in: float) -> float:
        return self.left + along_in * self.along_scale

    def y(self, up_in: float) -> float:
        return self.base - up_in * self.up_scale

    def point(self, along_in: float, up_in: float) -> PaperPoint:
        return self.x(along_in), self.y(up_in)

    def box(self, left_in: float, bottom_in: float, right_in: float, top_in: float) -> tuple[PaperPoint, ...]:
        return (
            self.point(left_in, bottom_in),
            self.point(right_in, bottom_in),
            self.point(right_in, top_in),
            self.point(left_in, top_in),
        )

    def ring(self, ring: Ring) -> tuple[PaperPoint, ...]:
        return tuple(self.point(z, y) for z, y in ring.points)


def piece_depth(piece: Piece) -> float:
    """Height of the whole piece [in]: from y = 0 to its highest point."""
    return max(zone.top_in for zone in piece.zones)


def side_outline(piece: Piece) -> list[tuple[float, float]]:
    """Corners (x, y) of the piece seen from the front, steps between zones included."""
    top: list[tuple[float, float]] = []
    bottom: list[tuple[float, float]] = []
    for zone in piece.zones:
        top += [(zone.start_in, zone.top_in), (zone.end_in, zone.top_in)]
        bottom += [(zone.start_in, zone.soffit_in), (zone.end_in, zone.soffit_in)]
    return bottom + top[::-1]


def axis_points(rod: Rod) -> list[tuple[float, float]]:
    """The rod's axis (x, y) to draw: its corners, or points along the parabola through its three."""
    if rod.curve != "parabola" or len(rod.profile) != 3:
        return list(rod.profile)
    first, last = rod.profile[0][0], rod.profile[-1][0]
    xs = [first + (last - first) * i / CURVE_STEPS for i in range(CURVE_STEPS + 1)]
    return [(x, _through(rod.profile, x)) for x in xs]


def axis_height(rod: Rod, x_in: float) -> float | None:
    """Height of the rod's axis at x, to draw it there; None beyond its anchors."""
    if not rod.profile[0][0] <= x_in <= rod.profile[-1][0]:
        return None
    if rod.curve == "parabola" and len(rod.profile) == 3:
        return _through(rod.profile, x_in)
    for (x1, y1), (x2, y2) in zip(rod.profile, rod.profile[1:], strict=False):
        if x1 <= x_in <= x2:
            return y1 + (y2 - y1) * (x_in - x1) / (x2 - x1) if x2 > x1 else y1
    return rod.profile[-1][1]


def zone_at(piece: Piece, x_in: float) -> Zone:
    return next((zone for zone in piece.zones if x_in <= zone.end_in), piece.zones[-1])


def marks_text(marks: Sequence[str], size: float, room: float) -> str:
    """R1, R2, R3 in bold where the room [pt] is enough for it, or else R1 … R3, or R1 +2."""
    whole = ", ".join(marks)
    if text_width(whole, size, bold=True) <= room or len(marks) < 3:
        return shorten(whole, size, room, bold=True)
    both = f"{marks[0]} … {marks[-1]}"
    fits = text_width(both, size, bold=True) <= room
    return both if fits else shorten(f"{marks[0]} +{len(marks) - 1}", size, room, bold=True)


def _through(three: Sequence[tuple[float, float]], x: float) -> float:
    (x0, y0), (x1, y1), (x2, y2) = three
    return (
        y0 * (x - x1) * (x - x2) / ((x0 - x1) * (x0 - x2))
        + y1 * (x - x0) * (x - x2) / ((x1 - x0) * (x1 - x2))
        + y2 * (x - x0) * (x - x1) / ((x2 - x0) * (x2 - x1))
    )
