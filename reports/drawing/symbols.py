"""Supports, loads and anchors as the trade draws them."""

from reports.drawing.figure import Figure, Line, Polygon, Text

HEAD = 4.0  # length of an arrow's head [pt]
POINT_ARROW = 20.0
SPREAD_ARROW = 11.0
SUPPORT = 11.0


def arrow(figure: Figure, x: float, tail: float, tip: float, *, role: str = "load", weight: float = 0.9) -> None:
    """An upright arrow from tail to tip."""
    way = 1 if tip > tail else -1
    figure.add(
        Line(((x, tail), (x, tip - way * HEAD)), role, weight),
        Polygon(
            (((x, tip), (x - HEAD * 0.42, tip - way * HEAD), (x + HEAD * 0.42, tip - way * HEAD)),), role, "solid", 0.2
        ),
    )


def spread_load(figure: Figure, left: float, right: float, y: float, *, upwards: bool, dashed: bool) -> None:
    """A load along a stretch: arrows hanging from a line; y is the line the tips touch."""
    bar = y - SPREAD_ARROW
    figure.add(Line(((left, bar), (right, bar)), "load", 0.9, (4, 2) if dashed else ()))
    count = max(2, min(40, round((right - left) / 22) + 1))
    for i in range(count):
        x = left + (right - left) * i / (count - 1)
        tail, tip = (y, bar) if upwards else (bar, y)
        arrow(figure, x, tail, tip, weight=0.6)


def point_load(figure: Figure, x: float, y: float, *, upwards: bool, anywhere: tuple[float, float] | None) -> None:
    """A load at one place, tip at y; `anywhere`: the stretch it may stand on, drawn as a line with two heads."""
    tail, tip = (y, y - POINT_ARROW) if upwards else (y - POINT_ARROW, y)
    arrow(figure, x, tail, tip, weight=1.4)
    if anywhere:
        left, right, level = anywhere[0], anywhere[1], y - POINT_ARROW * 0.55
        figure.add(Line(((left, level), (right, level)), "load", 0.5, (2, 2)))
        for end, way in ((left, 1), (right, -1)):
            figure.add(Line(((end + way * HEAD, level - 2), (end, level), (end + way * HEAD, level + 2)), "load", 0.7))


def support(figure: Figure, x: float, y: float, bearing: float, *, hold_down: bool) -> float:
    """A bearing plate and a triangle under it, apex at y; hold-down adds a strap. Returns the height used."""
    half = max(bearing / 2, 2.0)
    figure.add(
        Polygon((((x - half, y), (x + half, y), (x + half, y + 2), (x - half, y + 2)),), "support", "solid", 0.3),
        Polygon(
            (((x, y + 2), (x - SUPPORT * 0.6, y + 2 + SUPPORT), (x + SUPPORT * 0.6, y + 2 + SUPPORT)),),
            "support",
            "paper",
            1.0,
        ),
    )
    ground = y + 2 + SUPPORT
    figure.add(Line(((x - SUPPORT, ground), (x + SUPPORT, ground)), "support", 1.0))
    for i in range(5):
        start = x - SUPPORT + 2.5 + i * (2 * SUPPORT - 2.5) / 4.4
        figure.add(Line(((start, ground), (start - 3, ground + 3)), "support", 0.4))
    if hold_down:
        for way in (-1, 1):
            side = x + way * SUPPORT * 0.82
            figure.add(Line(((side - way * 3, y - 4), (side, y - 4), (side, ground)), "support", 1.2))
    return ground + 4 - y


def jack(figure: Figure, x: float, y: float, *, way: int) -> None:
    """Stress from this end: a solid arrow outwards, along the rod's line; way −1 at the left end."""
    tip = x + way * 15
    figure.add(
        Line(((x + way * 4, y), (tip - way * HEAD, y)), "anchor", 1.4),
        Polygon(
            (((tip, y), (tip - way * HEAD * 1.2, y - 2.4), (tip - way * HEAD * 1.2, y + 2.4)),), "anchor", "solid", 0.2
        ),
    )


def scale_bar(
    figure: Figure, x: float, y: float, lengths: tuple[float, ...], texts: tuple[str, ...], size: float
) -> None:
    """A bar in black and white parts, each `lengths[i]` points from the start, named underneath."""
    start = 0.0
    for i, end in enumerate(lengths):
        corners = ((x + start, y), (x + end, y), (x + end, y + 3), (x + start, y + 3))
        figure.add(Polygon((corners,), "note", "solid" if i % 2 == 0 else "none", 0.5))
        start = end
    figure.add(Text(x + lengths[-1] + 5, y + 4, texts[-1], size, "note", "start"))
