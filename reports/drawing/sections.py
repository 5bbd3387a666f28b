"""A cross-section for every zone that differs from the others, all to one scale."""

import itertools
from dataclasses import dataclass

from engineering.core.contract.piece import Piece, Ring, RingRole, Rod, Zone
from reports.drawing.dimensions import Label, chain, extension, rows_of_labels, upright
from reports.drawing.figure import Circle, Figure, Line, Polygon, Text, shorten
from reports.drawing.hatch import cross_hatch, hatch_lines
from reports.drawing.lengths import length_text, unit_note
from reports.drawing.view import View, axis_height

LEFT, RIGHT = 6.4, 10.8  # margins beside a section, in letter heights
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
    wanted = cuts(piece)
    figure = Figure(width, 0, f"Cross-sections of piece {piece.mark}", _describe(piece, wanted))
    widest = max(zone.width_in for zone in piece.zones)
    deepest = max(zone.depth_in for zone in piece.zones)
    scale = min((width - (LEFT + RIGHT) * size) / widest, HIGHEST / deepest, MOST_POINTS_PER_IN)
    y = 0.0
    for cut in wanted[:MOST_SECTIONS]:
        y = _section(figure, piece, cut, scale, y + size, size)
    if len(wanted) > MOST_SECTIONS:
        figure.add(
            Text(
                4,
                y + 1.2 * size,
                f"and {len(wanted) - MOST_SECTIONS} more sections, in the specification",
                size,
                "note",
                "start",
            )
        )
        y += 1.6 * size
    _key(figure, piece, y + 1.6 * size, size)
    figure.height = y + 4.4 * size
    return figure


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


def _section(figure: Figure, piece: Piece, cut: Cut, scale: float, top: float, size: float) -> float:
    zone = cut.zone
    zones = "zone " + str(cut.numbers[0]) if len(cut.numbers) == 1 else "zones " + ", ".join(map(str, cut.numbers[:8]))
    title = f"Section of {zones} ({zone.kind}), {length_text(cut.at_in, piece.units)} from the left end"
    figure.add(Text(4, top + size, shorten(title, size, figure.width - 8), size, "note", "start", bold=True))
    view = View(LEFT * size, 0, scale, scale)
    rods = [(rod, height) for rod in piece.rods if (height := axis_height(rod, cut.at_in)) is not None]
    several = len({round(height, 3) for _, height in rods}) > 1
    labels = [
        Label(view.x(rod.across_in), _rod_label(rod, height - zone.soffit_in, several, piece.units))
        for rod, height in rods
    ]
    placed = rows_of_labels(labels, 1.1 * size, 4.0, figure.width - 4)
    rows = 1 + max((row for row, _, _ in placed), default=-1)
    above = top + 1.9 * size + rows * 1.2 * size
    view = View(LEFT * size, above + 5 + zone.top_in * scale, scale, scale)
    _concrete(figure, piece, zone, view)
    _anchors(figure, piece, zone, view)
    for rod, height in rods:
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
    figure.add(Polygon((*solid, *voids, *cores), "outline", "tint", 0))
    figure.add(*hatch_lines([*solid, *voids, *cores], angle_deg=45, spacing=11, weight=0.3))
    for core in cores:
        figure.add(*cross_hatch([core], spacing=4.5), Polygon((core,), "core", "none", 0.8))
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
    """Right: the whole depth and the rods' height. Left: cores, legs and steps from the soffit up."""
    units = piece.units
    right = view.x(max(z for ring in zone.rings for z, _ in ring.points))
    left = view.x(min(z for ring in zone.rings for z, _ in ring.points))
    heights = sorted({round(h - zone.soffit_in, 3) for _, h in rods})
    base = zone.soffit_in
    for height in heights if len(heights) == 1 else []:
        upright(
            figure,
            [(view.y(base + height), view.y(base), length_text(height, units))],
            right + size,
            size,
            side="right",
        )
    upright(
        figure,
        [(view.y(zone.top_in), view.y(base), length_text(zone.depth_in, units))],
        right + (5.2 * size if len(heights) == 1 else size),
        size,
        side="right",
    )
    levels = _merged(sorted({base, zone.top_in, *_levels(zone)}))
    if 2 < len(levels) <= 8:
        stretches = [
            (view.y(high), view.y(low), length_text(high - low, units)) for low, high in itertools.pairwise(levels)
        ]
        upright(figure, stretches, left - size, size, side="left")


def _levels(zone: Zone) -> set[float]:
    """Heights worth a dimension: of the first core, and of every step of the concrete."""
    cores = [ring for ring in zone.rings if ring.role is RingRole.CORE][:1]
    rings = cores or [ring for ring in zone.rings if ring.role is not RingRole.CORE]
    return {y for ring in rings for _, y in ring.points}


def _level_dimensions(
    figure: Figure, piece: Piece, zone: Zone, view: View, rods: list[tuple[Rod, float]], size: float
) -> float:
    """Chains under the section: rods, then cores, legs or strips, then the width. Returns the y where they end."""
    points = [z for ring in zone.rings for z, _ in ring.points]
    front, back = min(points), max(points)
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
        figure.add(Text(view.left - 10, y + 0.3 * size, name, 0.9 * size, "note", "end"))
        if len(ordered) > MOST_EDGES + 2:
            figure.add(
                Text(view.left, y + 0.3 * size, f"{len(ordered)} places, in the specification", size, anchor="start")
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


def _key(figure: Figure, piece: Piece, y: float, size: float) -> None:
    """What the signs mean, and the units; one line each, so that neither runs into the other."""
    x = 4.0
    signs = [("concrete", "concrete")]
    if any(r.role is RingRole.CORE for zone in piece.zones for r in zone.rings):
        signs.append(("foam", "foam core"))
    if piece.rods:
        signs.append(("rod", "rod in its sleeve"))
        signs.append(("plate", "plate · pocket, at the end"))
    for sign, text in signs:
        _sign(figure, sign, x, y)
        figure.add(Text(x + 19, y + 0.05 * size, text, 0.9 * size, "note", "start"))
        x += 19 + len(text) * 0.62 * size + 12
    figure.add(Text(4, y + 1.7 * size, unit_note(piece.units), 0.86 * size, "note", "start"))


def _sign(figure: Figure, sign: str, x: float, y: float) -> None:
    box = ((x, y - 8), (x + 14, y - 8), (x + 14, y + 1), (x, y + 1))
    if sign == "rod":
        figure.add(
            Circle(x + 7, y - 3.5, 4.5, "sleeve", "paper", 0.9), Circle(x + 7, y - 3.5, 2.6, "rod", "solid", 0.2)
        )
    elif sign == "foam":
        figure.add(*cross_hatch([box], spacing=4.5), Polygon((box,), "core", "none", 0.8))
    elif sign == "plate":
        figure.add(Polygon((box,), "anchor", "none", 0.7, (1.5, 1.5)))
    else:
        figure.add(Polygon((box,), "outline", "tint", 1.2), *hatch_lines([box], angle_deg=45, spacing=6, weight=0.3))


def _describe(piece: Piece, wanted: list[Cut]) -> str:
    """The sections in words."""
    parts = []
    for cut in wanted[:MOST_SECTIONS]:
        cores = sum(ring.role is RingRole.CORE for ring in cut.zone.rings)
        parts.append(
            f"Zone {', '.join(map(str, cut.numbers))}: {cut.zone.kind}, "
            f"width {length_text(cut.zone.width_in, piece.units)}, "
            f"depth {length_text(cut.zone.depth_in, piece.units)}" + (f", {cores} foam cores" if cores else "")
        )
    unit = " Millimetres." if piece.units == "si" else ""
    return ". ".join(parts) + "." + unit
