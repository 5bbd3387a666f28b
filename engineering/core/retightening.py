"""When to bring rods back to their force, so that it stays over what service needs for the life asked.

What service needs is found with the checks: the same piece without creep and shrinkage, its rods weaker and weaker,
until a service check no longer holds. The course of the force is the engine's own, of the variant with every rod low.
Each visit is put as late as the force allows; the whole plan then goes through the checks as `restress` ages.
"""

import copy
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engineering.core.analysis import analyse
from engineering.core.batching import LOW, NOMINAL, Array, Batch
from engineering.core.checks.finding import Verdict
from engineering.core.contract import Piece, parse
from engineering.core.drafts import Document
from engineering.core.time_dependent import DAYS_IN_YEAR
from engineering.core.variants import Judged, Numbers, as_check_runs, batch_of, judge

SERVICE_CHECKS = (
    "tension under sustained load",
    "tension under full load",
    "flexural strength",
    "hanging on its rods",
    "first-crack margin",
)
YEARS = (1, 2, 3, 5, 7, 10, 15, 20, 30)
LADDER_DAYS = (14.0, 21.0, 28.0, 42.0, 60.0, 90.0, 120.0, 180.0, 270.0, *(DAYS_IN_YEAR * years for years in YEARS))
MOST_VISITS = 6
SHARES, HALVINGS = 41, 3
SAFETY = 1.02  # a visit comes while the force is this much over the need; more where the checks say so


@dataclass(frozen=True)
class Need:
    """Least total force [lbf] of the low variant and of the nominal one; by: the check or criterion that asks for it.
    reachable False: even without losses the checks do not hold, and no re-tightening helps."""

    low_lbf: float
    nominal_lbf: float
    by: str
    reachable: bool


@dataclass(frozen=True)
class Course:
    """Total force in time [lbf] (T,), low variant and nominal; an age at which something jumps is there twice."""

    ages_days: Array
    low_lbf: Array
    nominal_lbf: Array


@dataclass(frozen=True)
class Visit:
    age_days: float
    before_lbf: float  # nominal total force found, and left
    after_lbf: float


@dataclass(frozen=True)
class Plan:
    need: Need
    alone: Course  # without any visit
    falls_days: float | None  # age at which the force falls under the need without a visit; None: never
    visits: tuple[Visit, ...]
    course: Course
    left_lbf: float  # nominal, at the end of life
    holds: bool  # the force stays over the need, and the service checks hold with these restress ages


def with_restress(document: Document, ages_days: Sequence[float]) -> Document:
    """The document with these ages of re-stressing and no others."""
    found = copy.deepcopy(document)
    found["stressing"] = {**found["stressing"], "restress": list(ages_days)}
    return found


def plan_of(document: Document) -> Plan:
    """The plan with the fewest visits, each as late as can be. Raises ValueError for a piece without rods."""
    bare = with_restress(document, ()) if document.get("stressing") else document
    piece = parse(bare)
    if not piece.rods or piece.stressing is None:
        raise ValueError("a piece without rods has nothing to tighten again")
    need, alone = need_of(piece), course_of(piece)
    falls = _falls(piece, alone, need.low_lbf)
    plan = _visits(bare, piece, need, SAFETY)
    for safety in (1.05, 1.10):
        if plan is None or plan[1]:
            break
        plan = _visits(bare, piece, need, safety)
    ages, holds = plan if plan is not None else ((), False)
    course = course_of(parse(with_restress(bare, ages)))
    visits = tuple(_visit(course, age) for age in ages)
    return Plan(need, alone, falls, visits, course, float(course.nominal_lbf[-1]), holds)


def _visit(course: Course, age: float) -> Visit:
    at = np.flatnonzero(np.abs(course.ages_days - age) < 1e-9)
    return Visit(age, float(course.nominal_lbf[at[0]]), float(course.nominal_lbf[at[-1]]))


def course_of(piece: Piece) -> Course:
    time = analyse(Batch.check_run(piece)).time
    return Course(time.ages_days, time.force_lbf[LOW].sum(axis=1), time.force_lbf[NOMINAL].sum(axis=1))


def service_levels(judged: Judged) -> Array:
    """Verdicts of the service checks, at least a caution: what a weaker rod may not make worse. (V, lines)"""
    lines = np.array([name.startswith(SERVICE_CHECKS) for name in judged.names])
    return np.maximum(judged.verdicts[:, lines].astype(float), float(Verdict.CAUTION))


def need_of(piece: Piece) -> Need:
    """By weaker and weaker rods in concrete that neither creeps nor shrinks; and `criteria.remaining`.

    A service check that leaves even the full force to an engineer may stay so; none may get worse.
    """
    present = np.array([rod.jacking_force_lbf for rod in piece.rods])
    low, high, name = 0.02, 1.0, ""
    allowed = full_levels(piece)
    if np.any(allowed == float(Verdict.FAIL)):
        whole = _forces(piece, present, 1.0)
        return Need(whole[LOW], whole[NOMINAL], _worst(judge(piece, _lossless(piece, present, np.ones(1))))[0], False)
    for _ in range(HALVINGS):
        shares = np.linspace(low, high, SHARES)
        judged = judge(piece, _lossless(piece, present, shares))
        worse = np.flatnonzero(np.any(service_levels(judged) > allowed, axis=1))
        if not worse.size:
            high = float(shares[0])
            break
        last = int(worse[-1])
        low, high, name = float(shares[last]), float(shares[last + 1]), _worst(judged)[last]
    needed, start = _forces(piece, present, high), _transfer(piece)
    kept = piece.criteria.remaining
    if kept * start[NOMINAL] > needed[NOMINAL]:
        return Need(kept * start[LOW], kept * start[NOMINAL], "rod force left", True)
    return Need(needed[LOW], needed[NOMINAL], name or "the self weight and loads ask for none", True)


def full_levels(piece: Piece) -> Array:
    """`service_levels` at the full force, nothing lost. (1, lines)"""
    present = np.array([rod.jacking_force_lbf for rod in piece.rods])
    return service_levels(judge(piece, _lossless(piece, present, np.ones(1))))


def _worst(judged: Judged) -> list[str]:
    lines = np.array([name.startswith(SERVICE_CHECKS) for name in judged.names])
    over = np.where(lines, judged.verdicts * 1e6 + np.nan_to_num(judged.ratios, nan=1e5), -1.0)
    return [judged.names[k] for k in np.argmax(over, axis=1)]


def _lossless(piece: Piece, present: Array, shares: Array) -> Numbers:
    none = np.zeros(len(shares))
    return Numbers(len(shares), shares[:, None] * present, concrete=(("creep", none), ("shrinkage", none)))


def _forces(piece: Piece, present: Array, share: float) -> list[float]:
    """Total force at the end of life of each of the five variants. lbf"""
    analysis = analyse(as_check_runs(batch_of(piece, _lossless(piece, present, np.array([share])))))
    return [float(total) for total in analysis.time.final_lbf.sum(axis=1)]


def _transfer(piece: Piece) -> list[float]:
    return [float(total) for total in analyse(Batch.check_run(piece)).tendons.transfer_lbf.sum(axis=1)]


def _falls(piece: Piece, course: Course, need_lbf: float) -> float | None:
    """First age from installation on at which the low variant's force is under the need; None: never."""
    ages, force = course.ages_days, course.low_lbf
    under = np.flatnonzero((force < need_lbf) & (ages >= piece.installation_age_days - 1e-9))
    if not under.size:
        return None
    k = int(under[0])
    if ages[k] <= piece.installation_age_days + 1e-9 or force[k - 1] < need_lbf:
        return float(max(piece.installation_age_days, ages[0]))
    share = (force[k - 1] - need_lbf) / (force[k - 1] - force[k])
    return float(np.exp(np.log(ages[k - 1]) + share * (np.log(ages[k]) - np.log(ages[k - 1]))))


def _visits(document: Document, piece: Piece, need: Need, safety: float) -> tuple[tuple[float, ...], bool] | None:
    """Ages, and whether the checks then hold; None where no such ages keep the force."""
    if not need.reachable or piece.stressing is None:
        return None
    ages: list[float] = []
    last, life = piece.stressing.age_days, piece.criteria.life_years * DAYS_IN_YEAR
    while len(ages) <= MOST_VISITS:
        there = parse(with_restress(document, ages))
        falls = _falls(there, course_of(there), need.low_lbf * (safety if ages else 1.0))
        if falls is None:
            return tuple(ages), bool(np.all(service_levels(judge(there, Numbers(1))) <= full_levels(piece)))
        ladder = sorted({*LADDER_DAYS, piece.installation_age_days})
        fitting = [age for age in ladder if last < age <= falls + 1e-9 and age < life]
        if not fitting:
            return None
        ages.append(fitting[-1])
        last = ages[-1]
    return None
