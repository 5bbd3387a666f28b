"""How every record begins: what it is told, the words on its pages, and the head of its first page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from reportlab.platypus import Paragraph, Spacer, Table, TableStyle
from reportlab.platypus.flowables import Flowable

from engineering.core.contract.piece import Piece
from reports.ruled import VERDICT_INK, SquareCode, verdict_shape
from reports.sheet import BODY, INK, SANS, SANS_BOLD, SERIF, SERIF_BOLD, SMALL, PageWords, fitted, para, safe

if TYPE_CHECKING:
    from reports.entries import Floor


@dataclass(frozen=True)
class Acceptance:
    """Who accepted this revision in the shop's book, as on record that day."""

    name: str
    role: str
    licence: str
    jurisdiction: str
    verdict: str
    on: str


@dataclass(frozen=True)
class RecordFacts:
    """Everything a design record says. The document and the result are the stored ones."""

    number: str  # DR-000123
    shop: str
    shop_address: str
    revision: str  # letter
    revision_note: str
    order: str  # number and client
    site: str
    issued: datetime  # when the record was asked for, in the shop's time zone
    issued_by: str
    check_run: int
    document: Mapping[str, Any]
    result: Mapping[str, Any]
    verify_address: str
    acceptance: Acceptance | None
    paper: str  # letter, a4
    kind: str = "Design record"
    piece: str = ""  # C-104/1, where the record is of one piece
    floor: Floor | None = None  # what was written down about that piece
    sources: tuple[Mapping[str, Any], ...] = ()  # the rows behind it: {table, row, sha256}


@dataclass(frozen=True)
class RecordPdf:
    """The unsigned file, and where the engineer's signature field belongs in it."""

    data: bytes
    field_page: int | None = None  # from 0; None where no field is wanted
    field_box: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)  # left, bottom, right, top [pt]


def page_words(facts: RecordFacts, piece: Piece) -> PageWords:
    issued = facts.issued.strftime("%Y-%m-%d")
    return PageWords(
        mark=facts.piece or piece.mark,
        title=piece.title,
        right=f"{facts.kind} · revision {facts.revision} · {facts.number}",
        footer=f"{facts.number} · issued {issued} · engine {facts.result['engine']} · check run {facts.check_run}",
        footer_small=f"verify: {facts.verify_address} · specification {facts.result['specification']}",
        subject=f"{facts.kind} {facts.number}, revision {facts.revision}",
        author=facts.shop,
        keywords=f"{facts.number}, {facts.result['specification']}, engine {facts.result['engine']}",
        issued=facts.issued,
    )


class TitleBlock(Flowable):
    """Shop, mark, title and verdict at the head of the first page; the square code at its right."""

    def __init__(self, facts: RecordFacts, piece: Piece, width: float, badge: tuple[str, str] | None):
        super().__init__()
        self.badge = badge
        self.facts, self.piece, self.room = facts, piece, width
        self.title = Paragraph(
            safe(piece.title or "Untitled piece"), BODY.clone("title", fontName=SERIF, fontSize=14, leading=17)
        )
        self.address = Paragraph(safe(facts.shop_address), SMALL)
        self.shop = Paragraph(safe(facts.shop), BODY.clone("shop", fontName=SERIF_BOLD, fontSize=12, leading=15))

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        text = self.room - 96
        self.highs = [part.wrap(text, height)[1] for part in (self.shop, self.address, self.title)]
        self.tall = max(sum(self.highs) + 40 + 28, 104)
        return self.room, self.tall

    def draw(self) -> None:
        canvas, y = self.canv, self.tall
        for part, high in zip((self.shop, self.address), self.highs, strict=False):
            y -= high
            part.drawOn(canvas, 0, y)
        y -= 40
        canvas.setFillColor(INK)
        canvas.setFont(SERIF_BOLD, 30)
        canvas.drawString(0, y + 4, fitted(self.facts.piece or self.piece.mark, SERIF_BOLD, 30, self.room - 110))
        y -= self.highs[2]
        self.title.drawOn(canvas, 0, y)
        if self.badge:
            self._verdict(y - 26, *self.badge)
        SquareCodeAt(self.facts.verify_address, self.facts.number, self.room - 78, self.tall - 78).draw_on(canvas)

    def _verdict(self, y: float, verdict: str, words: str) -> None:
        canvas = self.canv
        canvas.setStrokeColor(VERDICT_INK.get(verdict, INK))
        canvas.setLineWidth(1.2)
        wide = canvas.stringWidth(words, SANS_BOLD, 11) + 38
        canvas.roundRect(0, y, wide, 20, 3, stroke=1, fill=0)
        verdict_shape(canvas, verdict, 14, y + 10, 5.4)
        canvas.setFillColor(VERDICT_INK.get(verdict, INK))
        canvas.setFont(SANS_BOLD, 11)
        canvas.drawString(26, y + 6.2, words)


@dataclass(frozen=True)
class SquareCodeAt:
    """The square code with a line of words under it."""

    address: str
    number: str
    x: float
    y: float

    def draw_on(self, canvas: Any) -> None:
        code = SquareCode(self.address, 78)
        code.canv = canvas
        canvas.saveState()
        canvas.translate(self.x, self.y)
        code.draw()
        canvas.setFont(SANS_BOLD, 7)
        canvas.drawCentredString(39, -10, "verify this record")
        canvas.drawCentredString(39, -19, self.number)
        canvas.linkURL(self.address, (0, -20, 78, 78), relative=1)
        canvas.restoreState()


def opening(facts: RecordFacts, piece: Piece, width: float, badge: tuple[str, str] | None) -> list[Flowable]:
    """The head of the first page. `badge`: a verdict, whose shape is drawn, and its words."""
    strip = [
        ("Record", facts.number),
        ("Revision", facts.revision),
        ("Issued", facts.issued.strftime("%Y-%m-%d %H:%M %Z")),
        ("Order", facts.order),
        ("Site", facts.site or "—"),
        ("Issued by", facts.issued_by),
    ]
    cells = [
        [para(name, SMALL) for name, _ in strip],
        [para(value, BODY.clone("strip", fontName=SANS_BOLD)) for _, value in strip],
    ]
    table = Table(cells, colWidths=[width * part for part in (0.14, 0.1, 0.19, 0.22, 0.2, 0.15)], hAlign="LEFT")
    table.setStyle(
        TableStyle(
            [
                ("FONTNAME", (0, 0), (-1, -1), SANS),
                ("LINEABOVE", (0, 0), (-1, 0), 0.9, INK),
                ("LINEBELOW", (0, 1), (-1, 1), 0.9, INK),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 6),
                ("TOPPADDING", (0, 0), (-1, 0), 3),
                ("BOTTOMPADDING", (0, 0), (-1, 0), 0),
                ("TOPPADDING", (0, 1), (-1, 1), 0),
                ("BOTTOMPADDING", (0, 1), (-1, 1), 1),
            ]
        )
    )
    parts: list[Flowable] = [TitleBlock(facts, piece, width, badge), Spacer(1, 8), table, Spacer(1, 4)]
    if facts.revision_note and not facts.piece:
        parts.append(para(f"Revision {facts.revision}: {facts.revision_note}"))
    return parts
