"""The re-tightening plan as a document, and whether a stronger rod is the better answer.

A stronger rod: a smaller thread or the same, of a stronger grade, its force raised by steps until the service checks
hold to the end of life without a visit. Shrinkage and creep cost every rod much the same stress, so the more highly
stressed rod keeps the larger share.
"""

from typing import Any

import numpy as np

from engineering.core.checks.finding import Verdict
from engineering.core.contract import Piece, SpecificationRefused, parse
from engineering.core.contract.piece import Thread
from engineering.core.contract.units import QUANTITIES, format_quantity
from engineering.core.drafts import Document, RodSet, with_rods
from engineering.core.retightening import Course, Plan, full_levels, plan_of, service_levels, with_restress
from engineering.core.shelf import like_of, next_thread, usual_shelf
from engineering.core.tables.grades import find_grade
from engineering.core.time_dependent import DAYS_IN_YEAR
from engineering.core.variants import Numbers, judge

FORMAT = "re-tightening/1"
RAISED = (1.0, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5, 3.0)
MOST_OPTIONS = 4


def report(document: Document) -> dict[str, Any]:
    """Need, visits, what remains, stronger rods and the better answer, in the document's units."""
    plan = plan_of(document)
    piece = parse(with_restress(document, ()))
    stronger = stronger_rods(with_restress(document, ()), piece)
    better, words = _better(piece, plan, stronger)
    units = piece.units

    def force(value: float) -> float:
        return round(QUANTITIES["force"].from_us(value, units), 1)

    return {
        "format": FORMAT,
        "specification": parse(document).specification_hash,
        "units": units,
        "unit": {"force": QUANTITIES["force"].unit(units), "age": "days"},
        "life_years": piece.criteria.life_years,
        "installation_age": piece.installation_age_days,
        "need": {"force": force(plan.need.nominal_lbf), "by": plan.need.by, "reachable": plan.need.reachable},
        "falls_below_at": plan.falls_days,
        "left_without_visits": force(plan.alone.nominal_lbf[-1]),
        "visits": [
            {"age": round(v.age_days, 2), "before": force(v.before_lbf), "after": force(v.after_lbf)}
            for v in plan.visits
        ],
        "left": force(plan.left_lbf),
        "holds": plan.holds,
        "without": _course(plan.alone, units),
        "with": _course(plan.course, units),
        "stronger": [{**one, "force": force(one["force"]), "left": force(one["left"])} for one in stronger],
        "better": better,
        "words": words,
    }


def _course(course: Course, units: str) -> dict[str, list[float]]:
    kind = QUANTITIES["force"]
    return {
        "age": [round(float(age), 3) for age in course.ages_days],
        "force": [round(kind.from_us(float(f), units), 1) for f in course.nominal_lbf],
        "low": [round(kind.from_us(float(f), units), 1) for f in course.low_lbf],
    }


def stronger_rods(document: Document, piece: Piece) -> list[dict[str, Any]]:
    """Rods at the present places that need no visit: thread, grade, total force [lbf], what is left, verdict. Least
    force first."""
    if any(rod.thread != piece.rods[0].thread for rod in piece.rods):
        return []
    levels, found = full_levels(piece), []
    for thread, grade in _candidates(piece):
        option = _option(document, piece, thread, grade, levels)
        if option is not None:
            found.append(option)
    return sorted(found, key=lambda one: (one["verdict"] != "pass", one["force"], one["thread"], one["grade"]))[
        :MOST_OPTIONS
    ]


def _candidates(piece: Piece) -> list[tuple[Thread, str]]:
    """Grades with more yield than the present one, in the present thread and the next two smaller."""
    present = piece.rods[0]
    names = dict.fromkeys(grade for _, grades in usual_shelf(piece) for grade in grades)
    threads = [present.thread, next_thread(present.thread, -1), next_thread(present.thread, -2)]
    return [
        (thread, name)
        for thread in threads
        if thread is not None
        for name in names
        if (grade := find_grade(name, thread)) is not None and grade.yield_psi > present.grade.yield_psi * 1.01
    ]


def _option(document: Document, piece: Piece, thread: Thread, grade: str, levels: np.ndarray) -> dict[str, Any] | None:
    """The least raise of force at which such rods hold to the end without a visit; None where none does."""
    first = piece.rods[0]
    own = {**like_of(piece, thread, (grade,)), "grade": grade, "curve": first.curve}
    rods = RodSet(own, tuple(rod.across_in for rod in piece.rods), first.profile, first.jacking_force_lbf, ())
    try:
        other = parse(with_rods(document, rods, {}))
    except SpecificationRefused:
        return None
    present = np.array([rod.jacking_force_lbf for rod in piece.rods])
    forces = np.array(RAISED)[:, None] * present
    judged = judge(other, Numbers(len(RAISED), forces))
    kept = judged.force_left_lbf.sum(axis=1) >= piece.criteria.remaining * judged.transfer_lbf.sum(axis=1)
    holds = np.all(service_levels(judged) <= levels, axis=1) & (judged.piece_verdict < int(Verdict.FAIL)) & kept
    if not holds.any():
        return None
    k = int(np.argmax(holds))
    return {
        "thread": thread.name,
        "grade": grade,
        "force": float(forces[k].sum()),
        "left": float(judged.force_left_lbf[k].sum()),
        "verdict": Verdict(int(judged.piece_verdict[k])).word,
    }


def _better(piece: Piece, plan: Plan, stronger: list[dict[str, Any]]) -> tuple[str, str]:
    """none, tighten, stronger or neither; and why."""
    units, site = piece.units, [v for v in plan.visits if v.age_days > piece.installation_age_days]
    rod = f"{stronger[0]['thread']} {stronger[0]['grade']}" if stronger else ""
    force = format_quantity(stronger[0]["force"] / len(piece.rods), "force", units) if stronger else ""
    instead = f"{rod} at {force} a rod needs no visit"
    if plan.falls_days is None and plan.need.reachable:
        return "none", "The force stays over what service needs for the whole life: no re-tightening is needed."
    if not plan.visits or not plan.holds:
        start = (
            f"Even the full force does not hold {plan.need.by}: tightening again does not help."
            if not plan.need.reachable
            else "The force falls faster than visits can bring it back."
        )
        return ("stronger", f"{start} A stronger rod is the answer: {instead}.") if stronger else (
            "neither", f"{start} Nor does a stronger rod at these places: look for other rods or another section."
        )  # fmt: skip
    when = " and ".join(_age(v.age_days) for v in plan.visits)
    if site and stronger:
        visits = "one visit" if len(site) == 1 else f"{len(site)} visits"
        return "stronger", f"Tightening again at {when} works but asks for {visits} on site; {instead}."
    return "tighten", f"Tighten again at {when}: the force then stays over what service needs for the life asked."


def _age(days: float) -> str:
    years = days / DAYS_IN_YEAR
    if years < 0.99:
        return f"{days:.0f} days"
    return "1 year" if round(years) == 1 else f"{years:.0f} years"
