"""Plots of the stored series, in the same primitives as the drawings: on a page as SVG, in print as vectors.

Curves are told apart by colour, by dash and by name, so that they can be told in grey too.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from reports.drawing.figure import Circle, Figure, Line, Polygon, Text, shorten, text_width
from reports.words import number_text

DASHES: tuple[tuple[float, ...], ...] = ((), (5, 2), (1.5, 1.5), (7, 2, 1.5, 2))
MOST_CURVES = 8
MOST_TICKS = 6
FAR = 0.8  # a limit further off than this many times the height of the curves is named at the edge, not drawn to scale
AGES = ((1, "1 d"), (3, "3 d"), (7, "7 d"), (14, "14 d"), (28, "28 d"), (90, "90 d"), (365.25, "1 y"))
YEARS = (2, 5, 10, 20, 50, 100)
CLOSE = 4.0  # points of a curve this near are taken for the whole of it where a name looks for its place [pt]

Place = tuple[float, float]  # on the paper: from the left, from the top [pt]


@dataclass(frozen=True)
class Curve:
    """One line, or dots where it was measured; `like`: number of the colour, of its own where not given."""

    name: str
    x: Sequence[float]
    y: Sequence[float | None]
    dots: bool = False
    colour: int | None = None
    dash: int | None = None


@dataclass(frozen=True)
class Level:
    """A limit, or a load of note: a horizontal line with its name."""

    name: str
    value: float


@dataclass(frozen=True)
class Spot:
    """One point that is named: the worst of the variants, a measured test."""

    name: str
    x: float
    y: float


@dataclass(frozen=True)
class Plot:
    """What is shown, before it has a size. Values are those of the stored documents."""

    key: str  # letters, digits, hyphens: unique among the plots of a page
    title: str
    x_label: str
    y_label: str  # unit
    curves: tuple[Curve, ...]
    levels: tuple[Level, ...] = ()
    spots: tuple[Spot, ...] = ()
    ages: bool = False  # x is an age in days, drawn by its logarithm
    from_zero: bool = True
    note: str = ""


@dataclass(frozen=True)
class Axes:
    """Where a value lies on the paper: (left, top, right, bottom) of the field and the ticks of both axes."""

    box: tuple[float, float, float, float]
    x_ticks: tuple[tuple[float, str], ...]
    y_ticks: tuple[float, ...]
    x_ends: tuple[float, float]
    ages: bool

    def x(self, value: float) -> float:
        low, high = (self._along(end) for end in self.x_ends)
        return self.box[0] + (self._along(value) - low) / (high - low) * (self.box[2] - self.box[0])

    def y(self, value: float) -> float:
        low, high = self.y_ticks[0], self.y_ticks[-1]
        return self.box[3] - (value - low) / (high - low) * (self.box[3] - self.box[1])

    def _along(self, value: float) -> float:
        return math.log10(max(value, 1e-3)) if self.ages else value


@dataclass
class Drawn:
    """A plot on paper, and its axes, so that a page can find the point under a finger."""

    plot: Plot
    figure: Figure
    axes: Axes
    shown: tuple[Curve, ...] = field(default_factory=tuple)


def draw_plot(plot: Plot, *, width: float, height: float, size: float = 8.0) -> Drawn | None:
    """The plot in this size [pt]; None where there is nothing to draw."""
    shown = tuple(c for c in plot.curves if len(c.x) == len(c.y) and len(_points(c)) > (0 if c.dots else 1))
    shown = shown[:MOST_CURVES]
    if not shown:
        return None
    figure = Figure(width, height, plot.title, _words(plot, shown))
    top = _key(figure, plot, shown, size)
    axes = _axes_of(plot, shown, (width, height), top, size)
    _grid(figure, axes, plot.x_label, size)
    _level_lines(figure, axes, plot.levels)
    marks = [point for curve in shown if curve.dots for point in _placed(axes, curve)]
    passed = [point for curve in shown if not curve.dots for point in _all_along(_placed(axes, curve))]
    for number, curve in enumerate(shown):
        if not curve.dots:
            _curve(figure, axes, curve, number)
    _level_names(figure, axes, plot.levels, size, (marks, passed))
    for number, curve in enumerate(shown):  # after the names: what was measured is never under one
        if curve.dots:
            _curve(figure, axes, curve, number)
    for spot in plot.spots:
        _spot(figure, axes, spot)
    return Drawn(plot, figure, axes, shown)


def nice_ticks(low: float, high: float) -> list[float]:
    """Round values from below `low` to above `high`, six at most or so."""
    if not high > low:
        low, high = low - 0.5, low + 0.5
    rough = (high - low) / MOST_TICKS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * m for m in (1, 2, 2.5, 5, 10) if power * m >= rough * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [i * step for i in range(first, last + 1)]


def _points(curve: Curve) -> list[tuple[float, float]]:
    return [(x, y) for x, y in zip(curve.x, curve.y, strict=True) if y is not None]


def _placed(axes: Axes, curve: Curve) -> list[Place]:
    return [(axes.x(x), axes.y(y)) for x, y in _points(curve)]


def _all_along(points: Sequence[Place]) -> list[Place]:
    """Points no further than CLOSE apart on the line through these."""
    found = list(points[:1])
    for (x0, y0), (x1, y1) in pairwise(points):
        parts = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / CLOSE))
        found += [(x0 + (x1 - x0) * k / parts, y0 + (y1 - y0) * k / parts) for k in range(1, parts + 1)]
    return found


def _axes_of(plot: Plot, curves: Sequence[Curve], paper: tuple[float, float], top: float, size: float) -> Axes:
    xs = [x for c in curves for x, _ in _points(c)] + [s.x for s in plot.spots]
    ys = [y for c in curves for _, y in _points(c)] + [s.y for s in plot.spots] + ([0.0] if plot.from_zero else [])
    reach = max(max(ys) - min(ys), abs(max(ys, key=abs)) * 0.1, 1e-9) * FAR
    ys += [level.value for level in plot.levels if min(ys) - reach <= level.value <= max(ys) + reach]
    y_ticks = nice_ticks(min(ys), max(ys))
    left = 14 + max(text_width(number_text(v), size) for v in y_ticks)
    if plot.ages:
        ends = (min(xs), max(xs) if max(xs) > min(xs) else min(xs) * 10)
        x_ticks = [(v, t) for v, t in (*AGES, *((y * 365.25, f"{y} y") for y in YEARS)) if ends[0] <= v <= ends[1]]
    else:
        ticks = nice_ticks(min(xs), max(xs))
        if all(float(x).is_integer() for x in xs) and ticks[-1] - ticks[0] < MOST_TICKS:  # turns are whole
            ticks = [float(n) for n in range(math.floor(ticks[0]), math.ceil(ticks[-1]) + 1)]
        ends = (ticks[0], ticks[-1])
        x_ticks = [(v, number_text(v)) for v in ticks]
    box = (left, top, paper[0] - 12, paper[1] - 3.2 * size)
    return Axes(box, tuple(x_ticks), tuple(y_ticks), ends, plot.ages)


def _grid(figure: Figure, axes: Axes, x_label: str, size: float) -> None:
    left, top, right, bottom = axes.box
    for value in axes.y_ticks:
        y, heavy = axes.y(value), abs(value) < 1e-12
        figure.add(
            Line(((left, y), (right, y)), "zone" if heavy else "grid", 0.8 if heavy else 0.3),
            Text(left - 4, y + 0.32 * size, number_text(value), size, "note", "end"),
        )
    last = float("-inf")
    for value, text in axes.x_ticks:
        x, half = axes.x(value), text_width(text, size) / 2
        figure.add(Line(((x, bottom), (x, bottom + 3)), "dimension", 0.5))
        if x - half > last + 4 and x + half <= figure.width:
            figure.add(Text(x, bottom + 1.4 * size, text, size, "note"))
            last = x + half
    figure.add(Line(((left, top), (left, bottom)), "dimension", 0.5))
    figure.add(Text((left + right) / 2, bottom + 2.75 * size, x_label, size, "note"))


def _level_lines(figure: Figure, axes: Axes, levels: Sequence[Level]) -> None:
    """A line for each level that lies in the field."""
    for level in levels:
        y = axes.y(level.value)
        if _inside(axes, y):
            figure.add(Line(((axes.box[0], y), (axes.box[2], y)), "limit", 1.2, (9, 3)))


def _level_names(
    figure: Figure, axes: Axes, levels: Sequence[Level], size: float, drawn: tuple[Sequence[Place], Sequence[Place]]
) -> None:
    """The name of each at its line, clear of what is drawn; with an arrow in words where it lies far outside.

    drawn: measured points, and points along the curves.
    """
    _, top, _, bottom = axes.box
    taken: list[float] = []
    for level in sorted(levels, key=lambda level: -level.value):
        y = axes.y(level.value)
        words = f"{level.name} {number_text(level.value)}"
        if _inside(axes, y):
            at = y - 0.35 * size if y - 1.2 * size > top - size else y + size
        else:
            words += " (further up)" if y < top else " (further down)"
            at = top + 0.9 * size if y < top else bottom - 0.35 * size
        while any(abs(at - other) < 1.15 * size for other in taken):
            at += 1.2 * size if at < (top + bottom) / 2 else -1.2 * size
        taken.append(at)
        _backed(figure, _clear_right(axes, at, text_width(words, size), size, drawn), at, words, size)


def _clear_right(
    axes: Axes, y: float, wide: float, size: float, drawn: tuple[Sequence[Place], Sequence[Place]]
) -> float:
    """Where a name this wide may end so that the fewest measured points lie under it, of such places the least of the
    curves; the rightmost of equals."""
    left, _, right, _ = axes.box
    ends = [right - 3 - 0.05 * step * (right - left) for step in range(20)]

    def under(end: float) -> list[int]:
        return [
            sum(end - wide - 4 < x < end + 6 and y - size - 3 < at < y + 0.3 * size + 3 for x, at in points)
            for points in drawn
        ]

    return min([end for end in ends if end - wide >= left + 2] or ends[:1], key=under)


def _inside(axes: Axes, y: float) -> bool:
    return axes.box[1] - 0.5 <= y <= axes.box[3] + 0.5


def _backed(figure: Figure, right: float, y: float, words: str, size: float) -> None:
    """A text on a piece of clear paper, so that no curve runs through it."""
    wide = text_width(words, 0.92 * size) + 3
    box = (
        (right - wide, y - 0.8 * size),
        (right + 2, y - 0.8 * size),
        (right + 2, y + 0.22 * size),
        (right - wide, y + 0.22 * size),
    )
    figure.add(Polygon((box,), "note", "paper", 0), Text(right, y, words, 0.92 * size, "limit", "end"))


def _curve(figure: Figure, axes: Axes, curve: Curve, number: int) -> None:
    role, dash = _look(curve, number)
    points = tuple(_placed(axes, curve))
    if curve.dots:
        figure.add(*(Circle(x, y, 2.6, role, "paper", 1.4) for x, y in points))
    else:
        figure.add(Line(points, role, 1.4, dash))


def _spot(figure: Figure, axes: Axes, spot: Spot) -> None:
    x, y = axes.x(spot.x), axes.y(spot.y)
    figure.add(Polygon((((x, y - 4), (x + 4, y), (x, y + 4), (x - 4, y)),), "limit", "solid", 0.4))


def _look(curve: Curve, number: int) -> tuple[str, tuple[float, ...]]:
    colour = number if curve.colour is None else curve.colour
    dash = number if curve.dash is None else curve.dash
    return f"series-{colour % 4 + 1}", DASHES[dash % len(DASHES)]


def _key(figure: Figure, plot: Plot, curves: Sequence[Curve], size: float) -> float:
    """Title, then the names in as many lines as they need; returns where the field may begin."""
    heading = f"{plot.title} [{plot.y_label}]" if plot.y_label else plot.title
    figure.add(
        Text(0, 1.2 * size, shorten(heading, 1.1 * size, figure.width, bold=True), 1.1 * size, "note", "start", True)
    )
    x, y = 0.0, 2.75 * size
    names: list[tuple[str, Curve | Spot, int]] = [(c.name, c, n) for n, c in enumerate(curves)]
    named = {spot.name: spot for spot in plot.spots}
    names += [(name, spot, 0) for name, spot in named.items()]
    for name, item, number in names:
        text = shorten(name, size, figure.width - 30)
        wide = 24 + text_width(text, size) + 12
        if x and x + wide > figure.width:
            x, y = 0.0, y + 1.4 * size
        _sample(figure, item, number, x, y - 0.3 * size)
        figure.add(Text(x + 24, y, text, size, "note", "start"))
        x += wide
    return y + 1.1 * size


def _sample(figure: Figure, item: Curve | Spot, number: int, x: float, y: float) -> None:
    if isinstance(item, Spot):
        figure.add(Polygon((((x + 10, y - 4), (x + 14, y), (x + 10, y + 4), (x + 6, y)),), "limit", "solid", 0.4))
        return
    role, dash = _look(item, number)
    if item.dots:
        figure.add(Circle(x + 10, y, 2.6, role, "paper", 1.4))
    else:
        figure.add(Line(((x, y), (x + 20, y)), role, 1.4, dash))


def _words(plot: Plot, curves: Sequence[Curve]) -> str:
    """The plot in words: where each curve begins, ends, and its extremes; then the limits and the named points."""
    said = []
    for curve in curves:
        ys = [y for _, y in _points(curve)]
        said.append(
            f"{curve.name}: from {number_text(ys[0])} to {number_text(ys[-1])}, least {number_text(min(ys))}, "
            f"greatest {number_text(max(ys))} {plot.y_label}."
        )
    said += [f"{level.name}: {number_text(level.value)} {plot.y_label}." for level in plot.levels]
    said += [f"{spot.name}: {number_text(spot.y)} {plot.y_label} at {number_text(spot.x)}." for spot in plot.spots]
    return f"{plot.title}. " + " ".join(said)
