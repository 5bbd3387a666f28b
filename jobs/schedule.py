"""The shop's dates from its rows: what is due, planned, earliest, and what is late. A fixed number of queries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef
from django.urls import reverse
from django.utils import timezone

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.models import Specification
from engineering.queries import described_piece
from jobs import strength_rule
from jobs.calendar_feed import Dated
from jobs.maturity_rule import MaturityBook, NotByMaturity
from jobs.models import Order, Piece, Pour, Stage, StrengthTest, Wrench
from jobs.planned_visits import visits_not_drawn, with_plans
from jobs.stages import LINE
from jobs.tightness import restress_dues
from jobs.words import say

BEFORE_POUR = (Stage.ORDERED, Stage.DESIGNED, Stage.RELEASED, Stage.FORMED)
IN_BED = (Stage.POURED, Stage.CURING)
TIGHT = LINE[LINE.index(Stage.STRESSED) :]
MOST = 5_000
Span = tuple[date, date]  # from, and up to but not with


@dataclass(frozen=True)
class Plan:
    entries: list[Dated]
    in_beds: int


def plan(start: date, end: date) -> Plan:
    """Everything dated from `start` up to but not with `end`, in order; and how many pieces cure in their forms."""
    today = timezone.localdate()
    span = (start, end)
    curing, drawn = _poured(), _drawn()
    entries = [*_due_orders(today, span), *_pours(today, span), *_stressings(curing, drawn)]
    entries += [*_restressings(today, drawn), *_wrenches(today, span)]
    within = [entry for entry in entries if start <= entry.on < end]
    beds = sum(piece.stage in IN_BED for piece in curing)
    return Plan(sorted(within, key=lambda entry: (entry.on, entry.text)), beds)


def _due_orders(today: date, span: Span) -> list[Dated]:
    going_on = Piece.objects.filter(design__order=OuterRef("pk")).exclude(stage__in=(Stage.INSTALLED, Stage.REJECTED))
    rows = Order.objects.filter(Exists(going_on), archived_at=None, due_date__gte=span[0], due_date__lt=span[1])
    return [
        Dated(
            f"order-{row.pk}",
            row.due_date,
            say("Due: {order}", order=row),
            row.due_date < today,
            reverse("order", args=[row.pk]),
        )
        for row in rows[:MOST]
        if row.due_date is not None
    ]


def _pours(today: date, span: Span) -> list[Dated]:
    rows = Piece.objects.filter(
        stage__in=BEFORE_POUR,
        pour_planned__gte=span[0],
        pour_planned__lt=span[1],
        design__order__archived_at=None,
    )
    return [
        Dated(
            f"pour-{row.pk}",
            row.pour_planned,
            say("Pour {piece}", piece=row),
            row.pour_planned < today,
            reverse("piece", args=[row.pk]),
        )
        for row in rows.select_related("design__order")[:MOST]
        if row.pour_planned is not None
    ]


def _poured() -> list[Piece]:
    """What is poured and not stressed."""
    rows = Piece.objects.filter(
        stage__in=(*IN_BED, Stage.STRIPPED), pour__isnull=False, design__order__archived_at=None
    )
    return list(rows.select_related("design__order", "pour", "revision")[:MOST])


@dataclass(frozen=True)
class Drawn:
    described: DescribedPiece
    plan: dict[str, Any] | None  # the newest one for tightening again


def _drawn() -> dict[int, Drawn]:
    """One reading of each drawing that something is poured to, however many like pieces there are. One query."""
    built = Piece.objects.filter(stage__in=(*IN_BED, Stage.STRIPPED, *TIGHT), design__order__archived_at=None)
    rows = with_plans(Specification.objects.filter(pk__in=built.order_by().values("revision__specification")))
    return {row.pk: Drawn(described_piece(row), row.plan) for row in rows}


def _stressings(rows: list[Piece], drawn: dict[int, Drawn]) -> list[Dated]:
    """Earliest stressing of what is poured and not stressed: the pour and the stressing age of its drawing; where the
    strength is proven already, the day it was.
    """
    book = MaturityBook(row.pour for row in rows if row.pour is not None)
    found = []
    for row in rows:
        if row.revision is None or row.pour is None:
            continue
        described = drawn[row.revision.specification_id].described
        if described.stressing is None or not described.rods:
            continue
        at, words = _can_be_stressed(row.pour, described, book.newest_test(row.pour), book)
        day = timezone.localtime(at).date()
        found.append(
            Dated(
                f"stress-{row.pk}",
                day,
                say("Stress {piece} ({words})", piece=row, words=words),
                url=reverse("piece", args=[row.pk]),
            )
        )
    return found


def _can_be_stressed(
    pour: Pour, described: DescribedPiece, test: StrengthTest | None, book: MaturityBook
) -> tuple[datetime, str]:
    """From when on, and what that rests on: broken specimens, else maturity, else the age on the drawing."""
    needed = described.concrete.strength_at_stressing_psi
    if test is not None and not strength_rule.shortfalls(test, needed, described.units):
        return test.at, say("strength proven")
    try:
        found = book.ready_from(pour, needed, described.units)
    except NotByMaturity as refusal:
        why = refusal.short
    else:
        about = f"{timezone.localtime(found.at):%H:%M}"
        return found.at, say("from about {time} by maturity; break specimens first", time=about)
    age = described.stressing.age_days if described.stressing else 0
    words = say("at {age} days, if the specimens reach it; not by maturity: {why}", age=f"{age:g}", why=why)
    return pour.at + timedelta(days=age), words


def _restressings(today: date, drawn: dict[int, Drawn]) -> list[Dated]:
    """Tightening again of what is tight: the ages of its drawing, and those that only a plan asks for."""
    asked = [
        pk
        for pk, of in drawn.items()
        if of.plan or (of.described.stressing is not None and of.described.stressing.restress_days)
    ]
    rows = Piece.objects.filter(
        stage__in=TIGHT, pour__isnull=False, revision__specification__in=asked, design__order__archived_at=None
    )
    rows = rows.select_related("design__order", "pour", "revision").prefetch_related("restressings")
    found = []
    for row in rows[:MOST] if asked else ():
        of = drawn[row.revision.specification_id if row.revision is not None else 0]
        address = reverse("piece", args=[row.pk])
        for due in restress_dues(row, of.described):
            day = timezone.localtime(due.at).date()
            text = say("Tighten {piece} again ({age} days)", piece=row, age=f"{due.age_days:g}")
            found.append(Dated(f"restress-{row.pk}-{due.age_days:g}", day, text, day < today, address))
        for visit in visits_not_drawn(row, of.described, of.plan):
            day = timezone.localtime(visit.at).date()
            text = say(
                "{piece}: its plan tightens again ({age} days), its drawing does not; ask the engineer",
                piece=row,
                age=f"{visit.age_days:.0f}",
            )
            found.append(Dated(f"planned-visit-{row.pk}-{visit.age_days:g}", day, text, url=address))
    return found


def _wrenches(today: date, span: Span) -> list[Dated]:
    rows = Wrench.objects.filter(active=True, calibrated_until__gte=span[0], calibrated_until__lt=span[1])
    return [
        Dated(
            f"wrench-{row.pk}",
            row.calibrated_until,
            say("Calibration of {wrench} ends", wrench=row),
            row.calibrated_until < today,
        )
        for row in rows[:MOST]
    ]
