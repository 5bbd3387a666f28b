"""What a tolerance study comes to: how likely each check fails, its ratio, and what drives it."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engineering.core.batching import Array
from engineering.core.checks.finding import Verdict
from engineering.core.contract.piece import Piece
from engineering.core.studies import StudyPart, Tolerances, design, joined, quantities, run_part

MOST_DRIVERS = 5
WORTH_NAMING = 0.1  # rank correlation under which a quantity is no driver


def run_study(piece: Piece, size: int, seed: int, tolerances: Tolerances | None = None) -> dict[str, Any]:
    """The whole study in this process."""
    return summary(piece, size, seed, [run_part(piece, size, seed, 0, size, tolerances)])


def summary(piece: Piece, size: int, seed: int, parts: Sequence[StudyPart]) -> dict[str, Any]:
    """The study's document: how likely each check fails or wants an engineer, its ratio, and what drives it.

    Raises ValueError where samples are missing.
    """
    whole = joined(parts)
    if whole.start != 0 or len(whole.verdicts) != size:
        raise ValueError(f"the study has {len(whole.verdicts)} of {size} samples")
    names, shares = quantities(piece), design(piece, size, seed)
    standing = _standing(shares)
    fails, reviews = whole.verdicts == int(Verdict.FAIL), whole.verdicts == int(Verdict.REVIEW)
    checks = [
        _check(whole, k, names, standing)
        for k in range(len(whole.names))
        if whole.verdicts[0, k] != int(Verdict.NOT_APPLICABLE)
    ]
    failing = fails.any(axis=1)
    return {
        "format": "tolerance-study/1",
        "specification": piece.specification_hash,
        "samples": size,
        "seed": seed,
        "chance_of_fail": float(failing.mean()),
        "chance_of_review": float((reviews.any(axis=1) & ~failing).mean()),
        "checks": checks,
    }


def _check(whole: StudyPart, k: int, names: tuple[str, ...], standing: Array) -> dict[str, Any]:
    verdict, ratio = whole.verdicts[:, k], np.round(whole.ratios[:, k], 9)
    known = ~np.isnan(ratio)
    low, middle, high = (
        (float(v) for v in np.quantile(ratio[known], (0.05, 0.5, 0.95))) if known.any() else (None, None, None)
    )
    return {
        "name": whole.names[k],
        "chance_of_fail": float((verdict == int(Verdict.FAIL)).mean()),
        "chance_of_review": float((verdict == int(Verdict.REVIEW)).mean()),
        "chance_of_caution": float((verdict == int(Verdict.CAUTION)).mean()),
        "ratio_low": low,
        "ratio_middle": middle,
        "ratio_high": high,
        "drivers": _drivers(ratio, known, names, standing),
    }


def _drivers(ratio: Array, known: NDArray[np.bool_], names: tuple[str, ...], standing: Array) -> list[dict[str, Any]]:
    """Spearman's rank correlation with every quantity, the strongest first; + means more of it makes the ratio
    worse."""
    if known.sum() < 10 or np.ptp(ratio[known]) < 1e-9:
        return []
    of = standing if known.all() else _standing(standing[known])
    correlation = _standing(ratio[known][:, None])[:, 0] @ of / known.sum()
    order = np.argsort(-np.abs(correlation), kind="stable")[:MOST_DRIVERS]
    return [
        {"quantity": names[k], "rank_correlation": round(float(correlation[k]), 6)}
        for k in order
        if abs(correlation[k]) >= WORTH_NAMING
    ]


def _standing(values: Array) -> Array:
    """Ranks of every column less their mean, in standard deviations; 0 where all are equal."""
    ranks = _ranks(values)
    ranks -= ranks.mean(axis=0)
    spread = ranks.std(axis=0)
    return ranks / np.where(spread > 0, spread, 1.0)


def _ranks(values: Array) -> Array:
    """Ranks of every column, equal values sharing their mean rank."""
    found = np.empty(values.shape)
    for k in range(values.shape[1]):
        _, place, count = np.unique(values[:, k], return_inverse=True, return_counts=True)
        found[:, k] = (np.cumsum(count) - 0.5 * (count - 1))[place]
    return found
