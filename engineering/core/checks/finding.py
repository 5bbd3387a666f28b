"""What a check finds, for all variants at once, and the line of the result it comes to.

A `Finding` carries demand and capacity of every variant (V,); its verdict is derived, never passed in. A check run
reads the
worst variant into one line of the result; a study reads the verdicts of all.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum, StrEnum
from functools import cached_property

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


OVER = {Kind.FAILS: Verdict.FAIL, Kind.REVIEW: Verdict.REVIEW, Kind.CAUTION: Verdict.CAUTION}

Lines = Callable[[int, Pen], list[str]]
Words = Callable[[int, Pen], str]


def no_words(_variant: int, _pen: Pen) -> str:
    return ""


def no_lines(_variant: int, _pen: Pen) -> list[str]:
    return []


@dataclass(frozen=True)
class Finding:
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

    def ratios(self) -> Array:
        """Demand/capacity (V,): 0 where the demand has the harmless sign, nan where there is no capacity."""
        return self._ratios

    @cached_property
    def _ratios(self) -> Array:
        demand, capacity = self.both()
        safe = np.where(capacity > 0, capacity, 1.0)
        return np.where(demand <= 0, 0.0, np.where(capacity > 0, demand / safe, np.nan))

    def verdicts(self) -> NDArray[np.int64]:
        """Verdict of every variant (V,), as the whole numbers of `Verdict`."""
        return self._verdicts

    @cached_property
    def _verdicts(self) -> NDArray[np.int64]:
        if not self.applies:
            return np.full(1, int(Verdict.NOT_APPLICABLE))
        ratio = self.ratios()
        over = np.full(ratio.shape, int(OVER[self.kind]))
        codes = np.where(ratio > 1.0 + ROUNDING, over, int(Verdict.PASS))
        codes = np.where(np.isnan(ratio), int(Verdict.FAIL), codes)
        if self.met is not None:
            codes = np.where(self.met, int(Verdict.PASS), over)
        if self.review_instead is not None:
            codes = np.where((codes == int(Verdict.FAIL)) & self.review_instead, int(Verdict.REVIEW), codes)
        if self.floor is not None:
            codes = np.maximum(codes, self.floor)
        return codes if self.among is None else np.where(self.among, codes, int(Verdict.PASS))

    def worst(self) -> int:
        """The variant that governs: gravest verdict, then greatest ratio, then the first."""
        ratio = self.ratios()
        rank = np.where(np.isnan(ratio), np.inf, ratio)
        codes = self.verdicts()
        counts = np.ones(codes.shape, bool) if self.among is None else np.broadcast_to(self.among, codes.shape)
        rank = np.where(counts & (codes == codes[counts].max()), rank, -np.inf)
        top = float(rank.max())
        return int(np.argmax(rank >= (top if np.isinf(top) else top - ROUNDING * max(1.0, top))))

    def both(self) -> tuple[Array, Array]:
        """Demand and capacity, of one shape. Raises ValueError where one is missing or not a number."""
        return self._both

    @cached_property
    def _both(self) -> tuple[Array, Array]:
        if self.demand is None or self.capacity is None:
            raise ValueError(f"{self.name}: a check that applies needs demand and capacity")
        demand, capacity = np.broadcast_arrays(np.asarray(self.demand, float), np.asarray(self.capacity, float))
        if np.any(np.isnan(demand)) or np.any(np.isnan(capacity)):
            raise ValueError(f"{self.name}: demand or capacity is not a number")
        return demand, capacity


def check_result(finding: Finding, variants: tuple[str, ...], pen: Pen) -> CheckResult:
    """The worst variant of a finding, with its working written in the reader's units."""
    if not finding.applies:
        return CheckResult(
            finding.name,
            finding.clause,
            Verdict.NOT_APPLICABLE.word,
            quantity=finding.quantity,
            why=finding.not_applicable,
            setting=finding.setting,
            kind=finding.kind.value,
        )
    worst = finding.worst()

    def here(values: Array) -> float | None:
        value = float(np.broadcast_to(values, (len(variants),))[worst])
        return value if np.isfinite(value) else None

    demand, capacity = finding.both()
    ratio = here(finding.ratios()) if finding.met is None else None
    verdict = Verdict(int(np.broadcast_to(finding.verdicts(), (len(variants),))[worst]))
    return CheckResult(
        finding.name,
        finding.clause,
        verdict.word,
        here(demand),
        here(capacity),
        finding.quantity,
        ratio,
        None if finding.at_in is None else here(finding.at_in),
        tuple(finding.working(worst, pen)),
        finding.caution(worst, pen),
        variants[worst].replace(" ", "_"),
        "" if ratio is not None else finding.capacity_why,
        setting=finding.setting,
        kind=finding.kind.value,
    )
