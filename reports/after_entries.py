"""What was done to a piece after its rods were tight: lift-off, re-stressing, incidents, the finish of its ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.db.models import Model, QuerySet

from jobs.models import (
    Finishing,
    GatePass,
    Incident,
    LiftOff,
    LoadTestPlan,
    LoadTestReading,
    NonConformance,
    Piece,
    Restressing,
)
from reports.noted import Noted, noted, when

OF_A_PLAN = (
    "what",
    "unit_lbf",
    "layers",
    "hold_minutes",
    "total_lbf",
    "stop_deflection_in",
    "span_in",
    "depth_in",
)


@dataclass(frozen=True)
class After:
    """Entries in order of time; the rows behind them in `rows`."""

    lift_offs: tuple[Noted, ...] = ()
    restressings: tuple[Noted, ...] = ()
    incidents: tuple[Noted, ...] = ()
    finishings: tuple[Noted, ...] = ()
    deviations: tuple[Noted, ...] = ()  # non-conformances
    passes: tuple[Noted, ...] = ()  # gates passed over
    rows: tuple[Model, ...] = field(default=(), repr=False)


@dataclass(frozen=True)
class LoadPlan:
    """A load test as it was planned, and every look at the dial."""

    plan: Noted
    readings: tuple[Noted, ...]


def after_of(piece: Piece, *, deviations: bool) -> After:
    """`deviations`: also what was not as drawn, and which gates were passed over."""
    lifts = list(_by(LiftOff.objects.filter(piece=piece)))
    again = list(_by(Restressing.objects.filter(piece=piece).select_related("wrench")))
    incidents = list(_by(Incident.objects.filter(piece=piece)))
    ends = list(_by(Finishing.objects.filter(piece=piece)))
    wrong = list(_by(NonConformance.objects.filter(piece=piece).select_related("decided_by"))) if deviations else []
    passes = list(_by(GatePass.objects.filter(piece=piece))) if deviations else []
    return After(
        lift_offs=tuple(noted(r, "rod", "force_lbf", "expected_lbf", "within_tolerance", "findings") for r in lifts),
        restressings=tuple(_restressing(row) for row in again),
        incidents=tuple(
            noted(r, "rods", "what", "somebody_hurt", "confirmed", kind=r.get_kind_display()) for r in incidents
        ),
        finishings=tuple(noted(r, "tails_cut", "capped", "greased", "pockets_filled") for r in ends),
        deviations=tuple(_deviation(row) for row in wrong),
        passes=tuple(noted(r, "to_stage", "texts", "reason") for r in passes),
        rows=(*lifts, *again, *incidents, *ends, *wrong, *passes),
    )


def load_plans_of(piece: Piece) -> tuple[tuple[LoadPlan, ...], Sequence[Model]]:
    """Plans with their readings, and the rows behind both."""
    rows: list[Model] = []
    found = []
    for plan in _by(LoadTestPlan.objects.filter(piece=piece)):
        readings = list(_by(LoadTestReading.objects.filter(plan=plan)))
        rows += [plan, *readings]
        looks = tuple(noted(r, "load_lbf", "deflection_in", "crack_seen") for r in readings)
        found.append(LoadPlan(noted(plan, *OF_A_PLAN), looks))
    return tuple(found), rows


def _by(rows: QuerySet) -> QuerySet:
    return rows.select_related("by").order_by("at", "pk")


def _restressing(row: Restressing) -> Noted:
    wrench = str(row.wrench.name) if row.wrench else ""
    return noted(row, "age_days", "rods", "crown_in", "within_tolerance", "findings", wrench=wrench)


def _deviation(row: NonConformance) -> Noted:
    decided = {
        "decision": row.get_decision_display() if row.decision else "",
        "decided_by": row.decided_by.display_name if row.decided_by else "",
        "decided_at": when(row.decided_at),
        "repaired_at": when(row.repaired_at),
    }
    return noted(row, "what", "place", "decision_note", "licence_number", "jurisdiction", "repair_note", **decided)
