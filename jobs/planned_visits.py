"""Visits that a re-tightening plan asks for and the drawing a piece was built to does not: dates for the schedule.

They are no work order: what is to be done stands on a drawing. They go to the engineer and the manager, who decide.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.models import JobStatus, Specification, Study
from jobs.models import Piece

SAME_DAY = 0.5


@dataclass(frozen=True)
class PlannedVisit:
    age_days: float
    at: datetime


def with_plans(specifications: QuerySet[Specification]) -> QuerySet[Any]:
    """Each with `plan`, the result of its newest finished plan, or None. In the same query."""
    plans = Study.objects.filter(kind="re-tightening", status=JobStatus.DONE, specification=OuterRef("pk"))
    return specifications.annotate(plan=Subquery(plans.order_by("-pk").values("result")[:1]))


def plans_of(specification_ids: Iterable[int]) -> dict[int, dict[str, Any]]:
    """The newest finished plan of each specification that has one. One query."""
    rows = with_plans(Specification.objects.filter(pk__in=set(specification_ids)).only("pk"))
    return {row.pk: row.plan for row in rows if row.plan}


def visits_not_drawn(piece: Piece, described: DescribedPiece, plan: Mapping[str, Any] | None) -> list[PlannedVisit]:
    """Ages of the plan that the drawing does not name and that no re-stressing has covered, counted from the pour."""
    if piece.pour is None:
        return []
    drawn = described.stressing.restress_days if described.stressing else ()
    return [PlannedVisit(age, piece.pour.at + timedelta(days=age)) for age in ages_not_drawn(plan, drawn)]


def ages_not_drawn(plan: Mapping[str, Any] | None, drawn: Sequence[float]) -> list[float]:
    """Ages [days] of a plan that is of use, without those that the drawing names, or nearly so."""
    if plan is None or plan.get("better") not in ("tighten", "stronger"):
        return []
    return [
        visit["age"]
        for visit in plan.get("visits", [])
        if not any(abs(visit["age"] - age) <= max(SAME_DAY, 0.1 * age) for age in drawn)
    ]
