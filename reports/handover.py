"""What the client gets: the handover record, and the label that goes under the piece."""

from __future__ import annotations

from reportlab.platypus import PageBreak, Paragraph, Spacer
from reportlab.platypus.flowables import Flowable

from engineering.core.contract import parse
from engineering.core.contract.piece import Piece
from reports import after_tables, batch_tables
from reports import inputs as input_rows
from reports.drawing.elevation import draw_elevation
from reports.drawing.lengths import length_text
from reports.entries import Floor
from reports.floor_records import Badge, Section, source_table, strength_rows
from reports.opening import RecordFacts, RecordPdf, page_words
from reports.ruled import Picture, SquareCode, ruled_table
from reports.sheet import (
    BODY,
    CELL,
    INK,
    MARGIN_RULE,
    NUMBER,
    SANS,
    SANS_BOLD,
    SERIF_BOLD,
    SUBHEAD,
    body_width,
    build_pdf,
    fitted,
    para,
    register_fonts,
    safe,
)
from reports.shown import pairs, percent, shown
from reports.sign_off import SignOff
from reports.words import figure_text, number_text

NEVER = (
    "Never cut, drill, core, notch or chase into this piece, anywhere, for anything: rods under thousands of pounds of "
    "force run through it, and one that is cut leaves the end of the piece like a bolt from a bow. Never loosen or "
    "remove the nuts or caps at its ends."
)
CARE = (
    "Supports stay where the drawing has them, level and with their full bearing. Nobody stands, climbs or dances on "
    "it unless the loads below say so. Spread heavy things on a board.",
    "Keep the caps at the ends closed and dry. A rust stain, a crack that was not there before, a new sag or a rattle "
    "is a reason to take the load off, keep people from under it, and call.",
    "Clean with water and mild soap; acids and strong alkalis eat the surface. Seal it as the finisher advised.",
    "Before moving it, taking it down or throwing it away: ask first. It is lifted at its lift points only, and its "
    "rods are let down by people who know how before it is ever broken up.",
)


def handover_record(facts: RecordFacts, piece: Piece, width: float) -> tuple[Badge, list[Section]]:
    floor = facts.floor or Floor()
    figures = facts.result["figures"]
    about = [
        ("piece", f"{facts.piece}, {piece.title or 'untitled'}"),
        ("length", length(piece.length_in, piece)),
        ("weight, concrete and core", figure_text(figures.get("weight", {}))),
        ("rods inside, under force", ", ".join(rod.mark for rod in piece.rods) or "none"),
        ("poured", floor.pour.at if floor.pour else "not noted"),
        ("surroundings it is made for", piece.environment.exposure.replace("-", ", ")),
        ("life it is checked for", f"{piece.criteria.life_years:g} years"),
    ]
    loads = facts.document.get("loads") or []
    drawing = [Picture(draw_elevation(piece, loads, width=width, size=8.0, enlarge=False))]
    contact = facts.shop_address or "the address on the invoice"
    return None, [
        ("What it is", [pairs(about, width), Spacer(1, 6), *drawing]),
        ("Never", [Paragraph(f'<font name="{SANS_BOLD}">{safe(NEVER)}</font>', BODY)]),
        ("Where it is supported", _supports(floor, piece, width)),
        ("What it may carry", _loads(piece, width)),
        ("Care", [para(f"—  {text}") for text in CARE]),
        (
            "Whom to ask",
            [
                para(
                    f"{facts.shop}, {contact}. Give the number of this record, {facts.number}, and the mark "
                    f"{facts.piece}. For any change of load, support or use ask a licensed engineer; local codes and "
                    "the authority having jurisdiction decide."
                )
            ],
        ),
        ("Received", [SignOff(width, ("For the client", "For the shop"))]),
        ("As built", _as_built(facts, floor, piece, width)),
    ]


def length(value_in: float, piece: Piece) -> str:
    return length_text(value_in, piece.units) + (" mm" if piece.units == "si" else "")


def _supports(floor: Floor, piece: Piece, width: float) -> list[Flowable]:
    measured = floor.installation.values["supports_in"] if floor.installation else []
    rows = [
        (
            para(f"S{n + 1}", CELL),
            para(length(s.at_in, piece), NUMBER),
            para(length(measured[n], piece) if n < len(measured) else "not measured yet", NUMBER),
            para(length(s.bearing_in, piece), NUMBER),
            para("also held down" if s.hold_down else "", CELL),
        )
        for n, s in enumerate(piece.supports)
    ]
    head = ("", "from the left end, drawn", "from the left end, measured", "bearing along the piece", "")
    table = ruled_table(head, rows, [width * p for p in (0.08, 0.25, 0.27, 0.22, 0.18)], numbers=(1, 2, 3))
    by = floor.installation
    note = [para(f"Measured {by.at} by {by.by}.")] if by else []
    words = "Here and nowhere else. A support added in the middle changes every force in the piece."
    return [para(words), table, *note]


def _loads(piece: Piece, width: float) -> list[Flowable]:
    rows = [tuple(para(text, CELL) for text in row) for row in input_rows.load_rows(piece)]
    if not rows:
        return [para("Nothing but its own weight.")]
    head = ("load", "dead or live", "at most", "where", "remarks")
    words = (
        "The piece was checked for these loads, together with its own weight, and for no others. “Alone” means without "
        "the other live loads at the same time."
    )
    return [para(words), ruled_table(head, rows, [width * p for p in (0.28, 0.12, 0.18, 0.24, 0.18)])]


def _as_built(facts: RecordFacts, floor: Floor, piece: Piece, width: float) -> list[Flowable]:
    rows = [("specification", f"{facts.result['specification']}, revision {facts.revision}")]
    if floor.pour:
        rows.append(("batch, mix", f"{floor.pour.values['batch']}, {floor.pour.values['mix'] or 'mix not noted'}"))
    if floor.rounds:
        last = floor.rounds[-1]
        crowns = [r.crown_in for r in last.readings if r.counts and r.crown_in is not None]
        within = "every rod within tolerance" if last.all_within else "NOT every rod within tolerance"
        rows.append(("stressed", f"{last.began} to {last.finished or '—'}, {within}"))
        rows.append(("crown after the last turn", shown(crowns[-1], "length", piece) if crowns else "not measured"))
    for test in floor.load_tests[-1:]:
        said = "accepted" if test.values["accepted"] else "NOT accepted"
        load, sag = shown(test.values["load_lbf"], "force", piece), shown(test.values["deflection_in"], "length", piece)
        left = test.values["residual_in"]
        after = f", left after 24 hours {shown(left, 'length', piece)}" if left is not None else ""
        rows.append(("load test", f"{test.at}: {load}, deflection {sag}{after}, {said}"))
    ticket = floor.batch.ticket
    if ticket:
        ratio, share = ticket.values["water_to_cementitious"], ticket.values["fibre_share"]
        weighed = f"{number_text(ratio)}, {percent(share)} of the weight"
        rows.append(("water to cementitious, fibre, as weighed", weighed))
    for plan in floor.load_plans[-1:]:
        asked = shown(plan.plan.values["total_lbf"], "force", piece)
        rows.append(("load the test asked for, besides self weight", asked))
    return [
        pairs(rows, width),
        Spacer(1, 6),
        *strength_rows(floor.strengths, piece, width),
        *batch_tables.tests(floor.batch, piece, width),
        *_titled("Lift-off: the force really in the rods", after_tables.lift_offs(floor.after.lift_offs, piece, width)),
        *_titled("Stressed again", after_tables.restressings(floor.after.restressings, piece, width)),
        *_titled("Ends finished", after_tables.finish(floor.after.finishings, width)),
        *_titled("Rods, sleeves and anchors", batch_tables.lots(floor.batch.lots, width)),
        *_titled("Slackened, broken, incidents", after_tables.incidents(floor.after.incidents, width)),
        *_titled("Not as drawn, and who decided", after_tables.deviations(floor.after, width)),
    ]


def _titled(title: str, parts: list[Flowable]) -> list[Flowable]:
    return [para(title, SUBHEAD), *parts] if parts else []


class Label(Flowable):
    """The label itself, 6 × 4 in, with marks to cut it out along."""

    WIDE, HIGH = 432.0, 288.0

    def __init__(self, facts: RecordFacts, piece: Piece):
        super().__init__()
        self.facts, self.piece = facts, piece

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.WIDE, self.HIGH + 16

    def draw(self) -> None:
        canvas, facts = self.canv, self.facts
        canvas.translate(16, 8)
        self._cut_marks()
        canvas.setFillColor(INK)
        canvas.setFont(SANS_BOLD, 11)
        canvas.drawString(14, self.HIGH - 24, fitted(facts.shop, SANS_BOLD, 11, 290))
        canvas.setFont(SERIF_BOLD, 40)
        canvas.drawString(14, self.HIGH - 70, fitted(facts.piece, SERIF_BOLD, 40, 290))
        canvas.setFont(SANS, 10)
        y = self.HIGH - 88
        for name, value in self._lines():
            canvas.setFont(SANS_BOLD, 10)
            canvas.drawString(14, y, name)
            canvas.setFont(SANS, 10)
            canvas.drawString(104, y, fitted(value, SANS, 10, 196))
            y -= 14
        code = SquareCode(facts.verify_address, 108)
        code.canv = canvas
        canvas.saveState()
        canvas.translate(self.WIDE - 122, self.HIGH - 126)
        code.draw()
        canvas.setFont(SANS_BOLD, 9)
        canvas.drawCentredString(54, -12, facts.number)
        canvas.restoreState()
        canvas.setFont(SANS, 7.5)
        canvas.drawString(14, 80, fitted(f"verify: {facts.verify_address}", SANS, 7.5, self.WIDE - 28))
        self._warning()

    def _lines(self) -> list[tuple[str, str]]:
        facts, piece, floor = self.facts, self.piece, self.facts.floor or Floor()
        lift = piece.handling.lift_points_in if piece.handling else ()
        return [
            ("piece", piece.title or "untitled"),
            ("order", facts.order),
            ("revision", facts.revision),
            (
                "poured",
                f"{floor.pour.at[:10]}, batch {floor.pour.values['batch']}" if floor.pour else "________________",
            ),
            ("weight", figure_text(facts.result["figures"].get("weight", {}))),
            ("lift at", " and ".join(length(x, piece) for x in lift) + " from the left" if lift else "ask the shop"),
            ("supports at", ", ".join(length(s.at_in, piece) for s in piece.supports)),
        ]

    def _warning(self) -> None:
        canvas = self.canv
        canvas.setFillColor(MARGIN_RULE)
        canvas.rect(0, 0, self.WIDE, 74, stroke=0, fill=1)
        canvas.setFillColorRGB(1, 1, 1)
        rods = bool(self.piece.rods)
        canvas.setFont(SANS_BOLD, 24)
        canvas.drawString(14, 44, "NEVER CUT OR DRILL")
        canvas.setFont(SANS_BOLD, 11)
        words = "Rods under high force inside. Ask the shop before any work on this piece."
        canvas.drawString(14, 26, words if rods else "Ask the shop before any work on this piece.")
        canvas.drawString(14, 11, fitted(self.facts.shop_address, SANS_BOLD, 11, self.WIDE - 28))

    def _cut_marks(self) -> None:
        canvas = self.canv
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.5)
        canvas.rect(0, 0, self.WIDE, self.HIGH, stroke=1, fill=0)
        for x in (0.0, self.WIDE):
            for y in (0.0, self.HIGH):
                out = -8 if x == 0 else 8
                canvas.line(x, y, x + out, y)
                canvas.line(x, y, x, y + (-8 if y == 0 else 8))


def build_label(facts: RecordFacts) -> RecordPdf:
    """A sheet with the label twice: one under the piece, one for the crate; then where it comes from."""
    register_fonts()
    piece, width = parse(facts.document), body_width(facts.paper)
    words = (
        "Cut out along the lines. One goes under the piece, where it can be read without moving it; one on its crate."
    )
    story: list[Flowable] = [para(words), Spacer(1, 8), Label(facts, piece), Spacer(1, 14), Label(facts, piece)]
    story += [PageBreak(), *source_table(facts, width)]
    return RecordPdf(build_pdf(story, page_words(facts, piece), facts.paper))
