"""Records of what was done to one piece: pour ticket, stressing record, load-test record."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from reportlab.platypus import CondPageBreak, Spacer
from reportlab.platypus.flowables import Flowable

from engineering.core.checks.pen import Pen
from engineering.core.contract import parse
from engineering.core.contract.piece import Piece
from engineering.core.contract.units import QUANTITIES
from engineering.core.proof_load import proof_load
from engineering.core.version import ENGINE_VERSION
from reports import after_tables, batch_tables
from reports import record_tables as tables
from reports.entries import Floor
from reports.noted import Noted
from reports.opening import RecordFacts, RecordPdf, opening, page_words
from reports.plot_data import load_curve, load_test_curve
from reports.round_tables import round_table
from reports.ruled import VerdictMark, ruled_table
from reports.sheet import (
    CELL,
    NUMBER,
    SMALL,
    SUBHEAD,
    WORKING,
    SectionHead,
    body_width,
    build_pdf,
    para,
    register_fonts,
)
from reports.shown import BLANK, entry, pairs, shown
from reports.sign_off import SignOff
from reports.strength_plot import strength_plot
from reports.words import figure_text, number_text

Section = tuple[str, list[Flowable]]
Badge = tuple[str, str] | None
Builder = Callable[[RecordFacts, Piece, float], tuple[Badge, list[Section]]]
RODS = (
    "Nobody stands in the line of a rod, behind either end, while it is tightened or after. A rod that lets go leaves "
    "the piece like a bolt from a bow."
)


def build_floor_record(facts: RecordFacts, contents: Builder) -> RecordPdf:
    """Set a record from its sections. The same facts give the same bytes."""
    register_fonts()
    piece, width = parse(facts.document), body_width(facts.paper)
    badge, sections = contents(facts, piece, width)
    sections.append(("Where this comes from", source_table(facts, width)))
    story = opening(facts, piece, width, badge)
    for number, (title, parts) in enumerate([s for s in sections if s[1]], 1):
        story += [CondPageBreak(90), SectionHead(str(number), title), *parts]
    return RecordPdf(build_pdf(story, page_words(facts, piece), facts.paper))


def pour_ticket(facts: RecordFacts, piece: Piece, width: float) -> tuple[Badge, list[Section]]:
    floor = facts.floor or Floor()
    figures = facts.result["figures"]
    wanted = [
        ("concrete to batch, one piece", figure_text(figures.get("batch.volume", {}))),
        ("weight of the piece", figure_text(figures.get("weight", {}))),
        ("mix by the specification", piece.concrete.label or "—"),
        ("density", shown(piece.concrete.density_pcf, "density", piece)),
        ("strength wanted, 28 days", shown(piece.concrete.strength_psi, "stress", piece)),
        ("strength wanted at stressing", shown(piece.concrete.strength_at_stressing_psi, "stress", piece)),
        ("cast", "face down" if piece.face_down else "face up"),
    ]
    badge = ("pass", "Poured") if floor.pour else ("review", "Not poured yet")
    return badge, [
        ("What is wanted", [pairs(wanted, width)]),
        ("Before the pour", _form_check(floor.form_check, piece, width)),
        ("The pour", _batch(floor.pour, piece, width)),
        ("The batch as weighed", batch_tables.weights(floor.batch.ticket, piece, width) if floor.pour else []),
        ("Rods, sleeves and anchors in it", batch_tables.lots(floor.batch.lots, width)),
        ("Strength tests of this pour", [*strength_rows(floor.strengths, piece, width), *_gain(floor, piece, width)]),
        ("Coupons and washouts", batch_tables.tests(floor.batch, piece, width)),
        ("Cure", batch_tables.cure(floor.batch, piece, width)),
        (
            "Cautions",
            [
                para(
                    "Wet cement burns skin and eyes; dry mix and cutting raise silica dust. Gloves, glasses and a "
                    "fitted respirator; water at hand. The foam core floats: it is held down before the first bucket."
                )
            ],
        ),
        ("Signed on the floor", [SignOff(width, ("Poured by", "Checked by"))]),
    ]


def stressing_record(facts: RecordFacts, piece: Piece, width: float) -> tuple[Badge, list[Section]]:
    floor = facts.floor or Floor()
    rounds = floor.rounds
    passed = bool(rounds) and rounds[-1].all_within and rounds[-1].state == "Complete"
    badge = ("pass", "Every rod within tolerance") if passed else ("fail", "Not every rod is within tolerance")
    sections: list[Section] = [
        ("Strength before the first turn", _strength_wanted(floor, piece, width)),
        ("Targets", tables.stressing(facts.result, piece, width)),
    ]
    for number, one in enumerate(rounds, 1):
        title = "Readings" if len(rounds) == 1 else f"Readings, round {number} of {len(rounds)}"
        sections.append((title, round_table(one, piece, width)))
    tolerance = (
        "A stretch counts as right within 7 % of its target (ACI 318-19 26.10.2(e)), a torque within the 4 % of a "
        "calibrated wrench. Where the two disagree the stretch is believed and the cause is looked for. A reading that "
        "was put right stays in the list, marked; only the later one counts."
    )
    after = floor.after
    sections += [
        ("Lift-off", after_tables.lift_offs(after.lift_offs, piece, width)),
        ("Stressed again", after_tables.restressings(after.restressings, piece, width)),
        ("Slackened, broken, incidents", after_tables.incidents(after.incidents, width)),
        ("Ends finished", after_tables.finish(after.finishings, width)),
        ("Rods, sleeves and anchors in it", batch_tables.lots(floor.batch.lots, width)),
        ("Coupons and washouts", batch_tables.tests(floor.batch, piece, width)),
        ("Tolerance", [para(tolerance)]),
        ("Cautions", [para(RODS)]),
        ("Signed on the floor", [SignOff(width, ("Stressed by", "Checked by"))]),
    ]
    return badge, sections


def load_test_record(facts: RecordFacts, piece: Piece, width: float) -> tuple[Badge, list[Section]]:
    floor = facts.floor or Floor()
    tests = floor.load_tests
    last = tests[-1] if tests else None
    accepted = bool(last and last.values["accepted"])
    badge = ("pass", "Accepted") if accepted else ("fail", "Not accepted")
    units = piece.units
    looks = [look for plan in floor.load_plans for look in plan.readings] or tests
    measured = [
        (
            QUANTITIES["length"].from_us(t.values["deflection_in"], units),
            QUANTITIES["force"].from_us(t.values["load_lbf"], units),
        )
        for t in looks
    ]
    plots = (load_test_curve(facts.result, measured), load_curve(facts.result, measured))
    plotted = [part for plot in plots if plot for part in tables.plot_parts(plot, width, set(), 170)]
    return badge, [
        ("What was measured", _load_rows(tests, piece, width)),
        *(
            ("The plan, and the readings" if n == len(floor.load_plans) else "An earlier plan", parts)
            for n, parts in enumerate((after_tables.load_plan(p, piece, width) for p in floor.load_plans), 1)
        ),
        ("How the load comes about", _load_working(piece) if floor.load_plans else []),
        ("What the checks say", after_tables.predicted(facts.result, width)),
        (
            "Over the predicted curve",
            [
                *plotted,
                para(
                    "The prediction is for a load spread evenly over the whole length, besides self weight, at the rod "
                    "forces just after stressing and 28-day properties. A test with bags in other places is not "
                    "expected to lie on it.",
                    SMALL,
                ),
            ]
            if plotted
            else [],
        ),
        (
            "What counts as accepted",
            [
                para(
                    "No crack that can be seen (ACI 318-19 27.4.5.1), and a deflection of l²/(20,000 h) at most, l "
                    "being twice the overhang at a tip; or else no more than a quarter of it left 24 hours after the "
                    "load is off, after a second test a fifth (ACI 318-19 27.4, from memory). Whoever accepts it says "
                    "so below."
                )
            ],
        ),
        (
            "Cautions",
            [para("Nobody goes under a piece that is being tested, nor beside it where it could tip. " + RODS)],
        ),
        ("Signed", [SignOff(width, ("Tested by", "Accepted by, licence"))]),
    ]


def _load_working(piece: Piece) -> list[Flowable]:
    """Step by step, by the engine's own rule from the specification; the load of the plan is the stored one."""
    lines = proof_load(piece).working(Pen(piece.units))
    said = para(f"By engine {ENGINE_VERSION}, from the specification.", SMALL)
    return [*(para(line, WORKING) for line in lines), said]


def source_table(facts: RecordFacts, width: float) -> list[Flowable]:
    """Every row the record rests on, with its hash: the same rows give the same record."""
    rows = [
        (para(s["table"], CELL), para(s["row"], NUMBER), para(s["sha256"], SMALL.clone("hash", splitLongWords=1)))
        for s in facts.sources
    ]
    words = (
        "Every figure above is read from one of these rows of the shop's book; the SHA-256 is of the row as it stood "
        "when this record was made. The specification, the result and the rows are attached to this file."
    )
    return [
        para(words),
        ruled_table(
            ("row of", "no.", "SHA-256"), rows, (width * 0.22, width * 0.1, width * 0.68), numbers=(1,), padding=1.4
        ),
    ]


def strength_rows(tests: Sequence[Noted], piece: Piece, width: float) -> list[Flowable]:
    if not tests:
        return [para("No strength test of this pour is written down.")]
    rows = [
        (
            para(f"{t.at}, {t.by}", CELL),
            para(f"{t.values['kind']}, × {number_text(t.values['factor'])}", CELL),
            para(" · ".join(shown(s, "stress", piece) for s in t.values["specimens_psi"]), CELL),
            para(shown(t.values["mean_psi"], "stress", piece), NUMBER),
        )
        for t in tests
    ]
    head = ("when, by", "specimens, factor", "as broken", "mean as cylinders")
    return [ruled_table(head, rows, [width * p for p in (0.25, 0.2, 0.37, 0.18)], numbers=(3,))]


def _gain(floor: Floor, piece: Piece, width: float) -> list[Flowable]:
    """The tests against age, once there are two."""
    plot = strength_plot(floor.gain, piece) if len(floor.gain.tests) > 1 else None
    return [Spacer(1, 8), *tables.plot_parts(plot, width, set(), 150)] if plot else []


def _strength_wanted(floor: Floor, piece: Piece, width: float) -> list[Flowable]:
    wanted = shown(piece.concrete.strength_at_stressing_psi, "stress", piece)
    rows = strength_rows(floor.strengths, piece, width)
    return [para(f"Wanted at stressing: {wanted}."), Spacer(1, 3), *rows, *_gain(floor, piece, width)]


def _form_check(check: Noted | None, piece: Piece, width: float) -> list[Flowable]:
    points = (
        ("core_held", "core held down"),
        ("sleeves_sealed", "sleeves straight and sealed"),
        ("pockets_set", "pockets set"),
    )
    if check is None:
        blank = [(para(words, CELL), para("yes ☐   no ☐".replace("☐", "____"), CELL)) for _, words in points]
        return [ruled_table(("to check on the form", ""), blank, (width * 0.5, width * 0.5))]
    rows = [
        (para(words, CELL), VerdictMark("pass" if check.values[key] else "fail"), para(f"{check.at}, {check.by}", CELL))
        for key, words in points
    ]
    parts: list[Flowable] = [ruled_table(("checked", "", "when, by"), rows, (width * 0.45, width * 0.2, width * 0.35))]
    heights = [
        [
            para(h["rod"], CELL),
            *(para(shown(h.get(key), "length", piece), NUMBER) for key in ("x_in", "drawn_in", "measured_in")),
        ]
        for h in check.values["rod_heights"]
    ]
    if heights:
        head = ("rod", "from the left end", "height drawn", "height measured")
        parts += [
            para("Height of the rods on the form", SUBHEAD),
            ruled_table(head, heights, [width / 4] * 4, numbers=(1, 2, 3)),
        ]
    return [*parts, *([para(f"Note: {check.note}")] if check.note else [])]


def _batch(pour: Noted | None, piece: Piece, width: float) -> list[Flowable]:
    names = (
        ("batch", "batch", None),
        ("mix", "mix", None),
        ("water added", "water_added_at", None),
        ("slump", "slump_in", "length"),
        ("unit weight", "unit_weight_pcf", "density"),
        ("temperature of the mix", "mix_temperature_f", "temperature"),
        ("temperature of the air", "air_temperature_f", "temperature"),
        ("pieces from this batch", "pieces", None),
    )
    rows = [("poured", f"{pour.at}, {pour.by}" if pour else BLANK)]
    for words, key, quantity in names:
        value = pour.values[key] if pour else None
        rows.append((words, BLANK if pour is None else entry(value, quantity, piece)))
    if pour and pour.note:
        rows.append(("note", pour.note))
    return [pairs(rows, width)]


def _load_rows(tests: Sequence[Noted], piece: Piece, width: float) -> list[Flowable]:
    rows = [
        (
            [para(t.at, CELL), para(t.by, SMALL)],
            para(shown(t.values["load_lbf"], "force", piece), NUMBER),
            para(shown(t.values["deflection_in"], "length", piece), NUMBER),
            para(shown(t.values["residual_in"], "length", piece), NUMBER),
            para("cracks seen" if t.values["cracks_seen"] else "no crack seen", CELL),
            [VerdictMark("pass" if t.values["accepted"] else "fail"), *([para(t.note, SMALL)] if t.note else [])],
        )
        for t in tests
    ]
    head = ("when, by", "load", "deflection", "left after 24 hours", "cracks", "accepted")
    return [ruled_table(head, rows, [width * p for p in (0.2, 0.16, 0.16, 0.16, 0.16, 0.16)], numbers=(1, 2, 3))]
