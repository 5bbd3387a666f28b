"""The batch of a piece as tables: weights against targets, coupons, washouts, cure, temperatures, lots."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.platypus import Spacer
from reportlab.platypus.flowables import Flowable

from engineering.core.contract.piece import Piece
from reports.batch_entries import Batch
from reports.noted import Noted
from reports.ruled import ruled_table
from reports.sheet import CELL, NUMBER, SMALL, SUBHEAD, para
from reports.shown import judged, mass, percent, shown, temperature
from reports.words import number_text

WASHED = ("when, by", "sample", "fibre in it", "share of the weight")


def weights(ticket: Noted | None, piece: Piece, width: float) -> list[Flowable]:
    """What was weighed against what the recipe asks for, ingredient by ingredient."""
    if ticket is None:
        return [para("No batch ticket is tied to this pour, so no weights are on record.")]
    values = ticket.values
    rows = [
        (
            para(row["name"], CELL),
            para(mass(row["target_lb"], piece), NUMBER),
            para(f"{mass(row['least_lb'], piece)} to {mass(row['most_lb'], piece)}", NUMBER),
            para(mass(row["weighed_lb"], piece), NUMBER),
            judged(row["inside"]),
            para(row["lot"] or "no lot noted", CELL),
        )
        for row in values["weighings"]
    ]
    about = (
        f"Batch {values['batch']}, {values['recipe']}, weighed {ticket.at} by {ticket.by}: "
        f"{shown(values['volume_ft3'], 'volume', piece)} in the forms and {percent(values['waste'])} over. Of what was "
        f"really weighed: water to cementitious {number_text(values['water_to_cementitious'])}, fibre "
        f"{percent(values['fibre_share'])} of the weight."
    )
    head = ("ingredient", "wanted", "allowed", "weighed", "", "lot")
    table = ruled_table(head, rows, [width * p for p in (0.22, 0.14, 0.24, 0.14, 0.1, 0.16)], numbers=(1, 2, 3))
    said = [para(text) for text in (*values["findings"], f"Note: {ticket.note}" if ticket.note else "") if text]
    return [para(about), table, *said]


def tests(batch: Batch, piece: Piece, width: float) -> list[Flowable]:
    """Coupons bent and fibre washed out."""
    parts: list[Flowable] = []
    rows = [
        (
            [para(test.at, CELL), para(test.by, SMALL)],
            para(str(number), NUMBER),
            para(" × ".join(shown(c[k], "length", piece) for k in ("span_in", "width_in", "depth_in")), CELL),
            _load_and_stress(c["yield_lbf"], c["yield_psi"], piece),
            _load_and_stress(c["ultimate_lbf"], c["ultimate_psi"], piece),
        )
        for test in batch.coupons
        for number, c in enumerate(test.values["specimens"], 1)
    ]
    if rows:
        head = ("when, by", "coupon", "span × width × depth", "flexural yield", "flexural ultimate")
        parts += [
            para("Coupons of this pour, third-point loading (ASTM C947)", SUBHEAD),
            ruled_table(head, rows, [width * p for p in (0.2, 0.1, 0.3, 0.2, 0.2)], numbers=(1, 3, 4)),
        ]
    washed = [
        (
            [para(test.at, CELL), para(test.by, SMALL)],
            para(mass(test.values["sample_lb"], piece), NUMBER),
            para(mass(test.values["fibre_lb"], piece), NUMBER),
            para(percent(test.values["fibre_share"]), NUMBER),
        )
        for test in batch.washouts
    ]
    if washed:
        parts += [
            para("Fibre washed out of a fresh sample (ASTM C1229)", SUBHEAD),
            ruled_table(WASHED, washed, [width / 4] * 4, numbers=(1, 2, 3)),
        ]
    return parts


def _load_and_stress(load_lbf: float, stress_psi: float, piece: Piece) -> list[Flowable]:
    small = SMALL.clone("load", alignment=NUMBER.alignment)
    return [para(shown(stress_psi, "stress", piece), NUMBER), para(shown(load_lbf, "force", piece), small)]


def cure(batch: Batch, piece: Piece, width: float) -> list[Flowable]:
    """Looks at cover and moisture, and each log of temperatures by its ends and extremes."""
    parts: list[Flowable] = []
    rows = [
        (
            para(f"{look.at}, {look.by}", CELL),
            judged(look.values["covered"], "covered"),
            judged(look.values["moist"], "moist"),
            para(look.note, CELL),
        )
        for look in batch.cure
    ]
    if rows:
        parts.append(ruled_table(("when, by", "", "", "note"), rows, [width * p for p in (0.34, 0.16, 0.16, 0.34)]))
    logs = [_log_row(log, piece) for log in batch.temperatures]
    if logs:
        head = ("log", "readings", "first, last", "least", "most")
        parts += [
            Spacer(1, 6),
            ruled_table(head, logs, [width * p for p in (0.26, 0.12, 0.36, 0.13, 0.13)], numbers=(1, 3, 4)),
        ]
    return parts


def _log_row(log: Noted, piece: Piece) -> tuple[Any, ...]:
    readings = log.values["readings"]
    degrees = [value for _, value in readings]
    ends = " to ".join(str(at)[:16].replace("T", " ") for at in (readings[0][0], readings[-1][0]))
    return (
        [para(log.values["source"] or "typed in", CELL), para(f"{log.at}, {log.by}", SMALL)],
        para(str(len(readings)), NUMBER),
        para(ends, CELL),
        para(temperature(min(degrees), piece), NUMBER),
        para(temperature(max(degrees), piece), NUMBER),
    )


def lots(entries: Sequence[Noted], width: float) -> list[Flowable]:
    """Which delivery of rods, sleeves and anchors went into the piece."""
    rows = [
        (
            para(use.values["kind"], CELL),
            para(use.values["lot"], CELL),
            para(use.values["description"], CELL),
            para(use.values["certificate"] or "none noted", CELL),
            para(", ".join(use.values["rods"]) or "the piece", CELL),
        )
        for use in entries
    ]
    head = ("what", "lot", "description", "certificate", "in")
    return [ruled_table(head, rows, [width * p for p in (0.16, 0.2, 0.28, 0.2, 0.16)])] if rows else []
