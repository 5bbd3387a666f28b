"""Plots on a page: the drawing as SVG, and the same numbers in a table that says where each lies on the drawing."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from reports.drawing.svg import to_svg
from reports.plots import Curve, Drawn, Plot, draw_plot
from reports.words import number_text

WIDTH, HEIGHT, LETTERS = 760.0, 300.0, 12.0  # of the view box [pt]


@dataclass(frozen=True)
class Cell:
    text: str
    at: str  # height on the paper, empty where there is no value


@dataclass(frozen=True)
class TableRow:
    x: str
    at: str
    cells: list[Cell]


@dataclass(frozen=True)
class PagePlot:
    key: str
    title: str
    unit: str
    x_label: str
    note: str
    svg: SafeString
    top: str
    bottom: str
    names: list[str]
    rows: list[TableRow]
    marks: list[tuple[str, str]]  # limits and named points, with their values


def page_plots(plots: Sequence[Plot], prefix: str = "plot") -> list[PagePlot]:
    """Those that have something to show. `prefix` must be unique on the page."""
    drawn = [(plot, draw_plot(plot, width=WIDTH, height=HEIGHT, size=LETTERS)) for plot in plots]
    return [_page_plot(plot, found, f"{prefix}-{plot.key}") for plot, found in drawn if found]


def _page_plot(plot: Plot, drawn: Drawn, key: str) -> PagePlot:
    marks = [(level.name, number_text(level.value)) for level in plot.levels]
    marks += [(spot.name, f"{number_text(spot.y)} at {number_text(spot.x)}") for spot in plot.spots]
    return PagePlot(
        key=key,
        title=plot.title,
        unit=plot.y_label,
        x_label=plot.x_label,
        note=plot.note,
        svg=mark_safe(to_svg(drawn.figure, ident=key)),  # noqa: S308  escaped by to_svg
        top=f"{drawn.axes.box[1]:.1f}",
        bottom=f"{drawn.axes.box[3]:.1f}",
        names=[curve.name for curve in drawn.shown],
        rows=_rows(drawn),
        marks=marks,
    )


def _rows(drawn: Drawn) -> list[TableRow]:
    """A row for each place; where the curves share their places it holds the values of all of them."""
    first = drawn.shown[0]
    if all(list(curve.x) == list(first.x) for curve in drawn.shown):
        return [_row(drawn, x, [(curve.y[i]) for curve in drawn.shown]) for i, x in enumerate(first.x)]
    rows = []
    for number, curve in enumerate(drawn.shown):
        rows += [_row(drawn, x, _alone(drawn.shown, number, y)) for x, y in zip(curve.x, curve.y, strict=True)]
    return rows


def _alone(curves: Sequence[Curve], number: int, y: float | None) -> list[float | None]:
    return [y if i == number else None for i in range(len(curves))]


def _row(drawn: Drawn, x: float, values: Sequence[float | None]) -> TableRow:
    cells = [Cell(number_text(v), "" if v is None else f"{drawn.axes.y(v):.1f}") for v in values]
    return TableRow(number_text(x), f"{drawn.axes.x(x):.1f}", cells)
