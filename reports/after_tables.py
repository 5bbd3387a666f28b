"""What came after the tightening, as tables: lift-off, re-stressing, incidents, ends, what was not as drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from reportlab.platypus.flowables import Flowable

from engineering.core.contract.piece import Piece
from reports.after_entries import After, LoadPlan
from reports.noted import Noted
from reports.ruled import ruled_table
from reports.sheet import CELL, NUMBER, SMALL, SUBHEAD, para
from reports.shown import judged, pairs, shown
from reports.words import figure_text, name_of, number_text

FINISH = (
    ("tails_cut", "tails cut"),
    ("capped", "ends capped"),
    ("greased", "ends greased"),
    ("pockets_filled", "pockets filled"),
)


def lift_offs(entries: Sequence[Noted], piece: Piece, width: float) -> list[Flowable]:
    """The force at which each nut left its plate, against what the result expects by then."""
    rows = [
        (
            _by(e),
            para(e.values["rod"], CELL),
            para(shown(e.values["force_lbf"], "force", piece), NUMBER),
            para(shown(e.values["expected_lbf"], "force", piece), NUMBER),
            judged(e.values["within_tolerance"], *e.values["findings"], e.note),
        )
        for e in entries
    ]
    head = ("when, by", "rod", "lift-off force", "expected", "verdict")
    widths = [width * p for p in (0.24, 0.12, 0.18, 0.18, 0.28)]
    return [ruled_table(head, rows, widths, numbers=(2, 3))] if rows else []


def restressings(entries: Sequence[Noted], piece: Piece, width: float) -> list[Flowable]:
    """Each time the rods were brought back, rod by rod."""
    rows = [
        (
            [*_by(e), para(f"wrench {e.values['wrench'] or 'none noted'}", SMALL)],
            para(f"{number_text(e.values['age_days'])} days", NUMBER),
            para(row["rod"], CELL),
            para(_turned(row, piece), NUMBER),
            para(_aim(row, piece), NUMBER),
            para(shown(e.values["crown_in"], "length", piece), NUMBER),
            judged(e.values["within_tolerance"], *(e.values["findings"] if n == 0 else ())),
        )
        for e in entries
        for n, row in enumerate(e.values["rods"])
    ]
    head = ("when, by", "at", "rod", "read", "target", "crown", "verdict")
    widths = [width * p for p in (0.22, 0.1, 0.1, 0.15, 0.15, 0.12, 0.16)]
    return [ruled_table(head, rows, widths, numbers=(1, 3, 4, 5))] if rows else []


def _turned(row: dict[str, Any], piece: Piece) -> str:
    if "torque_lbf_ft" in row:
        return shown(row["torque_lbf_ft"], "torque", piece)
    return shown(row.get("force_jacking_lbf"), "force", piece)


def _aim(row: dict[str, Any], piece: Piece) -> str:
    return shown(row.get("target"), "torque" if "torque_lbf_ft" in row else "force", piece)


def incidents(entries: Sequence[Noted], width: float) -> list[Flowable]:
    """Rods slackened or broken, and whatever else happened."""
    rows = [
        (
            _by(e),
            [para(e.values["kind"], CELL), para(", ".join(e.values["rods"]), SMALL)],
            [
                para(e.values["what"], CELL),
                *([para("Somebody was hurt.", CELL)] if e.values["somebody_hurt"] else []),
                *([para("First: " + " ".join(e.values["confirmed"]), SMALL)] if e.values["confirmed"] else []),
            ],
        )
        for e in entries
    ]
    return [ruled_table(("when, by", "what", ""), rows, [width * p for p in (0.24, 0.2, 0.56)])] if rows else []


def finish(entries: Sequence[Noted], width: float) -> list[Flowable]:
    """Tails, caps, grease and pockets, each time somebody wrote them down."""
    rows = [(_by(e), *(judged(e.values[key]) for key, _ in FINISH), para(e.note, SMALL)) for e in entries]
    head = ("when, by", *(words for _, words in FINISH), "note")
    return [ruled_table(head, rows, [width * p for p in (0.24, 0.13, 0.13, 0.14, 0.16, 0.2)])] if rows else []


def deviations(after: After, width: float) -> list[Flowable]:
    """What was not as drawn, who decided about it, and the gates that were passed over."""
    rows = [
        (
            _by(e),
            [para(e.values["what"], CELL), *([para(e.values["place"], SMALL)] if e.values["place"] else [])],
            _decision(e.values),
        )
        for e in after.deviations
    ]
    rows += [
        (
            _by(e),
            [
                para(f"Passed over on the way to {e.values['to_stage']}:", CELL),
                *(para(text, SMALL) for text in e.values["texts"]),
            ],
            [para(e.values["reason"], CELL)],
        )
        for e in after.passes
    ]
    head = ("when, by", "not as drawn", "decided")
    return [ruled_table(head, rows, [width * p for p in (0.24, 0.4, 0.36)])] if rows else []


def _decision(values: dict[str, Any]) -> list[Flowable]:
    if not values["decision"]:
        return [para("not decided yet", CELL)]
    licence = f"licence {values['licence_number']}, {values['jurisdiction']}"
    parts = [para(f"{values['decision']}. {values['decision_note']}", CELL)]
    parts.append(para(f"{values['decided_by']}, {licence}, {values['decided_at']}", SMALL))
    if values["repaired_at"]:
        parts.append(para(f"Repaired {values['repaired_at']}. {values['repair_note']}", SMALL))
    return list(parts)


def load_plan(one: LoadPlan, piece: Piece, width: float) -> list[Flowable]:
    """What the test was to bring, and every look at the dial."""
    plan = one.plan.values
    layers = "; ".join(f"{row['number']} × {row['where']}" for row in plan["layers"])
    about = [
        ("planned", f"{one.plan.at}, {one.plan.by}"),
        ("load the test asks for, besides self weight", shown(plan["total_lbf"], "force", piece)),
        ("with", f"{plan['what']}, {shown(plan['unit_lbf'], 'force', piece)} each"),
        ("layers in order", layers),
        ("lies for", f"{plan['hold_minutes']} minutes"),
        ("span, depth there", f"{shown(plan['span_in'], 'length', piece)}, {shown(plan['depth_in'], 'length', piece)}"),
        ("stop at a deflection of", shown(plan["stop_deflection_in"], "length", piece)),
    ]
    rows = [
        (
            _by(look),
            para(shown(look.values["load_lbf"], "force", piece), NUMBER),
            para(shown(look.values["deflection_in"], "length", piece), NUMBER),
            para("CRACK SEEN" if look.values["crack_seen"] else "no crack seen", CELL),
            para(look.note, SMALL),
        )
        for look in one.readings
    ]
    head = ("when, by", "load", "deflection", "", "note")
    widths = [width * p for p in (0.26, 0.18, 0.18, 0.16, 0.22)]
    readings = [para("Readings", SUBHEAD), ruled_table(head, rows, widths, numbers=(1, 2))] if rows else []
    return [pairs(about, width), *readings]


def predicted(result: Mapping[str, Any], width: float) -> list[Flowable]:
    """Every figure of the load test in the stored result."""
    found = {name: figure for name, figure in result["figures"].items() if name.startswith("load_test.")}
    rows = [(name_of(name), _value(figure)) for name, figure in found.items()]
    return [pairs(rows, width)] if rows else []


def _value(figure: Mapping[str, Any]) -> str:
    return str(figure.get("why") or "—") if figure.get("value") is None else figure_text(figure)


def _by(e: Noted) -> list[Flowable]:
    return [para(e.at, CELL), para(e.by, SMALL)]
