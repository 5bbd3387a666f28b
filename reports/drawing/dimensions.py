"""Dimension lines: chains along a row, upright ones at a side, and labels that give way to one another."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from reports.drawing.figure import Figure, Line, Measure, Text, text_width

TICK = 3.0  # half length of the slash at the end of a dimension [pt]
GAP = 3.0  # clear paper between neighbouring labels [pt]
HAIR = 0.5


SAME_IN = 1 / 64  # stations nearer to each other than this are one


def stations_of(places_in: Sequence[float], length_in: float) -> list[float]:
    """The places from end to end, once each, so that no stretch of nothing is dimensioned [in]."""
    kept = [0.0]
    for place in sorted(places_in):
        if place - kept[-1] > SAME_IN and length_in - place > SAME_IN:
            kept.append(place)
    return [*kept, length_in]


@dataclass(frozen=True)
class Label:
    """A text that wants to stand at x."""

    x: float
    text: str


def rows_of_labels(labels: Sequence[Label], size: float, left: float, right: float) -> list[tuple[int, float, Label]]:
    """(row, centre, label) of each, rows from 0, such that none overlap and all lie between left and right."""
    ends: list[float] = []
    placed = []
    for label in sorted(labels, key=lambda label: label.x):
        half = text_width(label.text, size) / 2
        centre = min(max(label.x, left + half), max(right - half, left + half))
        row = next((i for i, end in enumerate(ends) if centre - half >= end + GAP), len(ends))
        if row == len(ends):
            ends.append(left)
        ends[row] = centre + half
        placed.append((row, centre, label))
    return placed


def chain(
    figure: Figure, stations: Sequence[tuple[float, str]], y: float, size: float, limits: tuple[float, float]
) -> float:
    """A chain of dimensions on the line y; returns the height used below it.

    stations : (x on paper, text of the stretch that ENDS there); the first one's text is not used.
    Texts that fit stand above their stretch; the others go into rows below it, each tied to its stretch by a hair line.
    """
    xs = [x for x, _ in stations]
    first = len(figure.items)
    figure.add(Line(((xs[0], y), (xs[-1], y)), "dimension", HAIR))
    for x in xs:
        figure.add(_slash(x, y))
    below = []
    measured = [(start, end, text) for (start, _), (end, text) in itertools.pairwise(stations)]
    for start, end, text in measured:
        if text_width(text, size) + 2 * GAP <= end - start:
            figure.add(Text((start + end) / 2, y - 0.3 * size, text, size))
        else:
            below.append(Label((start + end) / 2, text))
    used = 0.0
    for row, centre, label in rows_of_labels(below, size, *limits):
        baseline = y + (row + 1) * 1.25 * size + 1.5
        figure.add(
            Line(((label.x, y), (centre, baseline - 0.8 * size)), "dimension", 0.3),
            Text(centre, baseline, label.text, size),
        )
        used = max(used, baseline - y + 0.3 * size)
    drawn = tuple(figure.items[first:])
    for number, (start, end, text) in enumerate(measured):
        figure.measures.append(Measure((start, y), (end, y), text, drawn if number == 0 else ()))
    return used


def ordinates(figure: Figure, labels: Sequence[Label], y: float, size: float, limits: tuple[float, float]) -> float:
    """Values that stand under their stations, in as many rows as they need; returns the height used."""
    used = 0.0
    for row, centre, label in rows_of_labels(labels, size, *limits):
        baseline = y + (row + 1) * 1.25 * size
        figure.add(Text(centre, baseline, label.text, size))
        used = max(used, baseline - y + 0.3 * size)
    return used


def upright(figure: Figure, stretches: Sequence[tuple[float, float, str]], x: float, size: float, *, side: str) -> None:
    """Upright dimensions on the line x: (top, bottom, text), text level beside the line, on `side` left or right.

    Short neighbours push their texts apart downwards; each text is tied to its stretch where it had to move.
    """
    anchor, step = ("end", -5.0) if side == "left" else ("start", 5.0)
    lowest = float("-inf")
    for top, bottom, text in sorted(stretches):
        first = len(figure.items)
        middle = (top + bottom) / 2
        at = max(middle, lowest + 1.1 * size)
        lowest = at
        figure.add(Line(((x, top), (x, bottom)), "dimension", HAIR), _slash(x, top), _slash(x, bottom))
        if at > middle + 0.1:
            figure.add(Line(((x, middle), (x + step * 0.8, at)), "dimension", 0.3))
        if text:
            figure.add(Text(x + step, at + 0.32 * size, text, size, anchor=anchor))
            figure.measures.append(Measure((x, bottom), (x, top), text, tuple(figure.items[first:])))


def extension(figure: Figure, x: float, top: float, bottom: float) -> None:
    """The thin line that carries a station down to its dimension."""
    figure.add(Line(((x, top), (x, bottom)), "dimension", 0.3))


def _slash(x: float, y: float) -> Line:
    return Line(((x - TICK * 0.7, y + TICK * 0.7), (x + TICK * 0.7, y - TICK * 0.7)), "dimension", 0.9)
