"""A plot for a page: curves and points over two axes, as SVG without a style of its own (`production.css` has it)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

WIDTH, HEIGHT = 720, 340
LEFT, RIGHT, TOP, BOTTOM = 74, 18, 18, 48
Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Curve:
    kind: str  # predicted, limit: the class of its line
    points: Points
    label: str = ""


@dataclass(frozen=True)
class Axis:
    label: str
    least: float
    most: float

    @property
    def ticks(self) -> list[float]:
        """Four to nine round numbers."""
        span = self.most - self.least
        step = 10 ** math.floor(math.log10(span / 4))
        step *= next(factor for factor in (1, 2, 5, 10) if span / (step * factor) <= 8)
        first = math.ceil(self.least / step - 1e-9)
        return [step * k for k in range(first, math.floor(self.most / step + 1e-9) + 1)]


def plot(title: str, x: str, y: str, curves: Sequence[Curve], measured: Points = ()) -> SafeString | None:
    """None where there is nothing to draw. Axes start at 0 or lower."""
    everything = [point for curve in curves for point in curve.points] + list(measured)
    if not everything:
        return None
    across = _axis(x, [point[0] for point in everything])
    up = _axis(y, [point[1] for point in everything])
    return format_html(
        '<svg class="plot" viewBox="0 0 {} {}" width="{}" height="{}" role="img" aria-label="{}">{}{}{}{}</svg>',
        WIDTH,
        HEIGHT,
        WIDTH,
        HEIGHT,
        title,
        _frame(across, up),
        format_html_join("", '<path class="{}" d="{}"/>', ((curve.kind, _path(curve, across, up)) for curve in curves)),
        format_html_join("", '<circle class="measured" cx="{}" cy="{}" r="5"/>', _places(measured, across, up)),
        format_html_join("", '<text x="{}" y="{}">{}</text>', _labels(curves, across, up)),
    )


def _axis(label: str, values: list[float]) -> Axis:
    least, most = min(0.0, *values), max(0.0, *values)
    return Axis(label, least, most if most > least else least + 1.0)


def _place(point: tuple[float, float], across: Axis, up: Axis) -> tuple[str, str]:
    x = LEFT + (WIDTH - LEFT - RIGHT) * (point[0] - across.least) / (across.most - across.least)
    y = HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * (point[1] - up.least) / (up.most - up.least)
    return f"{x:.1f}", f"{y:.1f}"


def _places(points: Points, across: Axis, up: Axis) -> list[tuple[str, str]]:
    return [_place(point, across, up) for point in points]


def _path(curve: Curve, across: Axis, up: Axis) -> str:
    return "M" + "L".join(f"{x} {y}" for x, y in _places(curve.points, across, up))


def _labels(curves: Sequence[Curve], across: Axis, up: Axis) -> list[tuple[str, str, str]]:
    found = []
    for curve in curves:
        if curve.label and curve.points:
            _, y = _place(curve.points[0], across, up)
            found.append((str(LEFT + 8), f"{float(y) - 6:.1f}", curve.label))
    return found


def _frame(across: Axis, up: Axis) -> SafeString:
    grid = [(*_place((across.least, tick), across, up), *_place((across.most, tick), across, up)) for tick in up.ticks]
    below = [(_place((tick, up.least), across, up)[0], HEIGHT - BOTTOM + 18, f"{tick:g}") for tick in across.ticks]
    beside = [(LEFT - 8, float(_place((across.least, tick), across, up)[1]) + 4, f"{tick:g}") for tick in up.ticks]
    return format_html(
        '{}{}{}<path class="axis" d="M{} {}V{}H{}"/><text x="{}" y="{}" text-anchor="end">{}</text>'
        '<text x="{}" y="12" text-anchor="start">{}</text>',
        format_html_join("", '<path class="grid" d="M{} {}L{} {}"/>', grid),
        format_html_join("", '<text x="{}" y="{}" text-anchor="middle">{}</text>', below),
        format_html_join("", '<text x="{}" y="{}" text-anchor="end">{}</text>', beside),
        LEFT,
        TOP,
        HEIGHT - BOTTOM,
        WIDTH - RIGHT,
        WIDTH - RIGHT,
        HEIGHT - 8,
        across.label,
        6,
        up.label,
    )
