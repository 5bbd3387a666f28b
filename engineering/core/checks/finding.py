"""What a check finds, for all variants at once, and the line of the result it comes to.

A `Finding` carries demand and capacity of every variant (V,); its verdict is derived, never passed in. A check run
reads the
worst variant into one line of the result; a study reads the verdicts of all.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engineering.core.batching import Array
from engineering.core.checks.pen import Pen
from engineering.core.contract.results import CheckResult

ROUNDING = 1e-9  # a ratio this little over 1 is 1


class Kind(StrEnum):
    """What a ratio over 1 means: V fails, R wants an engineer's review, C is a caution."""

    FAILS = "V"
    REVIEW = "R"
    CAUTION = "C"


class Verdict(IntEnum):
    """In order of gravity."""

    NOT_APPLICABLE = -1
    PASS = 0
    CAUTION = 1
    REVIEW = 2
    FAIL = 3

    @property
    def word(self) -> str:
        return self.name.lower().replace("_", " ")


WORDS = {int(verdict): verdict.word for verdict in Verdict}
OVER = {Kind.FAILS: Verdict.FAIL, Kind.REVIEW: Verdict.REVIEW, Kind.CAUTION: Verdict.CAUTION}

Lines = Callable[[int, Pen], list[str]]
Words = Callable[[int, Pen], str]


def no_words(_variant: int, _pen: Pen) -> str:
    return ""


def no_lines(_variant: int, _pen: Pen) -> list[str]:
    return []


class Finding(NamedTuple):
    """One check of all variants; demand, capacity and at (V,), in the engine's unit of `quantity`.

    floor: a verdict that holds at least, variant by variant, whatever the ratio says. met: verdicts of a check that
    has no
    ratio but yes or no. review_instead: where over 1 is left to an engineer. among: the variants the check looks at
    (all).
    capacity_why: said where the capacity is not above 0. not_applicable: why the check does not apply.
    """

    name: str
    clause: str
    kind: Kind
    quantity: str = "number"
    demand: Array | None = None
    capacity: Array | None = None
    at_in: Array | None = None
    setting: bool = False
    floor: NDArray[np.int64] | None = None
    met: NDArray[np.bool_] | None = None
    review_instead: NDArray[np.bool_] | None = None
    among: NDArray[np.bool_] | None = None
    working: Lines = no_lines
    caution: Words = no_words
    capacity_why: str = "there is no capacity"
    not_applicable: str = ""

    @property
    def applies(self) -> bool:
        return not self.not_applicable

    @property
    def size(self) -> int:
        """Variants that its arrays tell apart."""
        arrays = (self.demand, self.capacity, self.floor, self.met, self.review_instead, self.among)
        return max((np.size(one) for one in arrays if one is not None), default=1)

    def judgement(self) -> "Judgement":
        return judge((self,), self.size)

    def ratios(self) -> Array:
        """Demand/capacity (V,): 0 where the demand has the harmless sign, nan where there is no capacity."""
        return self.judgement().ratios[0]

    def verdicts(self) -> NDArray[np.int64]:
        """Verdict of every variant (V,), as the whole numbers of `Verdict`."""
        return self.judgement().verdicts[0]


@dataclass(frozen=True)
class Judgement:
    """K findings side by side, all (K, V); demand 0 and capacity 1 for one that does not apply."""

    demand: Array
    capacity: Array
    ratios: Array
    verdicts: NDArray[np.int64]
    among: NDArray[np.bool_]

    def worst(self) -> NDArray[np.int64]:
        """The variant that governs each finding: gravest verdict, then greatest ratio, then the first. (K,)"""
        rank = np.where(np.isnan(self.ratios), np.inf, self.ratios)
        gravest = np.where(self.among, self.verdicts, int(Verdict.NOT_APPLICABLE) - 1).max(axis=1, keepdims=True)
        rank = np.where(self.among & (self.verdicts == gravest), rank, -np.inf)
        top = rank.max(axis=1, keepdims=True)
        near = np.where(np.isinf(top), 0.0, ROUNDING * np.maximum(1.0, top))
        return np.asarray(np.argmax(rank >= top - near, axis=1))


def judge(findings: Sequence[Finding], size: int) -> Judgement:
    """Ratio and verdict of every finding in every variant. Raises ValueError where demand or capacity is missing or not
    a number."""
    shape = (len(findings), size)
    demand, capacity = np.zeros(shape), np.ones(shape)
    met, review, floor = np.zeros(shape, bool), np.zeros(shape, bool), np.full(shape, int(Verdict.NOT_APPLICABLE))
    among, by_met = np.ones(shape, bool), np.array([[one.met is not None] for one in findings])
    for k, one in enumerate(findings):
        if not one.applies:
            continue
        if one.demand is None or one.capacity is None:
            raise ValueError(f"{one.name}: a check that applies needs demand and capacity")
        demand[k], capacity[k] = one.demand, one.capacity
        for rows, given in ((met, one.met), (review, one.review_instead), (floor, one.floor), (among, one.among)):
            if given is not None:
                rows[k] = given
    wrong = np.isnan(demand).any(axis=1) | np.isnan(capacity).any(axis=1)
    if wrong.any():
        raise ValueError(f"{findings[int(wrong.argmax())].name}: demand or capacity is not a number")
    ratio = np.where(demand <= 0, 0.0, np.where(capacity > 0, demand / np.where(capacity > 0, capacity, 1.0), np.nan))
    over = np.array([[int(OVER[one.kind])] for one in findings])
    codes = np.where(ratio > 1.0 + ROUNDING, over, int(Verdict.PASS))
    codes = np.where(np.isnan(ratio), int(Verdict.FAIL), codes)
    codes = np.where(by_met, np.where(met, int(Verdict.PASS), over), codes)
    codes = np.where((codes == int(Verdict.FAIL)) & review, int(Verdict.REVIEW), codes)
    codes = np.where(among, np.maximum(codes, floor), int(Verdict.PASS))
    applies = np.array([[one.applies] for one in findings])
    return Judgement(demand, capacity, ratio, np.where(applies, codes, int(Verdict.NOT_APPLICABLE)), among)


def check_results(findings: Sequence[Finding], variants: tuple[str, ...], pen: Pen) -> tuple[CheckResult, ...]:
    """The worst variant of each finding, with its working written in the reader's units."""
    judgement = judge(findings, len(variants))
    worst = judgement.worst()
    rows = np.arange(len(findings))
    demands, capacities, ratios, verdicts = (
        values[rows, worst].tolist()
        for values in (judgement.demand, judgement.capacity, judgement.ratios, judgement.verdicts)
    )
    names = [variant.replace(" ", "_") for variant in variants]
    columns = zip(findings, worst.tolist(), demands, capacities, ratios, verdicts, strict=True)
    return tuple(
        _result(one, v, names[v], demand, capacity, ratio, verdict, pen) if one.applies else _does_not_apply(one)
        for one, v, demand, capacity, ratio, verdict in columns
    )


def _does_not_apply(finding: Finding) -> CheckResult:
    return CheckResult(
        finding.name,
        finding.clause,
        Verdict.NOT_APPLICABLE.word,
        quantity=finding.quantity,
        why=finding.not_applicable,
        setting=finding.setting,
        kind=finding.kind.value,
    )


def _result(
    finding: Finding,
    worst: int,
    variant: str,
    demand: float,
    capacity: float,
    ratio_found: float,
    verdict: int,
    pen: Pen,
) -> CheckResult:
    ratio = _finite(ratio_found) if finding.met is None else None
    at = finding.at_in
    return CheckResult(
        finding.name,
        finding.clause,
        WORDS[verdict],
        _finite(demand),
        _finite(capacity),
        finding.quantity,
        ratio,
        None if at is None else _finite(at[worst if at.shape[0] > 1 else 0]),
        tuple(finding.working(worst, pen)),
        finding.caution(worst, pen),
        variant,
        "" if ratio is not None else finding.capacity_why,
        setting=finding.setting,
        kind=finding.kind.value,
    )


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
