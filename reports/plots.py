"""Plots of the stored series, in the same primitives as the drawings: on a page as SVG, in print as vectors."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reports.drawing.figure import Figure, Line, Text, shorten, text_width
from reports.words import number_text

DASHES: tuple[tuple[float, ...], ...] = ((), (5, 2), (1.5, 1.5), (7, 2, 1.5, 2))
MOST_TICKS = 6


@dataclass(frozen=True)
class Curve:
    name: str
    x: Sequence[float]
    y: Sequence[float]


def plot(
    title: str, curves: Sequence[Curve], *, x_label: str, y_label: str, width: float, height: float, size: float = 8.0
) -> Figure | None:
    """Curves over one pair of axes, told apart by dashes and names; None where there is nothing to draw."""
    kept = [curve for curve in curves if len(curve.x) > 1 and len(curve.x) == len(curve.y)][: len(DASHES)]
    if not kept:
        return None
    ticks_x = nice_ticks(min(min(c.x) for c in kept), max(max(c.x) for c in kept))
    ticks_y = nice_ticks(min(0.0, *(min(c.y) for c in kept)), max(0.0, *(max(c.y) for c in kept)))
    left = 12 + max(text_width(number_text(v), size) for v in ticks_y)
    box = (left, 2.6 * size, width - 10, height - 3.2 * size)
    figure = Figure(width, height, title, _words(title, kept, y_label))
    figure.add(
        Text(
            0,
            1.1 * size,
            shorten(f"{title} [{y_label}]", size, width * 0.5, bold=True),
            size,
            "note",
            "start",
            bold=True,
        )
    )
    _axes(figure, box, ticks_x, ticks_y, x_label, size)
    _key(figure, kept, width, size)
    for curve, dash in zip(kept, DASHES, strict=False):
        points = tuple(
            zip(
                (_at(v, ticks_x, box[0], box[2]) for v in curve.x),
                (_at(v, ticks_y, box[3], box[1]) for v in curve.y),
                strict=True,
            )
        )
        figure.add(Line(points, "series", 1.1, dash))
    return figure


def nice_ticks(low: float, high: float) -> list[float]:
    """Round values from below `low` to above `high`, six at most or so."""
    if not high > low:
        low, high = low - 0.5, low + 0.5
    rough = (high - low) / MOST_TICKS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * m for m in (1, 2, 2.5, 5, 10) if power * m >= rough * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [i * step for i in range(first, last + 1)]


def _at(value: float, ticks: Sequence[float], start: float, end: float) -> float:
    return start + (value - ticks[0]) / (ticks[-1] - ticks[0]) * (end - start)


def _axes(
    figure: Figure,
    box: tuple[float, float, float, float],
    ticks_x: Sequence[float],
    ticks_y: Sequence[float],
    x_label: str,
    size: float,
) -> None:
    left, top, right, bottom = box
    for value in ticks_y:
        y = _at(value, ticks_y, bottom, top)
        heavy = abs(value) < 1e-12
        figure.add(
            Line(((left, y), (right, y)), "zone" if heavy else "dimension", 0.8 if heavy else 0.25),
            Text(left - 4, y + 0.32 * size, number_text(value), size, "note", "end"),
        )
    for value in ticks_x:
        x = _at(value, ticks_x, left, right)
        figure.add(Line(((x, bottom), (x, bottom + 3)), "dimension", 0.5))
        half = text_width(number_text(value), size) / 2
        figure.add(Text(min(x, figure.width - half), bottom + 1.35 * size, number_text(value), size, "note"))
    figure.add(Text((left + right) / 2, bottom + 2.6 * size, x_label, size, "note"))


def _key(figure: Figure, curves: Sequence[Curve], width: float, size: float) -> None:
    x = width - 8
    for curve, dash in reversed(list(zip(curves, DASHES, strict=False))):
        name = shorten(curve.name, size, width * 0.16)
        x -= text_width(name, size)
        figure.add(
            Text(x, 1.1 * size, name, size, "note", "start"),
            Line(((x - 20, 0.8 * size), (x - 4, 0.8 * size)), "series", 1.1, dash),
        )
        x -= 28


def _words(title: str, curves: Sequence[Curve], unit: str) -> str:
    """The plot in words: where each curve begins, ends, and its extremes."""
    return f"{title}. " + " ".join(
        f"{c.name}: from {number_text(c.y[0])} to {number_text(c.y[-1])}, least {number_text(min(c.y))}, "
        f"greatest {number_text(max(c.y))} {unit}."
        for c in curves
    )
