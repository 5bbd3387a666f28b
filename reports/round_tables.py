"""One round of tightening on paper: how it began and ended, every reading beside its target, the plots."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import Spacer
from reportlab.platypus.flowables import Flowable

from engineering.core.contract.piece import Piece
from reports import record_tables as tables
from reports.entries import Reading, Round
from reports.plot_data import stressing_plots
from reports.ruled import VerdictMark, ruled_table
from reports.sheet import CELL, NUMBER, SMALL, para
from reports.shown import pairs, shown
from reports.words import number_text


def round_table(one: Round, piece: Piece, width: float) -> list[Flowable]:
    about = [
        ("began", f"{one.began}, {one.by}"),
        ("ended", f"{one.finished or 'not ended'}: {one.state.lower()}"),
        ("wrench", one.wrench),
        ("stretch gauge shows down to", shown(one.gauge_in, "length", piece) if one.gauge_in else "not noted"),
        *([("note", one.note)] if one.note else []),
    ]
    rows: list[list[Any]] = []
    for r in one.readings:
        if r.takes_back:
            share = number_text(100 * one.targets["steps"][r.step])
            said = f"{r.at}, {r.by}: {r.rod}, {share} %. {' '.join(r.findings)}"
            rows.append(["", [para(said, SMALL)], "", "", "", "", ""])
            continue
        aim, step = one.targets["rods"].get(r.rod, {}), one.targets["steps"][r.step]
        verdict = "pass" if r.within else "fail"
        rows.append(
            [
                [para(r.at, CELL), para(r.by, SMALL)],
                para(f"{r.rod}, {number_text(100 * step)} %", CELL),
                _against(r.torque_lbf_ft, aim.get("torque_lbf_ft"), step, "torque", piece),
                _stretch(r, aim, step, piece),
                para(shown(r.crown_in, "length", piece), NUMBER),
                [VerdictMark(verdict), *([] if r.counts else [para(_why_not(r), SMALL)])],
                [para("line clear" if r.line_clear else "line NOT confirmed clear", SMALL)],
            ]
        )
        if r.findings or r.note:
            rows.append(["", [para(" ".join((*r.findings, r.note)).strip(), SMALL)], "", "", "", "", ""])
    head = ("when, by", "rod, step", "torque: read, target", "stretch: read, target", "crown", "verdict", "")
    table = ruled_table(head, rows, [width * p for p in (0.19, 0.13, 0.17, 0.17, 0.11, 0.12, 0.11)], numbers=(2, 3, 4))
    spans = [("SPAN", (1, i), (-1, i)) for i, row in enumerate(rows, 1) if row[0] == ""]
    if spans:
        table.setStyle(spans)
    plots: list[Flowable] = []
    for plot in stressing_plots(one.targets, one.plotted, piece.units):
        plots += tables.plot_parts(plot, width, set(), 130)
    return [pairs(about, width), Spacer(1, 6), table, Spacer(1, 8), *plots]


def _why_not(r: Reading) -> str:
    return "taken back" if r.taken_back else "put right later"


def _against(value: float | None, aim: float | None, step: float, quantity: str, piece: Piece) -> list[Flowable]:
    if value is None or aim is None:
        return [para("not read" if value is None else shown(value, quantity, piece), NUMBER)]
    off = f", {number_text(round(100 * (value / (aim * step) - 1), 1))} %" if aim else ""
    return [
        para(shown(value, quantity, piece), NUMBER),
        para(f"{shown(aim * step, quantity, piece)}{off}", SMALL.clone("aim", alignment=NUMBER.alignment)),
    ]


def _stretch(r: Reading, aim: dict[str, Any], step: float, piece: Piece) -> list[Flowable]:
    """The stretch against its target, and the force under a jack where it stood for the stretch."""
    parts = _against(r.stretch_in, aim.get("elongation_in"), step, "length", piece)
    if r.lift_off_lbf is not None:
        words = f"lift-off {shown(r.lift_off_lbf, 'force', piece)}"
        parts.append(para(words, SMALL.clone("lift", alignment=NUMBER.alignment)))
    return parts
