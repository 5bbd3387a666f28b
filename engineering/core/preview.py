"""Verdict and leading figures of a document still being written: the checks without what only a record needs."""

from typing import Any

import numpy as np

from engineering.core import tightening
from engineering.core.advice import tried_as
from engineering.core.checks.finding import Verdict
from engineering.core.contract import Piece, parse
from engineering.core.contract.units import QUANTITIES
from engineering.core.drafts import Document
from engineering.core.remedies import Step
from engineering.core.variants import Judged, Numbers, judge

IN_PER_FT = 12.0
FORMAT = "design-preview/1"


def preview(document: Document) -> dict[str, Any]:
    """The verdict a check run of this document will have, what stands in its way, worst first, and leading figures.

    Raises SpecificationRefused. Nothing is kept.
    """
    piece = parse(document)
    judged = judge(piece, Numbers(1))
    now = tried_as(Step("", 0, ""), judged, 0)
    wrong = [name for name, verdict in now.verdicts.items() if verdict >= int(Verdict.REVIEW)]
    wrong.sort(key=lambda name: (-now.verdicts[name], -np.nan_to_num(now.ratios[name], nan=1e6), name))
    return {
        "format": FORMAT,
        "specification": piece.specification_hash,
        "verdict": Verdict(now.whole).word,
        "why_review": _why_review(piece),
        "checks": [
            {"name": name, "verdict": Verdict(now.verdicts[name]).word, "ratio": _number(now.ratios[name])}
            for name in wrong
        ],
        "figures": _figures(piece, judged),
    }


def _number(ratio: float) -> float | None:
    return None if np.isnan(ratio) else round(float(ratio), 6)


def _why_review(piece: Piece) -> list[str]:
    """What keeps the verdict at review at best, whatever the checks say."""
    found = []
    if piece.concrete.modulus_defaulted:
        found.append("the modulus of the concrete is not given")
    if piece.handling is None:
        found.append("lifting is not described")
    return found


def _figures(piece: Piece, judged: Judged) -> list[dict[str, Any]]:
    """Worst ratio, force left at the end of life, crown, torque: name, value in the document's units, unit."""
    counting = np.where(judged.counting, np.nan_to_num(judged.ratios[0], nan=0.0), 0.0)
    found = [_figure("worst ratio", float(counting.max()), "number", piece, judged.names[int(np.argmax(counting))])]
    if piece.rods:
        left, start = float(judged.force_left_lbf[0].sum()), float(judged.transfer_lbf[0].sum())
        share = f"{100 * left / start:.0f} % of the force after stressing" if start > 0 else "the rods are slack"
        found.append(_figure("force left at end of life", left, "force", piece, share))
        found.append(_figure("crown after stressing", float(judged.crown_in[0, 0]), "length", piece))
    found.append(_figure("crown at end of life", float(judged.crown_in[0, 2]), "length", piece))
    if piece.rods and piece.stressing is not None:
        factor = piece.stressing.nut_factor
        torques = [tightening.torque(factor, r.thread.diameter_in, r.jacking_force_lbf) for r in piece.rods]
        found.append(_figure("torque, the greatest", float(np.max(torques)) / IN_PER_FT, "torque", piece))
    return found


def _figure(name: str, value_us: float, quantity: str, piece: Piece, note: str = "") -> dict[str, Any]:
    kind = QUANTITIES[quantity]
    value = float(f"{kind.from_us(value_us, piece.units):.5g}")
    return {"name": name, "value": value, "unit": kind.unit(piece.units), "note": note}
