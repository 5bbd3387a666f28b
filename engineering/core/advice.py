"""For each failed check what would help, in the shop's words with the size of the change, found by running the engine.

Every step of `remedies` goes through the whole check run. A remedy helps a check when its verdict gets better; the
smallest such step is told, with what it spoils elsewhere. Worst check first; of its remedies first those after which
nothing fails, then those that spoil least and mend most.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from engineering.core.batching import Array
from engineering.core.checks.finding import Verdict
from engineering.core.contract import SpecificationRefused, parse
from engineering.core.contract.piece import Piece
from engineering.core.drafts import Document
from engineering.core.remedies import Step, in_documents, in_numbers
from engineering.core.variants import Judged, Numbers, judge

MOST_HELPS, MOST_EASES = 5, 3
FORMAT = "design-advice/1"


@dataclass(frozen=True)
class Tried:
    """A step and what the checks say of it, by name. whole: the piece's verdict."""

    step: Step
    verdicts: dict[str, int]
    ratios: dict[str, float]
    whole: int


def advise(document: Document, *, quick: bool = False, of: Sequence[str] | None = None) -> dict[str, Any]:
    """What helps every check that fails or wants an engineer. quick: only what needs no other layout, in one batch.
    of: only these checks, by their whole name."""
    piece = parse(document)
    now = tried_as(Step("", 0, ""), judge(piece, Numbers(1)), 0)
    wrong = [name for name in _worst_first(now) if of is None or name in of]
    steps = _in_one_batch(piece, in_numbers(piece)) if wrong else []
    if not quick and wrong:
        steps += [one for step in in_documents(document, piece) if (one := _alone(step)) is not None]
    return {
        "format": FORMAT,
        "specification": piece.specification_hash,
        "verdict": Verdict(now.whole).word,
        "checks": [_about(name, now, steps) for name in wrong],
    }


def tried_as(step: Step, judged: Judged, row: int) -> Tried:
    return Tried(
        step,
        dict(zip(judged.names, judged.verdicts[row].tolist(), strict=True)),
        dict(zip(judged.names, judged.ratios[row].tolist(), strict=True)),
        int(judged.piece_verdict[row]),
    )


def _worst_first(now: Tried) -> list[str]:
    wrong = [name for name, verdict in now.verdicts.items() if verdict >= int(Verdict.REVIEW)]
    return sorted(wrong, key=lambda name: (-now.verdicts[name], -_size(now.ratios[name]), name))


def _size(ratio: float) -> float:
    return 1e6 if np.isnan(ratio) else ratio


def _in_one_batch(piece: Piece, steps: list[Step]) -> list[Tried]:
    if not steps:
        return []
    judged = judge(piece, stacked(piece, [step.numbers for step in steps if step.numbers is not None]))
    return [tried_as(step, judged, row) for row, step in enumerate(steps)]


def stacked(piece: Piece, parts: Sequence[Numbers]) -> Numbers:
    """Single designs as one: where a part is silent, the piece's own number."""
    own: dict[str, Array] = {
        "jacking_lbf": np.array([[rod.jacking_force_lbf for rod in piece.rods]]),
        "across_in": np.array([[rod.across_in for rod in piece.rods]]),
        "lift_in": np.zeros(1),
    }
    names = dict.fromkeys(name for part in parts for name, _ in part.concrete)
    factors = tuple((name, np.concatenate([dict(p.concrete).get(name, np.ones(1)) for p in parts])) for name in names)
    columns: dict[str, Any] = {
        f.name: np.concatenate([own[f.name] if (v := getattr(part, f.name)) is None else v for part in parts])
        for f in fields(Numbers)
        if f.name in own
    }
    return replace(Numbers(len(parts), concrete=factors), **columns)


def _alone(step: Step) -> Tried | None:
    """A step with a layout of its own; None where the specification refuses it."""
    try:
        piece = parse(step.document)
    except SpecificationRefused:
        return None
    return tried_as(step, judge(piece, Numbers(1)), 0)


def _about(name: str, now: Tried, steps: Sequence[Tried]) -> dict[str, Any]:
    """The least step of every remedy that mends this check, the best first."""
    least: dict[str, Tried] = {}
    for one in sorted(steps, key=lambda one: one.step.size):
        if one.verdicts.get(name, int(Verdict.FAIL)) < now.verdicts[name] and one.step.remedy not in least:
            least[one.step.remedy] = one
    helps = [_help(one, now) for one in least.values()]
    helps.sort(key=lambda one: (one["verdict"] == "fail", len(one["spoils"]), -one["mends"], one["size"], one["words"]))
    ratio = now.ratios[name]
    return {
        "check": name,
        "verdict": Verdict(now.verdicts[name]).word,
        "ratio": None if np.isnan(ratio) else round(ratio, 6),
        "helps": helps[:MOST_HELPS],
        "eases": _eases(name, now, [one for one in steps if one.step.remedy not in least]),
    }


def _eases(name: str, now: Tried, steps: Sequence[Tried]) -> list[dict[str, Any]]:
    """Remedies that do not mend the check alone but take at least a tenth off its ratio, at their best step."""
    best: dict[str, Tried] = {}
    for one in sorted(steps, key=lambda one: (_size(one.ratios.get(name, np.nan)), one.step.size)):
        if one.ratios.get(name, np.inf) <= 0.9 * now.ratios[name]:
            best.setdefault(one.step.remedy, one)
    return [{"words": one.step.words, "ratio": round(one.ratios[name], 6)} for one in best.values()][:MOST_EASES]


def _help(one: Tried, now: Tried) -> dict[str, Any]:
    """Words, and what else the step mends and spoils. A check of a rod that was not there is told where it fails."""
    before = now.verdicts
    spoils = [
        name
        for name, verdict in one.verdicts.items()
        if verdict >= int(Verdict.REVIEW) and verdict > max(before.get(name, int(Verdict.PASS)), int(Verdict.CAUTION))
    ]
    mends = [name for name, v in before.items() if v >= int(Verdict.REVIEW) and one.verdicts.get(name, v) < v]
    return {
        "words": one.step.words,
        "remedy": one.step.remedy,
        "size": one.step.size,
        "verdict": Verdict(one.whole).word,
        "mends": len(mends),
        "spoils": spoils,
    }
