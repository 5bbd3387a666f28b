"""The form drawing: the piece as installed, turned over as it lies in a face-down form, and what to cut for it.

Lengths and numbers of parts are counted from the geometry of the specification; every engineering figure is the
result's.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Any

from reportlab.platypus import CondPageBreak, PageBreak, Spacer
from reportlab.platypus.flowables import Flowable

from engineering.core.contract import parse
from engineering.core.contract.piece import Piece, RingRole, Rod
from reports.drawing.figure import Figure
from reports.drawing.form import form_figures
from reports.drawing.lengths import length_text
from reports.drawing.view import axis_points
from reports.floor_records import source_table
from reports.opening import RecordFacts, RecordPdf, opening, page_words
from reports.ruled import Picture, ruled_table
from reports.sheet import (
    CELL,
    INK,
    NUMBER,
    SANS_BOLD,
    SUBHEAD,
    SectionHead,
    body_width,
    build_pdf,
    fitted,
    para,
    register_fonts,
)
from reports.words import figure_text

SIZE = 8.0


class Banner(Flowable):
    """Large letters across the page: nobody shall take one view for the other."""

    def __init__(self, width: float, large: str, small: str):
        super().__init__()
        self.room, self.large, self.small = width, large, small

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.room, 58.0

    def draw(self) -> None:
        canvas = self.canv
        canvas.setFillColor(INK)
        canvas.rect(0, 4, self.room, 50, stroke=0, fill=1)
        canvas.setFillColorRGB(1, 1, 1)
        canvas.setFont(SANS_BOLD, 25)
        canvas.drawString(10, 27, fitted(self.large, SANS_BOLD, 25, self.room - 20))
        canvas.setFont(SANS_BOLD, 9.4)
        canvas.drawString(10, 12, fitted(self.small, SANS_BOLD, 9.4, self.room - 20))


def build_form_drawing(facts: RecordFacts) -> RecordPdf:
    """Set the drawing. The same facts give the same bytes."""
    register_fonts()
    piece, width = parse(facts.document), body_width(facts.paper)
    story: list[Flowable] = opening(facts, piece, width, None)
    installed = (
        "cast face down: the form is made from the turned-over pages" if piece.face_down else "and as cast, face up"
    )
    story += [Spacer(1, 6), Banner(width, "AS INSTALLED", f"{piece.mark}, {installed}")]
    story += _pictures(form_figures(piece, turned=False, width=width, size=SIZE))
    if piece.face_down:
        words = "Top face on the bed of the form. Left stays left; the front edge lies at the far side."
        story += [PageBreak(), Banner(width, "TURNED OVER – AS CAST, FACE DOWN", words)]
        story += _pictures(form_figures(piece, turned=True, width=width, size=SIZE))
    story += [
        PageBreak(),
        SectionHead("Q", "What to cut and to have at hand"),
        *_quantities(piece, facts.result, width),
    ]
    story += [CondPageBreak(120), SectionHead("S", "Where this comes from"), *source_table(facts, width)]
    return RecordPdf(build_pdf(story, page_words(facts, piece), facts.paper))


def _pictures(figures: Iterable[Figure]) -> list[Flowable]:
    parts: list[Flowable] = []
    for figure in figures:
        parts += [Spacer(1, 8), Picture(figure)]
    return parts


def _quantities(piece: Piece, result: Mapping[str, Any], width: float) -> list[Flowable]:
    figures = result["figures"]
    parts: list[Flowable] = [
        para(
            f"For one piece. Concrete to batch {figure_text(figures.get('batch.volume', {}))}, weight "
            f"{figure_text(figures.get('weight', {}))}: both as the checks have them. Cut nothing from a drawing that "
            "is superseded: the square code on the first page says whether this one still stands."
        )
    ]
    lists = (
        ("Rods", ("rods", "thread and grade", "length to cut, each", "number"), _rods(piece, figures)),
        ("Sleeves", ("of rods", "outside", "length, each, between anchor faces", "number"), _sleeves(piece)),
        ("Plates", ("of rods", "width × height × thickness", "hole", "number"), _plates(piece)),
        ("Nuts", ("of rods", "thread", "", "number"), _nuts(piece)),
        ("Pocket blocks", ("of rods", "width × height", "depth from the end face", "number"), _pockets(piece)),
        ("Foam blocks", ("from the left end", "width × height", "length", "number"), foam_blocks(piece)),
    )
    for title, head, rows in lists:
        if rows:
            cells = [[*(para(text, CELL) for text in row[:3]), para(row[3], NUMBER)] for row in rows]
            table = ruled_table(head, cells, [width * p for p in (0.24, 0.34, 0.3, 0.12)], numbers=(3,))
            parts += [CondPageBreak(70), para(title, SUBHEAD), table]
    return parts


Part = tuple[str, str, str, str]


def _grouped(rods: Sequence[Rod], piece: Piece, likeness: Any) -> dict[Any, list[Rod]]:
    groups: dict[Any, list[Rod]] = {}
    for rod in rods:
        groups.setdefault(likeness(rod), []).append(rod)
    return groups


def _marks(rods: Sequence[Rod]) -> str:
    return ", ".join(rod.mark for rod in rods)


def _rods(piece: Piece, figures: Mapping[str, Any]) -> list[Part]:
    def cut(rod: Rod) -> str:
        return figure_text(figures.get(f"rod.{rod.mark}.length", {}))

    groups = _grouped(piece.rods, piece, lambda r: (r.thread.name, r.grade.name, cut(r)))
    return [(_marks(g), f"{thread}, {grade}", length, str(len(g))) for (thread, grade, length), g in groups.items()]


def _sleeves(piece: Piece) -> list[Part]:
    groups = _grouped(piece.rods, piece, lambda r: (_text(r.sleeve.outside_in, piece), _text(axis_length(r), piece)))
    return [(_marks(g), outside, length, str(len(g))) for (outside, length), g in groups.items()]


def _plates(piece: Piece) -> list[Part]:
    groups = _grouped(
        piece.rods, piece, lambda r: (r.anchor.width_in, r.anchor.height_in, r.anchor.thickness_in, r.anchor.hole_in)
    )
    return [
        (_marks(g), " × ".join(_text(v, piece) for v in (w, h, t)), _text(hole, piece), str(2 * len(g)))
        for (w, h, t, hole), g in groups.items()
    ]


def _nuts(piece: Piece) -> list[Part]:
    groups = _grouped(piece.rods, piece, lambda r: r.thread.name)
    return [(_marks(g), thread, "one at each end", str(2 * len(g))) for thread, g in groups.items()]


def _pockets(piece: Piece) -> list[Part]:
    groups: dict[tuple[float, float, float], list[str]] = {}
    for rod in piece.rods:
        if rod.pocket is None:
            continue
        for deep, end in ((rod.profile[0][0], "left"), (piece.length_in - rod.profile[-1][0], "right")):
            if deep > 0:
                groups.setdefault((rod.pocket.width_in, rod.pocket.height_in, round(deep, 6)), []).append(
                    f"{rod.mark} {end}"
                )
    return [
        (", ".join(names), f"{_text(w, piece)} × {_text(h, piece)}", _text(deep, piece), str(len(names)))
        for (w, h, deep), names in groups.items()
    ]


def foam_blocks(piece: Piece) -> list[Part]:
    """One row for each core that runs on unchanged through neighbouring zones, like ones together."""
    runs: list[tuple[float, float, tuple[tuple[float, float], ...]]] = []
    for zone in piece.zones:
        for ring in zone.rings:
            if ring.role is not RingRole.CORE:
                continue
            going_on = next((i for i, r in enumerate(runs) if r[1] == zone.start_in and r[2] == ring.points), None)
            if going_on is None:
                runs.append((zone.start_in, zone.end_in, ring.points))
            else:
                runs[going_on] = (runs[going_on][0], zone.end_in, ring.points)
    counted: dict[Part, int] = {}
    for start, end, points in runs:
        wide = max(z for z, _ in points) - min(z for z, _ in points)
        high = max(y for _, y in points) - min(y for _, y in points)
        size = f"{_text(wide, piece)} × {_text(high, piece)}"
        row = (f"{_text(start, piece)} to {_text(end, piece)}", size, _text(end - start, piece), "")
        counted[row] = counted.get(row, 0) + 1
    return [(where, size, long, str(number)) for (where, size, long, _), number in counted.items()]


def axis_length(rod: Rod) -> float:
    """Length of the rod's axis between its anchor faces, as drawn [in]."""
    return sum(math.dist(a, b) for a, b in pairwise(axis_points(rod)))


def _text(value_in: float, piece: Piece) -> str:
    return length_text(value_in, piece.units) + (" mm" if piece.units == "si" else "")
