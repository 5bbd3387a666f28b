"""The paper of every report: fonts, styles, ruled page with its margin line, header, footer and page numbers."""

import functools
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

import font_source_sans_pro
import font_source_serif_pro
from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate, Paragraph
from reportlab.platypus.flowables import Flowable

INK, FAINT, RULE, MARGIN_RULE = HexColor("#1d2430"), HexColor("#565e69"), HexColor("#b9bcc0"), HexColor("#b4483a")
SHADE = HexColor("#f3f1ec")
PAPERS = {"letter": LETTER, "a4": A4}
SANS, SANS_BOLD, SERIF, SERIF_BOLD = "Record-Sans", "Record-Sans-Semibold", "Record-Serif", "Record-Serif-Semibold"

LEFT, RIGHT, TOP, BOTTOM = 74.0, 40.0, 62.0, 58.0  # margins [pt]
MARGIN_LINE = 64.0  # the notebook's margin line, from the left edge [pt]


@functools.cache
def register_fonts() -> None:
    """Make the two type families known to reportlab; they are embedded in every file, cut down to the letters used."""
    sans, serif = font_source_sans_pro.font_files_ttf, font_source_serif_pro.font_files_ttf
    for name, path in (
        (SANS, sans["SourceSansPro"]),
        (SANS_BOLD, sans["SourceSansProSemibold"]),
        (SERIF, serif["SourceSerifPro"]),
        (SERIF_BOLD, serif["SourceSerifProSemibold"]),
    ):
        pdfmetrics.registerFont(TTFont(name, path))
    pdfmetrics.registerFontFamily(SANS, normal=SANS, bold=SANS_BOLD, italic=SANS, boldItalic=SANS_BOLD)
    pdfmetrics.registerFontFamily(SERIF, normal=SERIF, bold=SERIF_BOLD, italic=SERIF, boldItalic=SERIF_BOLD)


def _style(name: str, size: float, lead: float, **more: Any) -> ParagraphStyle:
    return ParagraphStyle(
        name, fontName=more.pop("font", SANS), fontSize=size, leading=lead, textColor=INK, splitLongWords=1, **more
    )


BODY = _style("body", 9, 12.2, spaceAfter=3)
CELL = _style("cell", 8.4, 10.4)
NUMBER = _style("number", 8.4, 10.4, alignment=TA_RIGHT)
SMALL = _style("small", 7.2, 9)
HEAD = _style("head", 7.4, 9)
HEAD_RIGHT = _style("head-right", 7.4, 9, alignment=TA_RIGHT)
WORKING = _style("working", 8, 10.6, leftIndent=10, firstLineIndent=-10)
SECTION = _style("section", 13, 16, font=SERIF_BOLD, spaceBefore=14, spaceAfter=5, keepWithNext=1)
SUBHEAD = _style("subhead", 9.4, 12, font=SANS_BOLD, spaceBefore=8, spaceAfter=3, keepWithNext=1)


@functools.cache
def _known_letters() -> frozenset[int]:
    register_fonts()
    return frozenset(pdfmetrics.getFont(SANS_BOLD).face.charToGlyph) & frozenset(
        pdfmetrics.getFont(SANS).face.charToGlyph
    )


def plain(text: object) -> str:
    """Text for drawString: what the fonts cannot show becomes its code, [U+1F600], rather than an empty box."""
    known = _known_letters()
    spaced = "".join(" " if c in "\t\n\r\u2028\u2029" else c for c in str(text))
    return "".join(c if ord(c) in known else f"[U+{ord(c):04X}]" for c in spaced)


def safe(text: object) -> str:
    """Text for a Paragraph, whose markup is XML."""
    return escape(plain(text))


def para(text: object, style: ParagraphStyle = BODY) -> Paragraph:
    return Paragraph(safe(text), style)


@dataclass(frozen=True)
class PageWords:
    """What stands on every page."""

    mark: str
    title: str
    right: str  # header, right: kind of report, revision
    footer: str  # footer, first line
    footer_small: str  # footer, second line
    subject: str
    author: str
    keywords: str
    issued: datetime


class SectionHead(Flowable):
    """A heading whose number hangs in the margin, outside the margin line."""

    keepWithNext = 1  # noqa: N815 - reportlab's name

    def __init__(self, number: str, text: str):
        super().__init__()
        self.number, self.text = number, text
        self.heading = Paragraph(safe(text), SECTION)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width, tall = self.heading.wrap(width, height)
        self.height = tall
        return self.width, self.height

    def getSpaceBefore(self) -> float:  # noqa: N802 - reportlab's name
        return float(SECTION.spaceBefore)

    def getSpaceAfter(self) -> float:  # noqa: N802 - reportlab's name
        return float(SECTION.spaceAfter)

    def draw(self) -> None:
        canvas = self.canv
        canvas.bookmarkPage(f"section-{self.number}")
        canvas.addOutlineEntry(f"{self.number}  {self.text}", f"section-{self.number}", level=0)
        self.heading.drawOn(canvas, 0, 0)
        canvas.setFont(SERIF_BOLD, SECTION.fontSize)
        canvas.setFillColor(MARGIN_RULE)
        canvas.drawRightString(-(LEFT - MARGIN_LINE) - 7, self.height - SECTION.fontSize + 0.5, self.number)
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.5)
        canvas.line(0, -2.5, self.width, -2.5)


class _NumberedCanvas(Canvas):
    """Holds the pages back until their number is known, for `page x of y`."""

    words: PageWords

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self._held: list[dict[str, Any]] = []
        _set_issue_time(self, self.words.issued)
        self.setViewerPreference("DisplayDocTitle", "true")

    def showPage(self) -> None:  # noqa: N802 - reportlab's name
        self._held.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for page in self._held:
            self.__dict__.update(page)
            _furnish(self, self.words, len(self._held))
            Canvas.showPage(self)
        Canvas.save(self)


def _set_issue_time(canvas: Canvas, issued: datetime) -> None:
    """The file says when the record was issued, not when it happened to be built: two builds give the same bytes."""
    at = issued.astimezone(UTC)
    stamp = canvas._doc._timeStamp
    stamp.t, stamp.lt = at.timestamp(), time.gmtime(at.timestamp())
    stamp.YMDhms = (at.year, at.month, at.day, at.hour, at.minute, at.second)
    stamp.dhh = stamp.dmm = 0


def _furnish(canvas: Canvas, words: PageWords, pages: int) -> None:
    wide, high = canvas._pagesize
    canvas.saveState()
    canvas.setStrokeColor(MARGIN_RULE)
    canvas.setLineWidth(0.45)
    for offset in (0.0, 2.2):
        canvas.line(MARGIN_LINE + offset, 0, MARGIN_LINE + offset, high)
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.8)
    canvas.line(LEFT, high - TOP + 12, wide - RIGHT, high - TOP + 12)
    canvas.setLineWidth(0.4)
    canvas.line(LEFT, BOTTOM - 10, wide - RIGHT, BOTTOM - 10)
    canvas.setFillColor(INK)
    _header(canvas, words, wide, high)
    canvas.setFont(SANS, 7)
    canvas.setFillColor(FAINT)
    canvas.drawString(LEFT, BOTTOM - 20, fitted(words.footer, SANS, 7, wide - LEFT - RIGHT - 70))
    canvas.drawString(LEFT, BOTTOM - 30, fitted(words.footer_small, SANS, 7, wide - LEFT - RIGHT))
    canvas.setFont(SANS_BOLD, 8)
    canvas.drawRightString(wide - RIGHT, BOTTOM - 20.5, f"page {canvas._pageNumber} of {pages}")
    canvas.restoreState()


def _header(canvas: Canvas, words: PageWords, wide: float, high: float) -> None:
    canvas.setFont(SERIF_BOLD, 11)
    mark = fitted(words.mark, SERIF_BOLD, 11, 160)
    canvas.drawString(LEFT, high - TOP + 18, mark)
    after = LEFT + pdfmetrics.stringWidth(mark, SERIF_BOLD, 11) + 10
    right = fitted(words.right, SANS, 8.4, 220)
    canvas.setFont(SANS, 8.4)
    canvas.drawRightString(wide - RIGHT, high - TOP + 18, right)
    room = wide - RIGHT - pdfmetrics.stringWidth(right, SANS, 8.4) - 14 - after
    canvas.drawString(after, high - TOP + 18, fitted(words.title, SANS, 8.4, room))


def fitted(text: str, font: str, size: float, room: float) -> str:
    """As much of one line as fits, ending in an ellipsis where it is cut."""
    shown = plain(text)
    if pdfmetrics.stringWidth(shown, font, size) <= room:
        return shown
    while shown and pdfmetrics.stringWidth(shown + "…", font, size) > room:
        shown = shown[:-1]
    return shown.rstrip() + "…"


def build_pdf(story: Sequence[Flowable], words: PageWords, paper: str) -> bytes:
    """Set the story on ruled pages. The same story and words give the same bytes."""
    register_fonts()
    wide, high = PAPERS[paper]
    out = BytesIO()
    frame = Frame(LEFT, BOTTOM, wide - LEFT - RIGHT, high - TOP - BOTTOM, 0, 0, 0, 0, id="body")
    document = BaseDocTemplate(
        out,
        pagesize=(wide, high),
        invariant=1,
        title=f"{words.mark} {words.title}".strip(),
        author=words.author,
        subject=words.subject,
        keywords=words.keywords,
        lang="en-US",
        creator="Camberbook",
        initialFontName=SANS,
        pageCompression=1,
    )
    document.addPageTemplates([PageTemplate("page", [frame])])
    canvas_class = type("RecordCanvas", (_NumberedCanvas,), {"words": words})
    document.build(list(story), canvasmaker=functools.partial(canvas_class, initialFontName=SANS))
    return out.getvalue()


def body_width(paper: str) -> float:
    """Width of the text on a page [pt]."""
    return float(PAPERS[paper][0]) - LEFT - RIGHT
