"""Dates that pieces of one pour and one drawing have in common: earliest stressing, tightening again, planned visits.

A span of days asks only for the pours that can have a date in it: by the ages that drawings name, by specimens broken
then, by temperatures that came in since. However large the book, what is read is what those days bring.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import Case, Count, Exists, F, FilteredRelation, OuterRef, Q, QuerySet, Value, When
from django.utils import timezone

from engineering.models import JobStatus, Specification, Study
from jobs import strength_rule
from jobs.maturity_rule import MOST_GAP, MaturityBook, NotByMaturity, without_temperatures
from jobs.models import Piece, Pour, Restressing, Stage, StrengthTest, TemperatureLog
from jobs.planned_visits import ages_not_drawn
from jobs.stages import IN_BED, TIGHT
from jobs.words import say

NOT_TIGHT = (*IN_BED, Stage.STRIPPED)
Span = tuple[date, date]  # from, and up to but not with
Window = tuple[datetime, datetime]


@dataclass
class Group:
    """Pieces of one pour to one drawing, tight or not yet."""

    pour: int
    poured: datetime
    specification: int
    tight: bool
    count: int
    age_days: float | None  # of stressing; None: nothing is stressed
    psi: float | None
    units: str
    restress: tuple[float, ...]
    mix: int | None
    cement: str | None  # None: no batch ticket
    tested: bool
    logged: bool
    done: dict[float, int] = field(default_factory=dict)  # how many were tightened again, by age

    @property
    def named_pour(self) -> Pour:
        """The pour as far as it is known here."""
        return Pour(pk=self.pour, mix_id=self.mix)


@dataclass(frozen=True)
class Ages:
    """What the drawings of the shop name, and the newest finished plan of each that has one."""

    stressing: frozenset[float]
    restress: frozenset[float]
    plans: dict[int, dict[str, Any]]

    @property
    def later(self) -> set[float]:
        return {*self.restress, *(visit["age"] for plan in self.plans.values() for visit in plan["visits"])}


def ages() -> Ages:
    """Two queries."""
    rows = list(Specification.objects.order_by().values_list("stressing_age_days", "restress_days").distinct())
    finished = Study.objects.filter(kind="re-tightening", status=JobStatus.DONE).order_by("pk")
    found = finished.values_list("specification", "result__better", "result__visits")
    plans = {pk: {"better": better, "visits": visits or []} for pk, better, visits in found}
    restress = (age for _, text in rows for age in ages_in(text))
    return Ages(frozenset(age for age, _ in rows if age is not None), frozenset(restress), plans)


def ages_in(text: str) -> tuple[float, ...]:
    return tuple(float(part) for part in text.split(",") if part)


# ---- which pours -----------------------------------------------------------------------------------------------------


def midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def windows(span: Span, of: Iterable[float]) -> list[Window]:
    """When something must have been poured to be so many days old within the span; what overlaps is one."""
    start, end = midnight(span[0]), midnight(span[1])
    found: list[Window] = []
    for since, until in sorted((start - timedelta(days=age), end - timedelta(days=age)) for age in of):
        if found and since <= found[-1][1]:
            found[-1] = (found[-1][0], max(until, found[-1][1]))
        else:
            found.append((since, until))
    return found


def groups(span: Span, named: Ages) -> list[Group]:
    """Those that can have a date in the span. One query."""
    since = min(midnight(span[0]), timezone.now() - MOST_GAP)
    tests = StrengthTest.objects.filter(at__gte=midnight(span[0]), at__lt=midnight(span[1]))
    logs = TemperatureLog.objects.filter(recorded_at__gte=since)
    found = windows(span, {*named.stressing, *named.later})
    of_age = reduce(or_, (Q(at__gte=begin, at__lt=end) for begin, end in found), Q(pk__in=()))
    # A union, not an “or” across tables: each part is read off its own index.
    asked = Pour.objects.filter(of_age).values("pk").union(tests.values("pour"), logs.values("pour"))
    stages = (*NOT_TIGHT, *TIGHT) if named.later else NOT_TIGHT
    pieces = Piece.objects.filter(order_away=False, stage__in=stages, pour__in=asked)
    return _grouped(pieces)


def _brought_back() -> FilteredRelation:
    """A piece's re-stressings that count: out of tolerance it is still due (`jobs.tightness.restress_dues`)."""
    return FilteredRelation("restressings", condition=Q(restressings__within_tolerance=True))


def _grouped(pieces: QuerySet[Piece]) -> list[Group]:
    """With how many of each were brought back to their force at which age: a piece is met once for each time that it
    was, and counted as a piece of its group the first time only.
    """
    of_pour = {"pour": OuterRef("pour")}
    earlier = Restressing.objects.filter(within_tolerance=True, piece=OuterRef("pk"), pk__lt=OuterRef("again__pk"))
    named = {
        "tight": Case(When(stage__in=TIGHT, then=Value(True)), default=Value(False)),
        "tested": Exists(StrengthTest.objects.filter(**of_pour)),
        "logged": Exists(TemperatureLog.objects.filter(**of_pour)),
        "poured": F("pour__at"),
        "specification": F("revision__specification"),
        "age_days": F("revision__specification__stressing_age_days"),
        "psi": F("revision__specification__stressing_psi"),
        "units": F("revision__specification__units"),
        "restress": F("revision__specification__restress_days"),
        "mix": F("pour__mix"),
        "cement": F("pour__ticket__mix_version__cement"),
    }
    rows = (
        pieces.filter(revision__isnull=False)
        .order_by()
        .annotate(again=_brought_back(), **named)
        .values("pour", *named, done_at=F("again__age_days"))
        .annotate(count=Count("pk", filter=~Exists(earlier)), done=Count("pk", distinct=True))
    )
    found: dict[tuple[int, int, bool], Group] = {}
    for row in rows:
        age, done, count = row.pop("done_at"), row.pop("done"), row.pop("count")
        key = (row["pour"], row["specification"], row["tight"])
        group = found.setdefault(key, Group(**{**row, "restress": ages_in(row["restress"]), "count": 0, "done": {}}))
        group.count += count
        if age is not None:
            group.done[age] = done
    return list(found.values())


# ---- which dates -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class DatedGroup:
    """One date of a group. `done`: for how many of its pieces that is done already."""

    group: Group
    on: date
    age_days: float
    words: str = ""  # what the day of stressing rests on
    planned_only: bool = False
    done: int = 0

    @property
    def count(self) -> int:
        return self.group.count - self.done


def dated_groups(found: Sequence[Group], named: Ages) -> Iterator[DatedGroup]:
    """Every date of the groups, in the span or not. Two queries more where specimens or temperatures are there."""
    waiting = [group for group in found if not group.tight and group.age_days is not None]
    known = [group for group in waiting if group.tested or group.logged]
    book = MaturityBook(group.named_pour for group in known)
    for group in waiting:
        at, words = _can_be_stressed(group, book)
        yield DatedGroup(group, _day(at), group.age_days or 0.0, words)
    for group in (group for group in found if group.tight):
        for age in group.restress:
            yield DatedGroup(group, _day(group.poured + timedelta(days=age)), age, done=group.done.get(age, 0))
        for age in ages_not_drawn(named.plans.get(group.specification), group.restress):
            yield DatedGroup(group, _day(group.poured + timedelta(days=age)), age, planned_only=True)


def _day(at: datetime) -> date:
    return timezone.localtime(at).date()


def _can_be_stressed(group: Group, book: MaturityBook) -> tuple[datetime, str]:
    """From when on, and what that rests on: broken specimens, else maturity, else the age on the drawing."""
    needed = group.psi or 0.0
    test = book.newest_test(group.named_pour) if group.tested else None
    if test is not None and not strength_rule.shortfalls(test, needed, group.units):
        return test.at, say("strength proven")
    try:
        if not group.logged:
            raise NotByMaturity(short := without_temperatures(group.cement, mix=group.mix is not None), short)
        found = book.ready_from(group.named_pour, needed, group.units)
    except NotByMaturity as refusal:
        why = refusal.short
    else:
        about = f"{timezone.localtime(found.at):%H:%M}"
        return found.at, say("from about {time} by maturity; break specimens first", time=about)
    age = group.age_days or 0.0
    words = say("at {age} days, if the specimens reach it; not by maturity: {why}", age=f"{age:g}", why=why)
    return group.poured + timedelta(days=age), words


def _asked(numbers: Iterable[int]) -> set[int]:
    """With a number that no row has: the same query also where nothing is looked for."""
    return {0, *numbers}


def pieces_of(shown: Sequence[DatedGroup]) -> dict[tuple[int, int, bool], list[tuple[Piece, set[float]]]]:
    """The pieces of these groups, by pour, drawing and whether they are tight; each with the ages at which it was
    brought back to its force. One query.
    """
    stages = {stage for dated in shown for stage in (TIGHT if dated.group.tight else NOT_TIGHT)}
    rows = Piece.objects.filter(
        order_away=False,
        stage__in=stages or NOT_TIGHT,
        pour__in=_asked(dated.group.pour for dated in shown),
        revision__specification__in=_asked(dated.group.specification for dated in shown),
    ).annotate(again=_brought_back(), done_at=F("again__age_days"))
    pieces: dict[int, tuple[Piece, set[float]]] = {}
    for row in rows.select_related("design", "revision").order_by("pk"):
        _, done = pieces.setdefault(row.pk, (row, set()))
        if row.done_at is not None:
            done.add(row.done_at)
    found: dict[tuple[int, int, bool], list[tuple[Piece, set[float]]]] = {}
    for piece, done in pieces.values():
        specification = piece.revision.specification_id if piece.revision is not None else 0
        found.setdefault((piece.pour_id or 0, specification, piece.stage in TIGHT), []).append((piece, done))
    return found
