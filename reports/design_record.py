"""The design record of a piece: one PDF from the stored specification and the stored result, before it is signed."""

from reportlab.platypus import CondPageBreak, PageBreak, Spacer
from reportlab.platypus.flowables import Flowable

from engineering.core.contract import parse
from engineering.core.contract.piece import Piece
from reports import record_tables as tables
from reports.drawing import piece_figures
from reports.opening import Acceptance, RecordFacts, RecordPdf, opening, page_words
from reports.review_block import ReviewBlock
from reports.ruled import Picture
from reports.sheet import SectionHead, body_width, build_pdf, register_fonts

__all__ = ["Acceptance", "RecordFacts", "RecordPdf", "build_design_record"]
VERDICT_WORDS = {"pass": "Passes every check", "review": "For an engineer's review", "fail": "Fails"}
DRAWING_SIZE = 8.0


def build_design_record(facts: RecordFacts) -> RecordPdf:
    """Set the record. The same facts give the same bytes."""
    register_fonts()
    piece = parse(facts.document)
    width = body_width(facts.paper)
    block = ReviewBlock(width, facts.acceptance)
    verdict = str(facts.result["verdict"])
    story: list[Flowable] = [
        *opening(facts, piece, width, (verdict, VERDICT_WORDS.get(verdict, verdict))),
        *_contents(facts, piece, width, block),
    ]
    data = build_pdf(story, page_words(facts, piece), facts.paper)
    return RecordPdf(data, block.page, block.box)


def _contents(facts: RecordFacts, piece: Piece, width: float, block: ReviewBlock) -> list[Flowable]:
    """The numbered sections, in order."""
    sections: list[tuple[str, list[Flowable]]] = [
        ("The piece", _drawings(facts, piece, width)),
        ("Verdict and reasons for review", tables.reasons(facts.result, width)),
        ("Basis of design", tables.basis(facts.result, piece)),
        ("Inputs", tables.inputs(piece, width)),
        ("Checks", tables.checks(facts.result, width)),
        ("Stressing", tables.stressing(facts.result, piece, width)),
        ("Figures", tables.figures(facts.result, width)),
        ("Along the piece, in time, and to failure", tables.plots(facts.result, width)),
        ("Cautions", tables.cautions(facts.result)),
        ("Engineer's review", [block]),
        ("Appendix: the working of each check", tables.working(facts.result, width)),
    ]
    story: list[Flowable] = []
    number = 0
    for title, parts in sections:
        if not parts:
            continue
        number += 1
        story.append(PageBreak() if title.startswith("Appendix") else CondPageBreak(110))
        story += [SectionHead(str(number), title), *parts]
    return story


def _drawings(facts: RecordFacts, piece: Piece, width: float) -> list[Flowable]:
    parts: list[Flowable] = []
    for figure in piece_figures(piece, facts.document, width=width, size=DRAWING_SIZE):
        parts += [Spacer(1, 4), Picture(figure)]
    return parts
