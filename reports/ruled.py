"""Tables, verdict marks, ratio bars and other things that stand on the ruled page."""

from collections.abc import Iterable, Sequence
from typing import Any

import segno
from reportlab.lib.colors import HexColor, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, Table, TableStyle
from reportlab.platypus.flowables import Flowable

from reports.drawing.figure import Figure
from reports.drawing.pdf import draw
from reports.sheet import FAINT, HEAD, HEAD_RIGHT, INK, RULE, SANS, SANS_BOLD, SHADE, safe

WORDS = {"pass": "pass", "fail": "FAIL", "review": "review", "caution": "caution", "not applicable": "n/a"}
VERDICT_INK = {
    "pass": HexColor("#23603f"),
    "fail": HexColor("#9c1c1c"),
    "review": HexColor("#7a5200"),
    "caution": HexColor("#7a5200"),
    "not applicable": FAINT,
}
HIGHEST_PICTURE = 620.0  # fits a page of any paper, with a line of heading over it [pt]
BAR_END = 1.25  # a ratio bar is this long; what is longer ends in an arrow


def ruled_table(
    head: Sequence[str],
    rows: Sequence[Sequence[Any]],
    widths: Sequence[float],
    *,
    numbers: Sequence[int] = (),
    padding: float = 2.4,
) -> Table:
    """A table with hairlines between its rows; the columns named in `numbers` stand to the right."""
    top = [
        Paragraph(f'<font name="{SANS_BOLD}">{safe(text)}</font>', HEAD_RIGHT if i in numbers else HEAD)
        for i, text in enumerate(head)
    ]
    table = Table([top, *rows], colWidths=list(widths), repeatRows=1, hAlign="LEFT")
    table.setStyle(
        TableStyle(
            [
                ("FONTNAME", (0, 0), (-1, -1), SANS),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
                ("LEFTPADDING", (0, 0), (-1, -1), 3),
                ("RIGHTPADDING", (0, 0), (-1, -1), 3),
                ("TOPPADDING", (0, 0), (-1, -1), padding),
                ("BOTTOMPADDING", (0, 0), (-1, -1), padding),
                ("LINEBELOW", (0, 0), (-1, 0), 0.9, INK),
                ("LINEBELOW", (0, 1), (-1, -1), 0.3, RULE),
                ("BACKGROUND", (0, 0), (-1, 0), SHADE),
            ]
        )
    )
    return table


# Corners and strokes of the shapes, in halves of their height; the same shapes as on the pages.
OUTLINES = {
    "review": ((0.0, 1.1), (1.1, 0.0), (0.0, -1.1), (-1.1, 0.0)),
    "fail": (
        (-0.42, 1.0),
        (0.42, 1.0),
        (1.0, 0.42),
        (1.0, -0.42),
        (0.42, -1.0),
        (-0.42, -1.0),
        (-1.0, -0.42),
        (-1.0, 0.42),
    ),
    "caution": ((0.0, 1.0), (1.0, -0.85), (-1.0, -0.85)),
}
BANG = ((0.0, 0.5, 0.0, -0.15), (0.0, -0.4, 0.0, -0.58))
STROKES = {
    "pass": ((-0.5, 0.0, -0.12, -0.4), (-0.12, -0.4, 0.52, 0.42)),
    "review": BANG,
    "fail": ((-0.42, -0.42, 0.42, 0.42), (-0.42, 0.42, 0.42, -0.42)),
    "caution": ((0.0, 0.42, 0.0, -0.18), (0.0, -0.4, 0.0, -0.58)),
}
NOT_MADE = ((-0.7, 0.0, 0.7, 0.0),)


class VerdictMark(Flowable):
    """A shape and a word: disc with tick pass, octagon with cross FAIL, diamond review, triangle caution, dash n/a."""

    def __init__(self, verdict: str, size: float = 8.4):
        super().__init__()
        self.verdict, self.size = verdict, size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return width, self.size * 1.24

    def draw(self) -> None:
        canvas, size = self.canv, self.size
        verdict_shape(canvas, self.verdict, size * 0.48, size * 0.5, size * 0.46)
        canvas.setFillColor(VERDICT_INK.get(self.verdict, INK))
        canvas.setFont(SANS_BOLD, size)
        canvas.drawString(size * 1.35, size * 0.2, WORDS.get(self.verdict, self.verdict))


def verdict_shape(canvas: Canvas, verdict: str, x: float, y: float, r: float) -> None:
    """The shape alone, about (x, y), r half its height; told apart in grey as well as in colour."""
    colour = VERDICT_INK.get(verdict, INK)
    canvas.saveState()
    canvas.setStrokeColor(colour)
    canvas.setFillColor(colour)
    canvas.setLineWidth(r * 0.26)
    corners = OUTLINES.get(verdict)
    if verdict == "pass":
        canvas.circle(x, y, r, stroke=0, fill=1)
    elif corners:
        path = canvas.beginPath()
        path.moveTo(x + corners[0][0] * r, y + corners[0][1] * r)
        for dx, dy in corners[1:]:
            path.lineTo(x + dx * r, y + dy * r)
        path.close()
        canvas.drawPath(path, stroke=int(verdict == "caution"), fill=int(verdict != "caution"))
    if verdict != "caution" and verdict in VERDICT_INK and verdict != "not applicable":
        canvas.setStrokeColor(white)
        canvas.setFillColor(white)
    canvas.lines([(x + a * r, y + b * r, x + c * r, y + d * r) for a, b, c, d in STROKES.get(verdict, NOT_MADE)])
    canvas.restoreState()


class RatioBar(Flowable):
    """Demand over capacity as a length, with a post at 1."""

    def __init__(self, ratio: float | None, verdict: str, text: str):
        super().__init__()
        self.ratio, self.verdict, self.text = ratio, verdict, text

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.room = width
        return width, 10.4

    def draw(self) -> None:
        canvas = self.canv
        canvas.setFont(SANS, 8.4)
        canvas.setFillColor(INK)
        canvas.drawRightString(28, 1.7, self.text)
        if self.ratio is None:
            return
        left, length = 33.0, self.room - 39
        canvas.setFillColor(SHADE)
        canvas.rect(left, 2, length, 5.4, stroke=0, fill=1)
        canvas.setFillColor(VERDICT_INK.get(self.verdict, INK))
        shown = min(max(self.ratio, 0.0), BAR_END) / BAR_END * length
        canvas.rect(left, 2, shown, 5.4, stroke=0, fill=1)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.9)
        canvas.line(left + length / BAR_END, 0.4, left + length / BAR_END, 9)
        if self.ratio > BAR_END:
            path = canvas.beginPath()
            path.moveTo(left + length + 5, 4.7)
            path.lineTo(left + length, 8.4)
            path.lineTo(left + length, 1)
            path.close()
            canvas.drawPath(path, stroke=0, fill=1)


class Picture(Flowable):
    """A drawing or a plot, at its own size or made smaller to fit the room."""

    def __init__(self, figure: Figure):
        super().__init__()
        self.figure = figure

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.factor = min(1.0, width / self.figure.width, HIGHEST_PICTURE / self.figure.height)
        return self.figure.width * self.factor, self.figure.height * self.factor

    def draw(self) -> None:
        self.canv.saveState()
        self.canv.scale(self.factor, self.factor)
        draw(self.canv, self.figure, 0, self.figure.height, font=SANS, bold_font=SANS_BOLD)
        self.canv.restoreState()


class SquareCode(Flowable):
    """The address of the page that verifies the record, for a camera, with its text underneath."""

    def __init__(self, address: str, size: float):
        super().__init__()
        self.address, self.size = address, size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.size, self.size

    def draw(self) -> None:
        code = segno.make(self.address, error="m", micro=False)
        rows = list(code.matrix_iter(border=0))
        cell = self.size / len(rows)
        self.canv.setFillColor(INK)
        for i, row in enumerate(rows):
            for start, end in _runs(row):
                self.canv.rect(start * cell, self.size - (i + 1) * cell, (end - start) * cell, cell, stroke=0, fill=1)


def _runs(row: Iterable[int]) -> list[tuple[int, int]]:
    runs, start = [], None
    for i, dark in enumerate([*row, 0]):
        if dark and start is None:
            start = i
        elif not dark and start is not None:
            runs.append((start, i))
            start = None
    return runs
