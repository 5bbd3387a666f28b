"""What is to be told: found afresh by every sweep from the rows themselves, said once, over when it no longer holds.

Each finder yields (key, kind, text, roles, piece). The key names the one thing, so that it is written once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from engineering.models import CheckRun, JobStatus, Verdict
from engineering.queries import described_piece, latest_run_ids
from jobs import strength_rule, tightness
from jobs.models import NonConformance, Piece, Restressing, Revision, Role, Stage, Stressing, Wrench
from jobs.planned_visits import plans_of, visits_not_drawn
from jobs.stages import TIGHT

OFFICE = (Role.ENGINEER, Role.MANAGER)
CALIBRATION_AHEAD = timedelta(days=14)
RESTRESS_AHEAD = timedelta(days=3)
VISIT_AHEAD = timedelta(days=30)  # time for an engineer to decide and for the site to be asked


# The kinds in the order in which they are shown: something wrong with a piece, rods that are due, what holds up work,
# what the office decides, dates.
URGENCY = (
    "non-conformance",
    "repair",
    "check-failed",
    "lift-off-due",
    "restressing-due",
    "strength-reached",
    "review-wanted",
    "visit-planned",
    "piece-late",
    "calibration-due",
)


@dataclass(frozen=True)
class Found:
    key: str
    kind: str
    text: str
    roles: tuple[str, ...]
    piece: Piece | None = None
    about: Mapping[str, Any] = field(default_factory=dict)  # design, wrench or non_conformance, as columns of a notice

    @property
    def place(self) -> dict[str, Any]:
        """The columns by which it is listed for each role."""
        return {
            "urgency": URGENCY.index(self.kind),
            "for_manager": Role.MANAGER in self.roles,
            "for_engineer": Role.ENGINEER in self.roles,
            "for_crew": Role.CREW in self.roles,
        }


def found_now(now: datetime | None = None) -> Iterator[Found]:
    """Everything that stands to be told now. A fixed number of queries, and one for each row that is stressed."""
    now = now or timezone.now()
    yield from _checks(now)
    yield from _non_conformances()
    yield from _strength_reached()
    yield from _rods(now)
    yield from _calibration(now)
    yield from _late(now)


def _pieces() -> QuerySet[Piece]:
    return Piece.objects.filter(design__order__archived_at=None).select_related(
        "design__order", "revision__specification", "pour"
    )


def _checks(now: datetime) -> Iterator[Found]:
    """Newest revisions of open orders whose checks failed, or wait for a review."""
    newest: dict[int, Any] = {}  # revisions with `run_pk`
    rows = Revision.objects.filter(design__order__archived_at=None).select_related("design__order", "release")
    for row in rows.annotate(run_pk=latest_run_ids("specification")).order_by("number"):
        newest[row.design_id] = row
    runs = (
        CheckRun.objects.filter(status=JobStatus.DONE).only("verdict").in_bulk([row.run_pk for row in newest.values()])
    )
    for row in newest.values():
        run = runs.get(row.run_pk)
        if run is None:
            continue
        if run.verdict == Verdict.FAIL:
            text = f"{row}: its checks fail."
            yield Found(f"failed-{run.pk}", "check-failed", text, OFFICE, about={"design": row.design})
        elif run.verdict == Verdict.REVIEW and getattr(row, "release", None) is None:
            text = f"{row} waits for an engineer's review."
            yield Found(f"review-{run.pk}", "review-wanted", text, (Role.ENGINEER,), about={"design": row.design})


def _non_conformances() -> Iterator[Found]:
    rows = NonConformance.objects.filter(repaired_at=None, decision__in=("", NonConformance.Decision.REPAIR))
    for row in rows.select_related("piece__design"):
        if row.decision:
            text = f"{row.piece} is to be repaired."
            yield Found(f"repair-{row.pk}", "repair", text, (Role.CREW,), row.piece, {"non_conformance": row})
        else:
            text = f"{row.piece}: non-conformance {row.pk} waits for a decision."
            yield Found(
                f"non-conformance-{row.pk}", "non-conformance", text, OFFICE, row.piece, {"non_conformance": row}
            )


def _strength_reached() -> Iterator[Found]:
    """Pieces whose newest test proves what the next step asks for."""
    for piece in _pieces().filter(stage__in=(Stage.CURING, Stage.STRIPPED)):
        if piece.revision is None:
            continue
        drawn = described_piece(piece.revision.specification)
        stripping = piece.stage == Stage.CURING
        handling = drawn.handling.strength_psi if drawn.handling else None
        needed = handling if stripping else drawn.concrete.strength_at_stressing_psi if drawn.rods else None
        test = strength_rule.newest_test(piece.pour)
        if needed is None or test is None or strength_rule.shortfalls(test, needed, drawn.units):
            continue
        what = "stripped" if stripping else "stressed"
        text = f"{piece} has reached the strength to be {what}."
        yield Found(f"strength-{piece.pk}-{piece.stage}", "strength-reached", text, (Role.CREW,), piece)


def _rods(now: datetime) -> Iterator[Found]:
    """Lift-off after a day, re-stressing at its ages, of pieces whose rods are tight."""
    rounds = Stressing.objects.filter(state=Stressing.State.COMPLETE).prefetch_related("lift_offs").order_by("at", "pk")
    rows = (
        _pieces()
        .filter(stage__in=TIGHT)
        .prefetch_related(Prefetch("stressings", rounds), Prefetch("restressings", Restressing.objects.all()))
    )
    plans = plans_of(row.revision.specification_id for row in rows if row.revision is not None)
    for piece in rows:
        done = list(piece.stressings.all())
        due = tightness.lift_off_due(done[-1]) if done else None
        lifted = {row.rod for row in done[-1].lift_offs.all()} if done else set()
        if due and now >= due and piece.stage in (Stage.STRESSED, Stage.LOAD_TESTED):
            left = [rod for rod in done[-1].targets["order"] if rod not in lifted]
            if left:
                text = f"{piece}: lift off {', '.join(left)}; a day has passed since the last turn."
                yield Found(f"lift-off-{done[-1].pk}", "lift-off-due", text, (Role.CREW,), piece)
        if piece.revision is None:
            continue
        described = described_piece(piece.revision.specification)
        for visit in visits_not_drawn(piece, described, plans.get(piece.revision.specification_id)):
            if now >= visit.at - VISIT_AHEAD:
                text = (
                    f"{piece}: its re-tightening plan asks for a visit on {timezone.localtime(visit.at):%-d %b %Y} "
                    f"({visit.age_days:.0f} days); its drawing does not. Decide."
                )
                key = f"planned-visit-{piece.pk}-{visit.age_days:g}"
                yield Found(key, "visit-planned", text, (Role.ENGINEER, Role.MANAGER), piece)
        for restress in tightness.restress_dues(piece, described):
            if now >= restress.at - RESTRESS_AHEAD:
                day = timezone.localtime(restress.at)
                text = f"{piece} is to be re-stressed on {day:%-d %b %Y} ({restress.age_days:g} days)."
                key = f"restress-{piece.pk}-{restress.age_days:g}"
                yield Found(key, "restressing-due", text, (Role.CREW, Role.MANAGER), piece)


def _calibration(now: datetime) -> Iterator[Found]:
    until = timezone.localdate(now) + CALIBRATION_AHEAD
    for wrench in Wrench.objects.filter(active=True, calibrated_until__lte=until):
        text = f"Calibration of {wrench}: good until {wrench.calibrated_until:%-d %b %Y}."
        key = f"wrench-{wrench.pk}-{wrench.calibrated_until}"
        yield Found(key, "calibration-due", text, (Role.MANAGER,), about={"wrench": wrench})


def _late(now: datetime) -> Iterator[Found]:
    done = (Stage.INSTALLED, Stage.REJECTED)
    late = _pieces().filter(design__order__due_date__lt=timezone.localdate(now))
    for piece in late.exclude(stage__in=done):
        due = piece.design.order.due_date
        text = f"{piece} of order {piece.design.order.number} was due on {due:%-d %b %Y}; it is {piece.stage}."
        yield Found(f"late-{piece.pk}-{due}", "piece-late", text, (Role.MANAGER,), piece)
