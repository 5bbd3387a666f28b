"""A cross-section for every zone that differs from the others, all to one scale."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

from engineering.core.contract.piece import Piece, Ring, RingRole, Rod, Zone
from reports.drawing.dimensions import Label, chain, extension, rows_of_labels, upright
from reports.drawing.figure import Circle, Figure, Line, Polygon, Text, moved, shorten, text_width
from reports.drawing.hatch import cross_hatch, hatch_lines
from reports.drawing.key import draw_key
from reports.drawing.lengths import length_text
from reports.drawing.view import View, axis_height

HIGHEST = 200.0  # a section is drawn at most this high [pt]
MOST_POINTS_PER_IN = 60.0
MOST_SECTIONS = 8
MOST_EDGES = 24
SAME_IN = 1e-3


@dataclass(frozen=True)
class Cut:
    """One section to draw: where it is cut, and the zones (numbers from 1) it stands for."""

    zone: Zone
    at_in: float
    numbers: tuple[int, ...]


def cuts(piece: Piece) -> list[Cut]:
    """Zones whose concrete, cores and rod places are the same share one cut, at the middle of the first of them."""
    found: dict[object, list[int]] = {}
    for number, zone in enumerate(piece.zones, 1):
        found.setdefault(_likeness(piece, zone), []).append(number)
    out = []
    for numbers in found.values():
        zone = piece.zones[numbers[0] - 1]
        out.append(Cut(zone, (zone.start_in + zone.end_in) / 2, tuple(numbers)))
    return out


def draw_sections(piece: Piece, *, width: float, size: float) -> Figure:
    """Every distinct section, one under the other, on a sheet of the given width [pt]."""
    parts = draw_each_section(piece, width=width, size=size)
    figure = Figure(width, 0, parts[0].title, " ".join(part.description for part in parts))
    for part in parts:
        before = len(figure.items)
        figure.parts += [(before + start, before + stop, name) for start, stop, name in part.parts]
        figure.add(*(moved(item, figure.height) for item in part.items))
        figure.height += part.height
    return figure


def draw_each_section(piece: Piece, *, width: float, size: float) -> list[Figure]:
    """The same, a figure for each section, so that they can go over several pages; the last one carries the key."""
    wanted = cuts(piece)
    front, back = _edges(piece.zones)
    deepest = max(zone.depth_in for zone in piece.zones)
    left, right = _margins(piece, wanted, size)
    scale = min((width - left - right) / (back - front), HIGHEST / deepest, MOST_POINTS_PER_IN)
    figures = []
    for cut in wanted[:MOST_SECTIONS]:
        figure = Figure(width, 0, f"Cross-sections of piece {piece.mark}", _describe(piece, cut))
        figure.scale = scale
        figure.height = _section(figure, piece, cut, View(left - front * scale, 0, scale, scale), size, size)
        figures.append(figure)
    last = figures[-1]
    if len(wanted) > MOST_SECTIONS:
        words = f"and {len(wanted) - MOST_SECTIONS} more sections, in the specification"
        last.add(Text(4, last.height + 1.2 * size, words, size, "note", "start"))
        last.height += 1.6 * size
    draw_key(last, piece, last.height + 1.6 * size, size)
    last.height += 4.4 * size
    return figures


def _likeness(piece: Piece, zone: Zone) -> object:
    middle = (zone.start_in + zone.end_in) / 2
    heights = tuple(
        None if (h := axis_height(rod, middle)) is None else round((h - zone.soffit_in) * 64) for rod in piece.rods
    )
    rings = tuple(
        (ring.role, tuple((round(z, 4), round(y - zone.soffit_in, 4)) for z, y in ring.points)) for ring in zone.rings
    )
    return rings, heights, tuple(rod.mark for rod in _anchored(piece, zone))


def _anchored(piece: Piece, zone: Zone) -> list[Rod]:
    return [
        rod
        for rod in piece.rods
        if any(zone.start_in <= x <= zone.end_in for x in (rod.profile[0][0], rod.profile[-1][0]))
    ]


def _section(figure: Figure, piece: Piece, cut: Cut, view: View, top: float, size: float) -> float:
    zone = cut.zone
    zones = "zone " + str(cut.numbers[0]) if len(cut.numbers) == 1 else "zones " + ", ".join(map(str, cut.numbers[:8]))
    title = f"Section of {zones} ({zone.kind}), {length_text(cut.at_in, piece.units)} from the left end"
    figure.add(Text(4, top + size, shorten(title, size, figure.width - 8), size, "note", "start", bold=True))
    rods = _rods_at(piece, cut)
    several = len({round(height, 3) for _, height in rods}) > 1
    labels = [
        Label(view.x(rod.across_in), _rod_label(rod, height - zone.soffit_in, several, piece.units))
        for rod, height in rods
    ]
    placed = rows_of_labels(labels, 1.1 * size, 4.0, figure.width - 4)
    rows = 1 + max((row for row, _, _ in placed), default=-1)
    above = top + 1.9 * size + rows * 1.2 * size
    view = replace(view, base=above + 5 + zone.top_in * view.up_scale)
    _concrete(figure, piece, zone, view)
    _anchors(figure, piece, zone, view)
    for rod, height in rods:
        with figure.part(f"rods[{piece.rods.index(rod)}]"):
            _rod(figure, rod, height, view)
    face = view.y(zone.top_in)
    for row, centre, label in placed:
        baseline = above - row * 1.2 * size
        figure.add(
            Line(((centre, baseline + 2), (label.x, face + 1)), "rod", 0.35),
            Text(centre, baseline, label.text, size, "rod", bold=True),
        )
    _upright_dimensions(figure, piece, zone, view, rods, size)
    return _level_dimensions(figure, piece, zone, view, rods, size)


def _rod_label(rod: Rod, height: float, several: bool, units: str) -> str:
    """The mark; with the height of the axis over the soffit where the rods of a section differ in it."""
    mark = rod.mark if len(rod.mark) < 12 else rod.mark[:11] + "…"
    return f"{mark} at {length_text(height, units)}" if several else mark


def _concrete(figure: Figure, piece: Piece, zone: Zone, view: View) -> None:
    solid = [view.ring(r) for r in zone.rings if r.role is RingRole.CONCRETE]
    voids = [view.ring(r) for r in zone.rings if r.role is RingRole.VOID]
    cores = [view.ring(r) for r in zone.rings if r.role is RingRole.CORE]
    figure.add(Polygon((*solid, *voids, *cores), "outline", "tint", 0, hatch="concrete"))
    figure.add(*hatch_lines([*solid, *voids, *cores], angle_deg=45, spacing=11, weight=0.3))
    for core in cores:
        figure.add(*cross_hatch([core], spacing=4.5), Polygon((core,), "core", "none", 0.8, hatch="foam"))
    for void in voids:
        figure.add(Polygon((void,), "outline", "none", 1.0))
    for ring in solid:
        figure.add(Polygon((ring,), "outline", "none", 1.5))


def _anchors(figure: Figure, piece: Piece, zone: Zone, view: View) -> None:
    """Plates and pockets of the rods that end in this zone, dashed: they lie before or behind the cut."""
    for rod in _anchored(piece, zone):
        for x, y in (rod.profile[0], rod.profile[-1]):
            if not zone.start_in <= x <= zone.end_in:
                continue
            sizes = [(rod.anchor.width_in, rod.anchor.height_in, (1.5, 1.5))]
            if rod.pocket:
                sizes.append((rod.pocket.width_in, rod.pocket.height_in, (4, 2)))
            for wide, high, dash in sizes:
                box = view.box(rod.across_in - wide / 2, y - high / 2, rod.across_in + wide / 2, y + high / 2)
                with figure.part(f"rods[{piece.rods.index(rod)}]"):
                    figure.add(Polygon((box,), "anchor", "none", 0.7, dash))
            break


def _rod(figure: Figure, rod: Rod, height: float, view: View) -> None:
    x, y = view.point(rod.across_in, height)
    figure.add(
        Circle(x, y, max(rod.sleeve.outside_in / 2 * view.up_scale, 1.4), "sleeve", "paper", 0.9),
        Circle(x, y, max(rod.thread.diameter_in / 2 * view.up_scale, 1.0), "rod", "solid", 0.2),
    )


def _upright_dimensions(
    figure: Figure, piece: Piece, zone: Zone, view: View, rods: list[tuple[Rod, float]], size: float
) -> None:
    """Right: the rods' height and the whole depth. Left: cores, legs and steps from the soffit up."""
    front, back = _edges([zone])
    x = view.x(back) + size
    for low, high, text in _right_columns(piece, zone, rods):
        upright(figure, [(view.y(high), view.y(low), text)], x, size, side="right")
        x += _column_width(text, size)
    stretches = [(view.y(high), view.y(low), text) for low, high, text in _left_stretches(piece, zone)]
    upright(figure, stretches, view.x(front) - size, size, side="left")


Stretch = tuple[float, float, str]  # from y, to y [in], text


def _right_columns(piece: Piece, zone: Zone, rods: list[tuple[Rod, float]]) -> list[Stretch]:
    heights = sorted({round(height, 3) for _, height in rods})
    columns = [(zone.soffit_in, zone.top_in, length_text(zone.depth_in, piece.units))]
    if len(heights) == 1:
        columns.insert(0, (zone.soffit_in, heights[0], length_text(heights[0] - zone.soffit_in, piece.units)))
    return columns


def _left_stretches(piece: Piece, zone: Zone) -> list[Stretch]:
    levels = _merged(sorted({zone.soffit_in, zone.top_in, *_levels(zone)}))
    if not 2 < len(levels) <= 8:
        return []
    return [(low, high, length_text(high - low, piece.units)) for low, high in itertools.pairwise(levels)]


def _column_width(text: str, size: float) -> float:
    return 5 + text_width(text, size) + size


def _margins(piece: Piece, wanted: list[Cut], size: float) -> tuple[float, float]:
    """Room beside the widest section for its upright dimensions and the names of its chains [pt]."""
    left, right = 6 * size, 0.0
    for cut in wanted[:MOST_SECTIONS]:
        columns = _right_columns(piece, cut.zone, _rods_at(piece, cut))
        right = max(right, size + sum(_column_width(text, size) for _, _, text in columns))
        widths = [_column_width(text, size) for _, _, text in _left_stretches(piece, cut.zone)]
        left = max(left, size + max(widths, default=0.0))
    return left, right


def _rods_at(piece: Piece, cut: Cut) -> list[tuple[Rod, float]]:
    return [(rod, height) for rod in piece.rods if (height := axis_height(rod, cut.at_in)) is not None]


def _edges(zones: Sequence[Zone]) -> tuple[float, float]:
    """Front and back edge of the zones' concrete, z [in]."""
    places = [z for zone in zones for ring in zone.rings for z, _ in ring.points]
    return min(places), max(places)


def _levels(zone: Zone) -> set[float]:
    """Heights worth a dimension: of the first core, and of every step of the concrete."""
    cores = [ring for ring in zone.rings if ring.role is RingRole.CORE][:1]
    rings = cores or [ring for ring in zone.rings if ring.role is not RingRole.CORE]
    return {y for ring in rings for _, y in ring.points}


def _level_dimensions(
    figure: Figure, piece: Piece, zone: Zone, view: View, rods: list[tuple[Rod, float]], size: float
) -> float:
    """Chains under the section: rods, then cores, legs or strips, then the width. Returns the y where they end."""
    front, back = _edges([zone])
    y = view.y(zone.soffit_in) + 2.2 * size
    chains = []
    if rods:
        chains.append(("rods", {front, back, *(rod.across_in for rod, _ in rods)}))
    edges = {front, back, *(z for ring in _inner(zone) for z, _ in ring.points)}
    if 2 < len(edges) <= MOST_EDGES:
        chains.append(("cores" if any(r.role is RingRole.CORE for r in zone.rings) else "edges", edges))
    chains.append(("width", {front, back}))
    for name, stations in chains:
        ordered = _merged(sorted(stations))
        figure.add(Text(view.x(front) - 10, y + 0.3 * size, name, 0.9 * size, "note", "end"))
        if len(ordered) > MOST_EDGES + 2:
            figure.add(
                Text(
                    view.x(front), y + 0.3 * size, f"{len(ordered)} places, in the specification", size, anchor="start"
                )
            )
            y += 1.9 * size
            continue
        for z in ordered:
            extension(figure, view.x(z), y - 0.9 * size, y + 3)
        row = [
            (view.x(z), length_text(z - before, piece.units))
            for before, z in zip([ordered[0], *ordered], ordered, strict=False)
        ]
        y += chain(figure, row, y, size, (4.0, figure.width - 4)) + 1.9 * size
    return y - 0.6 * size


def _merged(values: list[float]) -> list[float]:
    """Values without those that are the same within rounding."""
    return [v for i, v in enumerate(values) if i == 0 or v - values[i - 1] > SAME_IN]


def _inner(zone: Zone) -> list[Ring]:
    """The rings whose edges deserve a chain: cores, or else the concrete itself and its holes."""
    return [r for r in zone.rings if r.role is RingRole.CORE] or list(zone.rings)


def _describe(piece: Piece, cut: Cut) -> str:
    """The section in words."""
    cores = sum(ring.role is RingRole.CORE for ring in cut.zone.rings)
    unit = " mm" if piece.units == "si" else ""
    return (
        f"Zone {', '.join(map(str, cut.numbers))}: {cut.zone.kind}, "
        f"width {length_text(cut.zone.width_in, piece.units)}{unit}, "
        f"depth {length_text(cut.zone.depth_in, piece.units)}{unit}" + (f", {cores} foam cores." if cores else ".")
    )
