"""The loads over an elevation: their words, and rows in which none hides another."""

from collections.abc import Mapping, Sequence
from typing import Any

from engineering.core.contract.piece import Load, Piece
from reports.drawing import symbols
from reports.drawing.figure import Figure, Text, shorten, text_width
from reports.drawing.view import View

UNITS = {
    ("area", "us"): "psf",
    ("line", "us"): "lbf/ft",
    ("point", "us"): "lbf",
    ("area", "si"): "kPa",
    ("line", "si"): "kN/m",
    ("point", "si"): "N",
}
MOST_ROWS = 12


def load_text(load: Load, given: Mapping[str, Any], units: str) -> str:
    """counter use 40 psf live — the value as the document writes it."""
    value = given.get("value")
    figure = value.strip() if isinstance(value, str) else f"{value:,.10g} {UNITS[load.kind, units]}".replace("-", "−")
    words = [load.label.strip(), figure, load.case]
    if load.anywhere:
        words.append("anywhere")
    if load.alone:
        words.append("alone")
    return " ".join(w for w in words if w)


def draw_loads(
    figure: Figure,
    piece: Piece,
    given: Sequence[Mapping[str, Any]],
    view: View,
    *,
    top: float,
    size: float,
    limits: tuple[float, float],
) -> float:
    """Draw the loads in rows downwards from `top`; returns the y of the last row's tips."""
    rows = load_rows(piece, given, view, size, limits)
    y = top
    for row in rows[:MOST_ROWS]:
        deep = max(symbols.POINT_ARROW if item[0].kind == "point" else symbols.SPREAD_ARROW for item in row)
        tips = y + 1.25 * size + deep
        for load, text, left, right, text_x in row:
            high = symbols.POINT_ARROW if load.kind == "point" else symbols.SPREAD_ARROW
            with figure.part(f"loads[{piece.loads.index(load)}]"):
                _draw(figure, load, view, left, right, tips)
                figure.add(Text(text_x, tips - high - 0.35 * size, text, size, "load", "start"))
        y = tips + 4
    if len(rows) > MOST_ROWS:
        hidden = sum(len(row) for row in rows[MOST_ROWS:])
        figure.add(Text(limits[0], y + size, f"and {hidden} more loads, in the list of loads", size, "note", "start"))
        y += 1.4 * size
    return y


Placed = tuple[Load, str, float, float, float]  # load, text, left and right of the stretch, left of the text


def load_rows(
    piece: Piece, given: Sequence[Mapping[str, Any]], view: View, size: float, limits: tuple[float, float]
) -> list[list[Placed]]:
    """Loads in the fewest rows such that neither symbols nor texts of a row touch, in the order of the document."""
    rows: list[list[Placed]] = []
    for index, load in enumerate(piece.loads):
        text = shorten(
            load_text(load, given[index] if index < len(given) else {}, piece.units), size, limits[1] - limits[0]
        )
        left, right = _stretch(load, piece, view)
        width = text_width(text, size)
        text_x = left if load.kind != "point" or load.anywhere else left - width / 2
        text_x = max(limits[0], min(text_x, limits[1] - width))
        placed: Placed = (load, text, left, right, text_x)
        row = next((row for row in rows if all(_clear(placed, other, size) for other in row)), None)
        if row is None:
            rows.append([placed])
        else:
            row.append(placed)
    return rows


def _stretch(load: Load, piece: Piece, view: View) -> tuple[float, float]:
    if load.kind == "point" and load.at_in is not None and not load.anywhere:
        return view.x(load.at_in), view.x(load.at_in)
    start, end = (0.0, piece.length_in) if load.anywhere else (load.from_in, load.to_in)
    return view.x(start), view.x(end)


def _clear(one: Placed, other: Placed, size: float) -> bool:
    def extent(placed: Placed) -> tuple[float, float]:
        _, text, left, right, text_x = placed
        return min(left - 4, text_x), max(right + 4, text_x + text_width(text, size))

    (a, b), (c, d) = extent(one), extent(other)
    return b + size < c or d + size < a


def _draw(figure: Figure, load: Load, view: View, left: float, right: float, tips: float) -> None:
    upwards = load.value < 0
    if load.kind == "point":
        where = (left + right) / 2
        symbols.point_load(figure, where, tips, upwards=upwards, anywhere=(left, right) if load.anywhere else None)
    else:
        symbols.spread_load(figure, left, right, tips, upwards=upwards, dashed=load.case == "live")
