"""The piece from above: outline, cores, rods, pockets, plates, supports and lift points, true to scale."""

from engineering.core.contract.piece import Piece, RingRole, Rod, Zone
from reports.drawing.dimensions import chain, extension, stations_of, upright
from reports.drawing.edges import edges_from_above
from reports.drawing.figure import Circle, Figure, Line, Polygon, Text, shorten, text_width
from reports.drawing.hatch import cross_hatch
from reports.drawing.lengths import length_text, unit_note
from reports.drawing.view import View

HIGHEST = 240.0  # a plan is drawn at most this high [pt]
LEFT_ROOM = 7.0  # for the names of chains, in letter heights


NORTH = "north of the form"


def draw_plan(
    piece: Piece, *, width: float, size: float, heading: str, front: str, back: str, north_up: bool = True
) -> Figure:
    """z runs up the paper from the edge named `front`. Dimensions: zones, supports, lift points; rods across.

    `north_up`: the north of the form is the back edge as installed, so it points down once the piece is turned over.
    """
    figure = Figure(width, 0, f"Plan of piece {piece.mark}", f"{heading}. {front} below, {back} above.")
    low, high = _edges(piece)
    right = 22 + max((text_width(_rod_words(r, low, piece), size, bold=True) for r in piece.rods), default=0.0)
    scale = min((width - LEFT_ROOM * size - right - 24) / piece.length_in, HIGHEST / (high - low))
    figure.scale = scale
    room = width - 40 - text_width(NORTH, 0.9 * size)
    figure.add(Text(4, 1.1 * size, shorten(heading, size, room, bold=True), size, "note", "start", bold=True))
    _north(figure, width, size, up=north_up)
    top = 3.6 * size
    view = View(LEFT_ROOM * size, top + high * scale, scale, scale)
    figure.add(Text(view.left, top - 0.5 * size, back, 0.9 * size, "note", "start"))
    _concrete(figure, piece, view)
    for rod in piece.rods:
        _rod(figure, piece, rod, view)
    _supports(figure, piece, view, low, high)
    lift = piece.handling.lift_points_in if piece.handling else ()
    for x in lift:
        _lift_point(figure, view.x(x), view.y((low + high) / 2))
    y = max(view.y(low), _across(figure, piece, view, low, high, size)) + 1.2 * size
    figure.add(Text(view.left, y, front, 0.9 * size, "note", "start"))
    y = _chains(figure, piece, view, y + 1.9 * size, size, lift)
    figure.add(Text(view.left, y + 1.2 * size, unit_note(piece.units), 0.86 * size, "note", "start"))
    figure.height = y + 2.2 * size
    return figure


def _north(figure: Figure, width: float, size: float, *, up: bool) -> None:
    """An arrow in the corner with its words: which way round the form stands, on every plan alike."""
    x, head, tail = width - 10, (0.2 if up else 2.6) * size, (2.6 if up else 0.2) * size
    wing = head + (0.9 if up else -0.9) * size
    figure.add(
        Text(x - 8, 1.1 * size, NORTH, 0.9 * size, "note", "end"),
        Line(((x, tail), (x, wing)), "note", 1.0),
        Polygon((((x, head), (x + 0.4 * size, wing), (x - 0.4 * size, wing)),), "note", "solid", 0.4),
    )


def _edges(piece: Piece) -> tuple[float, float]:
    places = [z for zone in piece.zones for ring in zone.rings for z, _ in ring.points]
    return min(places), max(places)


def _zone_strips(zone: Zone) -> list[tuple[float, float]]:
    """(front, back) of each strip of concrete of a zone."""
    return [
        (min(z for z, _ in ring.points), max(z for z, _ in ring.points))
        for ring in zone.rings
        if ring.role is RingRole.CONCRETE
    ]


def _concrete(figure: Figure, piece: Piece, view: View) -> None:
    for zone in piece.zones:
        for front, back in _zone_strips(zone):
            figure.add(Polygon((view.box(zone.start_in, front, zone.end_in, back),), "outline", "tint", 1.3))
        for across, seen in edges_from_above(zone):
            ends = (view.point(zone.start_in, across), view.point(zone.end_in, across))
            figure.add(Line(ends, "outline", 0.9) if seen else Line(ends, "hidden", 0.6, (3, 2)))
        for ring in zone.rings:
            if ring.role is RingRole.CONCRETE:
                continue
            places = [z for z, _ in ring.points]
            box = view.box(zone.start_in, min(places), zone.end_in, max(places))
            if ring.role is RingRole.CORE:
                figure.add(*cross_hatch([box], spacing=9))
            if ring.role is RingRole.CORE:
                figure.add(Polygon((box,), "core", "none", 0.6, (3, 2), hatch="foam"))
            else:
                figure.add(Polygon((box,), "hidden", "none", 0.6, (3, 2)))


def _rod(figure: Figure, piece: Piece, rod: Rod, view: View) -> None:
    first, last = rod.profile[0][0], rod.profile[-1][0]
    half = rod.sleeve.outside_in / 2
    for off in (half, -half):
        figure.add(Line((view.point(first, rod.across_in + off), view.point(last, rod.across_in + off)), "sleeve", 0.4))
    figure.add(Line((view.point(first, rod.across_in), view.point(last, rod.across_in)), "rod", 1.2))
    for x, way, end in ((first, -1, 0.0), (last, 1, piece.length_in)):
        if rod.pocket:
            wide = rod.pocket.width_in / 2
            box = view.box(min(x, end), rod.across_in - wide, max(x, end), rod.across_in + wide)
            figure.add(Polygon((box,), "anchor", "paper", 0.8))
        wide, thick = rod.anchor.width_in / 2, rod.anchor.thickness_in
        edges = sorted((x, x + way * thick))
        figure.add(
            Polygon((view.box(edges[0], rod.across_in - wide, edges[1], rod.across_in + wide),), "anchor", "solid", 0.3)
        )


def _supports(figure: Figure, piece: Piece, view: View, low: float, high: float) -> None:
    for support in piece.supports:
        half = support.bearing_in / 2
        box = view.box(support.at_in - half, low, support.at_in + half, high)
        figure.add(Polygon((box,), "support", "none", 0.7, (4, 2)))


def _lift_point(figure: Figure, x: float, y: float) -> None:
    figure.add(
        Circle(x, y, 5, "load", "paper", 1.2),
        Line(((x - 8, y), (x + 8, y)), "load", 0.8),
        Line(((x, y - 8), (x, y + 8)), "load", 0.8),
    )


def _across(figure: Figure, piece: Piece, view: View, low: float, high: float, size: float) -> float:
    """The width at the left, each rod's mark and place at the right; returns the y where they end."""
    x = view.x(piece.length_in) + 12
    lowest = float("-inf")
    for rod in sorted(piece.rods, key=lambda rod: -rod.across_in)[:40]:
        at = max(view.y(rod.across_in), lowest + 1.15 * size)
        lowest = at
        figure.add(
            Line(((view.x(rod.profile[-1][0]), view.y(rod.across_in)), (x - 2, at)), "dimension", 0.3),
            Text(x, at + 0.32 * size, _rod_words(rod, low, piece), size, "rod", "start", bold=True),
        )
    upright(figure, [(view.y(high), view.y(low), "")], view.left - 12, size, side="left")
    words = length_text(high - low, piece.units)
    figure.add(Text(view.left - 15, (view.y(high) + view.y(low)) / 2, words, size, turned=True))
    return lowest + 0.5 * size


def _rod_words(rod: Rod, low: float, piece: Piece) -> str:
    return f"{rod.mark[:12]}  {length_text(rod.across_in - low, piece.units)}"


def _chains(figure: Figure, piece: Piece, view: View, y: float, size: float, lift: tuple[float, ...]) -> float:
    limits = (4.0, figure.width - 4)
    rows = [("supports", [s.at_in for s in piece.supports]), ("lift", list(lift))]
    if piece.rods:
        rows.append(("anchors", [x for r in piece.rods for x in (r.profile[0][0], r.profile[-1][0])]))
    rows += [("zones", [z.end_in for z in piece.zones[:-1]])]
    wanted = [(name, xs) for name, xs in rows if xs] + [("length", [])]
    for name, xs in wanted:
        ordered = stations_of(xs, piece.length_in)
        figure.add(Text(view.left - 10, y + 0.3 * size, name, 0.9 * size, "note", "end"))
        if len(ordered) > 60:
            text = f"{len(ordered) - 1} stretches, in the specification"
            figure.add(Text(view.x(0), y + 0.3 * size, text, size, anchor="start"))
            y += 1.9 * size
            continue
        for x in ordered:
            extension(figure, view.x(x), y - 0.9 * size, y + 3)
        row = [
            (view.x(x), length_text(x - before, piece.units))
            for before, x in zip([0.0, *ordered], ordered, strict=False)
        ]
        y += chain(figure, row, y, size, limits) + 1.9 * size
    return y - 1.2 * size
