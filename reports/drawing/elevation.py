"""The piece from the front: true to scale with supports and loads, then depth enlarged where that reads better."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from engineering.core.contract.piece import Piece, RingRole, Rod
from reports.drawing import symbols
from reports.drawing.dimensions import Label, chain, extension, ordinates, rows_of_labels, stations_of, upright
from reports.drawing.edges import edges_from_front
from reports.drawing.figure import Figure, Line, Polygon, Text, text_width
from reports.drawing.hatch import cross_hatch
from reports.drawing.lengths import length_text, unit_note
from reports.drawing.loads import draw_loads
from reports.drawing.view import View, axis_points, marks_text, piece_depth, side_outline

MARGIN = 8.0  # room at the left of the piece, in letter heights, for names
READABLE = 66.0  # a depth drawn at least this high needs no second, enlarged elevation [pt]
ENLARGED = 84.0
MOST_STRETCHES = 60  # chains with more stations than this are not dimensioned one by one


def draw_elevation(
    piece: Piece,
    loads: Sequence[Mapping[str, Any]],
    *,
    width: float,
    size: float,
    heading: str = "Elevation from the front",
    datum: str = "the lowest soffit",
    enlarge: bool = True,
) -> Figure:
    """The elevation on a sheet of the given width [pt], letters `size` high; without `enlarge` all is true to scale."""
    figure = Figure(width, 0, f"Elevation of piece {piece.mark}", describe(piece))
    depth = piece_depth(piece)
    beside = MARGIN * size + 34 + text_width(length_text(depth, piece.units), size)
    past = max((rod.anchor.thickness_in + rod.thread.diameter_in for rod in piece.rods), default=0.0)
    scale = (width - beside) / (piece.length_in + 2 * past)
    # A short deep piece is held to a sensible height, and then stands narrower than the sheet.
    scale = min(scale, 190 / depth)
    plan = View(MARGIN * size + past * scale, 0, scale, scale)
    whole = depth * scale >= READABLE or not enlarge
    y = _true_elevation(figure, piece, loads, plan, size, words=(heading, datum), whole=whole)
    figure.scale = scale if whole else 0.0
    if piece.rods and not whole:
        y = _enlarged_elevation(figure, piece, plan, y + 1.6 * size, size, datum)
    figure.add(Text(plan.left, y + 1.6 * size, unit_note(piece.units), 0.86 * size, "note", "start"))
    figure.height = y + 2.4 * size
    return figure


def describe(piece: Piece) -> str:
    """The drawing in words, for those who do not see it."""
    at = "; ".join(length_text(s.at_in, piece.units) + (" held down" if s.hold_down else "") for s in piece.supports)
    unit = " mm" if piece.units == "si" else ""
    rods = f"{len(piece.rods)} rods: {', '.join(rod.mark for rod in piece.rods)}." if piece.rods else "No rods."
    return (
        f"Length {length_text(piece.length_in, piece.units)}{unit}, "
        f"greatest depth {length_text(piece_depth(piece), piece.units)}{unit}, "
        f"{len(piece.zones)} zones. Supports at {at}{unit} from the left end. {rods} {len(piece.loads)} loads."
    )


def _true_elevation(
    figure: Figure,
    piece: Piece,
    loads: Sequence[Mapping[str, Any]],
    view: View,
    size: float,
    *,
    words: tuple[str, str],
    whole: bool,
) -> float:
    limits = (4.0, figure.width - 4)
    high = piece_depth(piece) * view.up_scale
    _heading(figure, f"{words[0]}, true scale", 1.2 * size, size)
    tips = draw_loads(figure, piece, loads, view, top=1.9 * size, size=size, limits=limits)
    view = replace(view, base=tips + 3 + high)
    _body(figure, piece, view, detailed=whole)
    y = view.base
    used = _supports(figure, piece, view, size)
    if whole:
        _end_marks(figure, piece, view, size)
        _rod_names(figure, piece, view, size)
        _depth_dimension(figure, piece, view, size)
    y = _chains(figure, piece, view, y + used + 1.9 * size, size)
    if whole and piece.rods:
        y = _rod_heights(figure, piece, view, y + 0.6 * size, size, words[1])
    _bar(figure, piece, view, y + 1.0 * size, size)
    return y + 1.6 * size


def _supports(figure: Figure, piece: Piece, view: View, size: float) -> float:
    """Supports under their soffit and their names S1, S2 … below; returns the height used under y = 0 of the piece."""
    used = 0.0
    for number, support in enumerate(piece.supports):
        foot = view.y(_soffit(piece, support.at_in))
        wide = support.bearing_in * view.along_scale
        with figure.part(f"supports[{number}]"):
            high = symbols.support(figure, view.x(support.at_in), foot, wide, hold_down=support.hold_down)
        used = max(used, foot + high - view.base)
    if not piece.supports:
        return 0.0
    names = [Label(view.x(s.at_in), f"S{number}") for number, s in enumerate(piece.supports, 1)]
    rows = rows_of_labels(names, 1.1 * size, 4.0, figure.width - 4)
    for row, centre, label in rows:
        figure.add(Text(centre, view.base + used + (0.9 + 1.2 * row) * size, label.text, size, "support", bold=True))
    return used + (1.2 + 1.2 * max(row for row, _, _ in rows)) * size


def _enlarged_elevation(figure: Figure, piece: Piece, plan: View, top: float, size: float, datum: str) -> float:
    depth = piece_depth(piece)
    times = max(2, round(ENLARGED / depth / plan.up_scale))
    _heading(figure, f"Rods, cores and anchors: depth drawn {times} times as large as length", top + size, size)
    up_scale = plan.up_scale * times
    view = replace(plan, base=top + 2.6 * size + depth * up_scale, up_scale=up_scale)
    _body(figure, piece, view, detailed=True)
    _end_marks(figure, piece, view, size)
    _rod_names(figure, piece, view, size)
    _depth_dimension(figure, piece, view, size)
    return _rod_heights(figure, piece, view, view.base + 0.8 * size, size, datum)


def _heading(figure: Figure, text: str, y: float, size: float) -> None:
    figure.add(Text(4, y, text, size, "note", "start", bold=True))


def _body(figure: Figure, piece: Piece, view: View, *, detailed: bool) -> None:
    outline = tuple(view.point(x, y) for x, y in side_outline(piece))
    figure.add(Polygon((outline,), "outline", "tint", 0))
    for zone in piece.zones:
        for ring in zone.rings:
            if ring.role is RingRole.CONCRETE and len([r for r in zone.rings if r.role is RingRole.CONCRETE]) == 1:
                continue
            low, high = min(y for _, y in ring.points), max(y for _, y in ring.points)
            box = view.box(zone.start_in, low, zone.end_in, high)
            if (
                ring.role is RingRole.CORE
                and detailed
                and ring is next(r for r in zone.rings if r.role is RingRole.CORE)
            ):
                figure.add(*cross_hatch([box], spacing=7))
            figure.add(Polygon((box,), "hidden", "none", 0.5, (3, 2)))
        for height, seen in edges_from_front(zone):
            ends = (view.point(zone.start_in, height), view.point(zone.end_in, height))
            figure.add(Line(ends, "outline", 0.7) if seen else Line(ends, "hidden", 0.5, (3, 2)))
    for before, after in zip(piece.zones, piece.zones[1:], strict=False):
        x = view.x(before.end_in)
        low, high = max(before.soffit_in, after.soffit_in), min(before.top_in, after.top_in)
        figure.add(Line(((x, view.y(low)), (x, view.y(high))), "zone", 0.6, (6, 2, 1, 2)))
    _rods(figure, piece.rods, view, detailed=detailed)
    figure.add(Polygon((outline,), "outline", "none", 1.5))


def _rods(figure: Figure, rods: Sequence[Rod], view: View, *, detailed: bool) -> None:
    for numbers in _alike(rods):
        rod = rods[numbers[0]]
        axis = axis_points(rod)
        with figure.part(" ".join(f"rods[{number}]" for number in numbers)):
            if detailed:
                half = rod.sleeve.outside_in / 2
                for off in (half, -half):
                    figure.add(Line(tuple(view.point(x, y + off) for x, y in axis), "sleeve", 0.4, (4, 2)))
                for (x, y), way in ((rod.profile[0], 1), (rod.profile[-1], -1)):
                    _anchor(figure, rod, view, x, y, way)
            figure.add(Line(tuple(view.point(x, y) for x, y in axis), "rod", 1.6 if detailed else 0.9))


def _anchor(figure: Figure, rod: Rod, view: View, x: float, y: float, way: int) -> None:
    """Plate on its anchor face, drawn outside it as it sits in the pocket or on the end; nut as a short block."""
    half, thick = rod.anchor.height_in / 2, rod.anchor.thickness_in
    figure.add(Polygon((view.box(x - way * thick, y - half, x, y + half),), "anchor", "solid", 0.4))
    nut = rod.thread.diameter_in
    figure.add(
        Polygon(
            (view.box(x - way * (thick + nut), y - nut * 0.8, x - way * thick, y + nut * 0.8),), "anchor", "paper", 0.7
        )
    )


def _alike(rods: Sequence[Rod]) -> list[list[int]]:
    """Numbers of the rods of each profile: the first is drawn, those behind it would only be drawn over."""
    seen: dict[object, list[int]] = {}
    for number, rod in enumerate(rods):
        seen.setdefault((rod.profile, rod.curve, rod.sleeve.outside_in), []).append(number)
    return list(seen.values())


def _end_marks(figure: Figure, piece: Piece, view: View, size: float) -> None:
    """An arrow at every end from which rods are stressed."""
    for left, x, way in ((True, 0.0, -1), (False, piece.length_in, 1)):
        wanted = ("left", "both") if left else ("right", "both")
        heights = sorted({rod.profile[0 if left else -1][1] for rod in piece.rods if rod.stressed_from in wanted})
        last = float("inf")
        for height in heights:
            if abs(view.y(height) - last) >= 6:
                last = view.y(height)
                symbols.jack(figure, view.x(x) + way * max(2.0, _beyond(piece, view, left)), last, way=way)


def _rod_names(figure: Figure, piece: Piece, view: View, size: float) -> None:
    """Marks at the left end, level with their axis; those too close together give way downwards."""
    groups: dict[float, list[str]] = {}
    for rod in piece.rods:
        groups.setdefault(rod.profile[0][1], []).append(rod.mark)
    x = view.x(0) - 21 - (_beyond(piece, view, left=True) if piece.rods else 0.0)
    lowest = float("-inf")
    for height in sorted(groups, reverse=True)[:8]:
        at = max(view.y(height), lowest + 1.15 * size)
        lowest = at
        name = marks_text(groups[height], size, x - 6)
        figure.add(Text(x, at + 0.32 * size, name, size, "rod", "end", bold=True))


def _beyond(piece: Piece, view: View, left: bool) -> float:
    """How far plates and nuts stand out past the end of the piece, on paper [pt]."""
    end = 0.0 if left else piece.length_in
    out = [
        rod.anchor.thickness_in + rod.thread.diameter_in - abs(end - rod.profile[0 if left else -1][0])
        for rod in piece.rods
    ]
    return max(0.0, *out, 0.0) * view.along_scale


def _depth_dimension(figure: Figure, piece: Piece, view: View, size: float) -> None:
    depth = piece_depth(piece)
    x = view.x(piece.length_in) + max(26.0, 24 + _beyond(piece, view, left=False))
    upright(figure, [(view.y(depth), view.y(0), length_text(depth, piece.units))], x, size, side="right")


def _chains(figure: Figure, piece: Piece, view: View, y: float, size: float) -> float:
    """Chains under the true elevation: supports, zones, the whole."""
    limits = (4.0, figure.width - 4)

    def stations(xs: list[float]) -> list[tuple[float, str]]:
        ordered = stations_of(xs, piece.length_in)
        return [
            (view.x(x), length_text(x - before, piece.units))
            for before, x in zip([0.0, *ordered], ordered, strict=False)
        ]

    rows = [("supports", stations([s.at_in for s in piece.supports]))] if piece.supports else []
    if len(piece.zones) > 1:
        rows.append(("zones", stations([z.end_in for z in piece.zones])))
    rows.append(("length", stations([])))
    for name, row in rows:
        figure.add(Text(view.left - 10, y + 0.3 * size, name, 0.9 * size, "note", "end"))
        if len(row) > MOST_STRETCHES:
            figure.add(
                Text(view.x(0), y + 0.3 * size, f"{len(row) - 1} stretches, in the specification", size, anchor="start")
            )
            y += 1.9 * size
            continue
        for x, _ in row:
            extension(figure, x, y - 0.9 * size, y + 3)
        y += chain(figure, row, y, size, limits) + 1.9 * size
    return y - 1.2 * size


def _rod_heights(figure: Figure, piece: Piece, view: View, y: float, size: float, datum: str) -> float:
    """Under the drawing, for each profile: the height of the axis above y = 0 at each of its corners."""
    groups: dict[object, list[Rod]] = {}
    for rod in piece.rods:
        groups.setdefault((rod.profile, rod.curve), []).append(rod)
    limits = (view.left - 6, figure.width - 4)
    stations = sorted({x for rod in piece.rods for x, _ in rod.profile})
    rows: list[tuple[str, list[Label]]] = [
        ("from left", [Label(view.x(x), length_text(x, piece.units)) for x in stations])
    ]
    for rods in list(groups.values())[:8]:
        name = marks_text([rod.mark for rod in rods], size, view.left - 14)
        rows.append((name, [Label(view.x(x), length_text(h, piece.units)) for x, h in rods[0].profile]))
    figure.add(Text(4, y + 1.2 * size, f"height of rod axis above {datum}", 0.9 * size, "note", "start"))
    y += 1.5 * size
    for name, labels in rows:
        figure.add(Text(4, y + 1.25 * size, name, size, "note", "start", bold=name != "from left"))
        y += ordinates(figure, labels[:40], y, size, limits) + 2
        figure.add(Line(((4, y), (figure.width - 4, y)), "dimension", 0.25))
    if len(groups) > 8:
        figure.add(
            Text(4, y + 1.2 * size, f"and {len(groups) - 8} more profiles, in the specification", size, "note", "start")
        )
        y += 1.4 * size
    return y


def _soffit(piece: Piece, x: float) -> float:
    """The lowest soffit at x: where two zones meet, the lower one rests on the support."""
    return min(zone.soffit_in for zone in piece.zones if zone.start_in <= x <= zone.end_in)


def _bar(figure: Figure, piece: Piece, view: View, y: float, size: float) -> None:
    """A scale bar about a quarter of the piece long."""
    steps = (10, 20, 50, 100, 200, 500, 1000, 2000) if piece.units == "si" else (1, 2, 3, 6, 12, 24, 36, 60, 120)
    per_step = view.along_scale / (25.4 if piece.units == "si" else 1)
    step = max((s for s in steps if s * per_step <= 90), default=steps[0])
    text = f"{2 * step} mm" if piece.units == "si" else length_text(2 * step, "us")
    symbols.scale_bar(figure, view.left, y, (step * per_step, 2 * step * per_step), ("", text), 0.86 * size)
