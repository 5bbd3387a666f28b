"""What a check finds, for all variants at once, and the line of the result it comes to.

A `Finding` carries demand and capacity of every variant (V,); its verdict is derived, never passed in. A check run
reads the worst variant into one line of the result; a study reads the verdicts of all.
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
OVER = {Kind.FAILS: int(Verdict.FAIL), Kind.REVIEW: int(Verdict.REVIEW), Kind.CAUTION: int(Verdict.CAUTION)}

Lines = Callable[[int, Pen], list[str]]
Words = Callable[[int, Pen], str]


def no_words(_variant: int, _pen: Pen) -> str:
    return ""


def no_lines(_variant: int, _pen: Pen) -> list[str]:
    return []


class Finding(NamedTuple):
    """One check of all variants; demand, capacity and at (V,), in the engine's unit of `quantity`.

    floor: a verdict that holds at least, variant by variant, whatever the ratio says. met: verdicts of a check that has
    no ratio but yes or no. review_instead: where over 1 is left to an engineer. among: the variants the check looks at
    (all). capacity_why: said where the capacity is not above 0. not_applicable: why the check does not apply.
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
        graded = np.where(self.among, self.verdicts, int(Verdict.NOT_APPLICABLE) - 1)
        gravest = np.maximum.reduce(graded, axis=1, keepdims=True)
        rank = np.where(self.among & (self.verdicts == gravest), self.ratios, -np.inf)
        rank[np.isnan(rank)] = np.inf
        top = np.maximum.reduce(rank, axis=1, keepdims=True)
        near = np.where(np.isinf(top), 0.0, ROUNDING * np.maximum(1.0, top))
        return np.asarray(np.argmax(rank >= top - near, axis=1))


class _Rows(NamedTuple):
    """What K findings give, side by side: all (K, V) but by_met (K, 1), which tells those that are yes or no."""

    demand: Array
    capacity: Array
    by_met: NDArray[np.bool_]
    met: NDArray[np.bool_]
    review_instead: NDArray[np.bool_]
    floor: NDArray[np.int64]
    among: NDArray[np.bool_]


def _side_by_side(findings: Sequence[Finding], size: int) -> _Rows:
    """Demand 0 and capacity 1 for a finding that does not apply."""
    shape = (len(findings), size)
    rows = _Rows(
        demand=np.zeros(shape),
        capacity=np.ones(shape),
        by_met=np.zeros((len(findings), 1), bool),
        met=np.zeros(shape, bool),
        review_instead=np.zeros(shape, bool),
        floor=np.full(shape, int(Verdict.NOT_APPLICABLE)),
        among=np.ones(shape, bool),
    )
    for k, one in enumerate(findings):
        if one.not_applicable:
            continue
        if one.demand is None or one.capacity is None:
            raise ValueError(f"{one.name}: a check that applies needs demand and capacity")
        rows.demand[k], rows.capacity[k] = one.demand, one.capacity
        if one.met is not None:
            rows.by_met[k], rows.met[k] = True, one.met
        if one.review_instead is not None:
            rows.review_instead[k] = one.review_instead
        if one.floor is not None:
            rows.floor[k] = one.floor
        if one.among is not None:
            rows.among[k] = one.among
    return rows


def judge(findings: Sequence[Finding], size: int) -> Judgement:
    """Ratio and verdict of every finding in every variant. Raises ValueError where demand or capacity is missing or not
    a number."""
    rows = _side_by_side(findings, size)
    demand, capacity = rows.demand, rows.capacity
    wrong = np.isnan(demand) | np.isnan(capacity)
    if wrong.any():
        raise ValueError(f"{findings[int(wrong.any(axis=1).argmax())].name}: demand or capacity is not a number")
    ratio = np.full(demand.shape, np.nan)
    np.divide(demand, capacity, out=ratio, where=capacity > 0)
    ratio[demand <= 0] = 0.0
    over = np.array([[OVER[one.kind]] for one in findings])
    codes = np.where(np.where(rows.by_met, ~rows.met, ratio > 1.0 + ROUNDING), over, int(Verdict.PASS))
    codes[np.isnan(ratio) & ~rows.by_met] = int(Verdict.FAIL)
    codes[rows.review_instead & (codes == int(Verdict.FAIL))] = int(Verdict.REVIEW)
    codes = np.where(rows.among, np.maximum(codes, rows.floor), int(Verdict.PASS))
    codes[[k for k, one in enumerate(findings) if one.not_applicable]] = int(Verdict.NOT_APPLICABLE)
    return Judgement(demand, capacity, ratio, codes, rows.among)


def check_results(findings: Sequence[Finding], variants: tuple[str, ...], pen: Pen) -> tuple[CheckResult, ...]:
    """The worst variant of each finding, with its working written in the reader's units."""
    judgement = judge(findings, len(variants))
    worst = judgement.worst()
    rows = np.arange(len(findings))
    demands, capacities, ratios = (
        [value if math.isfinite(value) else None for value in values[rows, worst].tolist()]
        for values in (judgement.demand, judgement.capacity, judgement.ratios)
    )
    words = [WORDS[verdict] for verdict in judgement.verdicts[rows, worst].tolist()]
    names = [variant.replace(" ", "_") for variant in variants]
    columns = zip(findings, worst.tolist(), words, demands, capacities, ratios, strict=True)
    return tuple(
        _does_not_apply(one) if one.not_applicable else _result(one, v, names[v], word, demand, capacity, ratio, pen)
        for one, v, word, demand, capacity, ratio in columns
    )


def _does_not_apply(finding: Finding) -> CheckResult:
    return CheckResult(
        finding.name,
        finding.clause,
        Verdict.NOT_APPLICABLE.word,
        quantity=finding.quantity,
        why=finding.not_applicable,
        setting=finding.setting,
        kind=str(finding.kind),
    )


def _result(
    finding: Finding,
    worst: int,
    variant: str,
    verdict: str,
    demand: float | None,
    capacity: float | None,
    ratio: float | None,
    pen: Pen,
) -> CheckResult:
    if finding.met is not None:
        ratio = None
    return CheckResult(
        finding.name,
        finding.clause,
        verdict,
        demand,
        capacity,
        finding.quantity,
        ratio,
        _place(finding.at_in, worst),
        tuple(finding.working(worst, pen)),
        finding.caution(worst, pen),
        variant,
        "" if ratio is not None else finding.capacity_why,
        finding.setting,
        str(finding.kind),
    )


def _place(at_in: Array | None, variant: int) -> float | None:
    """x of a variant, where there is one; (V or 1,)"""
    if at_in is None:
        return None
    x = float(at_in[variant if len(at_in) > 1 else 0])
    return x if math.isfinite(x) else None
