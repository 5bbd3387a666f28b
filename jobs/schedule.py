"""The shop's dates from its rows: what is due, planned, earliest, and what is late; in order, and a page at a time.

However many there are, a page asks a fixed number of queries and fetches as many rows as it shows: each kind of date is
read from the place on where the page begins. What pieces have in common is in `jobs.dates_of_pieces`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple

from django.db.models import CharField, Count, Exists, F, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Cast, Concat
from django.urls import reverse
from django.utils import timezone

from jobs import dates_of_pieces
from jobs.calendar_feed import Dated
from jobs.dates_of_pieces import DatedGroup, Span
from jobs.models import Order, Piece, Stage, Wrench
from jobs.stages import BEFORE_POUR
from jobs.words import say

MOST = 5_000
DUE, POUR, WRENCH, OF_A_GROUP = 0, 1, 2, 3  # on one day in this order


class Place(NamedTuple):
    """Where an entry stands in the order of all dates: by day, kind, and the numbers of its rows."""

    on: date
    kind: int
    first: int
    second: int = 0
    third: int = 0
    row: int = 0

    def text(self) -> str:
        return "-".join([f"{self.on:%Y%m%d}", *(str(number) for number in self[1:])])


def place_of(text: str) -> Place | None:
    """The place that `Place.text` wrote; None for anything else."""
    if not text.isascii():
        return None
    day, *numbers = text.split("-")
    try:
        on = date(int(day[:4]), int(day[4:6]), int(day[6:]))
        kind, *rows = (int(number) for number in numbers)
        return Place(on, kind, *rows) if len(rows) == 4 and 0 <= min(kind, *rows) <= max(kind, *rows) < 2**62 else None
    except ValueError:
        return None


@dataclass(frozen=True)
class Plan:
    """`total`: of the whole span, where it was asked for. `after`: where the next page begins; "" on the last."""

    entries: list[Dated]
    total: int
    after: str


def plan(start: date, end: date, *, most: int = MOST, after: Place | None = None, counted: bool = False) -> Plan:
    """Up to `most` of what is dated from `start` up to but not with `end`, in order, from the place `after` on."""
    today = timezone.localdate()
    found = sorted(_plain(today, (start, end), most, after, counted=counted), key=_by_place)
    if not counted:  # days that this page cannot come to, or that were on the one before, are not asked for
        start = start if after is None else max(start, after.on)
        end = min(end, found[most][0].on + timedelta(days=1)) if len(found) > most else end
    dated = _groups_in((start, end))
    found = sorted([*found, *_of_groups(dated, today, most, after)], key=_by_place)
    shown = found[:most]
    more = shown[-1][0].text() if len(found) > most else ""
    of_kinds = {place.kind: number for place, _, number in found}  # 0 for what the groups have
    total = sum(of_kinds.values()) + sum(group.count for group in dated)
    return Plan([entry for _, entry, _ in shown], total if counted else 0, more)


Entry = tuple[Place, Dated, int]  # the number: how many of its kind the span has in all


def _by_place(entry: Entry) -> Place:
    return entry[0]


# ---- orders, pours and wrenches: each has its day in its row ---------------------------------------------------------


def _plain(today: date, span: Span, most: int, after: Place | None, *, counted: bool) -> Iterator[Entry]:
    """One query for all three."""
    orders = _first(_going_on(span), DUE, "due_date", Concat("number", Value(" "), "client"), most, after, counted)
    mark = Concat("design__mark", Value("/"), Cast("serial", CharField()))
    pours = _first(_to_pour(span), POUR, "pour_planned", mark, most, after, counted)
    wrenches = _first(_calibrated(span), WRENCH, "calibrated_until", F("name"), most, after, counted)
    for kind, pk, on, name, number in orders.union(pours, wrenches, all=True):
        text, address = _told(kind, pk, name)
        uid = f"{('order', 'pour', 'wrench')[kind]}-{pk}"
        yield Place(on, kind, pk), Dated(uid, on, text, on < today, address), number


def _told(kind: int, pk: int, name: str) -> tuple[str, str]:
    if kind == DUE:
        return say("Due: {order}", order=name), reverse("order", args=[pk])
    if kind == POUR:
        return say("Pour {piece}", piece=name), reverse("piece", args=[pk])
    return say("Calibration of {wrench} ends", wrench=name), ""


def _going_on(span: Span) -> QuerySet[Order]:
    pieces = Piece.objects.filter(design__order=OuterRef("pk")).exclude(stage__in=(Stage.INSTALLED, Stage.REJECTED))
    rows = Order.objects.filter(archived_at=None, due_date__gte=span[0], due_date__lt=span[1])
    return rows.filter(Exists(pieces))


def _to_pour(span: Span) -> QuerySet[Piece]:
    rows = Piece.objects.filter(order_away=False, stage__in=BEFORE_POUR)
    return rows.filter(pour_planned__gte=span[0], pour_planned__lt=span[1])


def _calibrated(span: Span) -> QuerySet[Wrench]:
    return Wrench.objects.filter(active=True, calibrated_until__gte=span[0], calibrated_until__lt=span[1])


def _first(
    rows: QuerySet[Any], kind: int, day: str, name: Any, most: int, after: Place | None, counted: bool
) -> QuerySet[Any]:
    """(kind, number of the row, day, name, how many in all) of the first rows after a place; one more than asked."""
    left = rows if after is None else rows.filter(_later(day, kind, after))
    some = left.order_by(day, "pk").values("pk")[: most + 1]
    how_many: Any = Value(0)
    if counted:
        how_many = Subquery(rows.order_by().values(one=Value(1)).annotate(number=Count("*")).values("number"))
    shown = rows.model.objects.order_by().filter(pk__in=some)
    return shown.annotate(kind=Value(kind), name_=name, how_many=how_many).values_list(
        "kind", "pk", day, "name_", "how_many"
    )


def _later(day: str, kind: int, after: Place) -> Q:
    if kind < after.kind:
        return Q(**{f"{day}__gt": after.on})
    if kind > after.kind:
        return Q(**{f"{day}__gte": after.on})
    return Q(**{f"{day}__gt": after.on}) | Q(**{day: after.on, "pk__gt": after.first})


# ---- what pieces of one pour and one drawing have in common ----------------------------------------------------------


def _groups_in(span: Span) -> list[DatedGroup]:
    named = dates_of_pieces.ages()
    found = dates_of_pieces.dated_groups(dates_of_pieces.groups(span, named), named)
    return sorted((dated for dated in found if span[0] <= dated.on < span[1]), key=_place)


def _place(dated: DatedGroup) -> Place:
    """Of its first piece."""
    age = round(dated.age_days * 1000)
    return Place(dated.on, OF_A_GROUP, dated.group.pour, dated.group.specification, age)


def _of_groups(dated: list[DatedGroup], today: date, most: int, after: Place | None) -> Iterator[Entry]:
    """The pieces of as many groups as a page can show. One query."""
    left = [group for group in dated if after is None or _place(group)[:5] >= after[:5]]
    sums = itertools.accumulate((group.count for group in left), initial=0)
    begun = left[0].count if left and after is not None else 0  # the page before can have shown some of the first
    shown = [group for group, before in zip(left, sums, strict=False) if before <= most + begun]
    pieces = dates_of_pieces.pieces_of(shown)
    for group in shown:
        key = (group.group.pour, group.group.specification, group.group.tight)
        for piece, done in pieces.get(key, ()):
            place = _place(group)._replace(row=piece.pk)
            over = group.group.tight and not group.planned_only and group.age_days in done
            if not over and (after is None or place > after):
                yield place, _entry(group, piece, today), 0


def _entry(dated: DatedGroup, piece: Piece, today: date) -> Dated:
    address, age = reverse("piece", args=[piece.pk]), dated.age_days
    if not dated.group.tight:
        text = say("Stress {piece} ({words})", piece=piece, words=dated.words)
        return Dated(f"stress-{piece.pk}", dated.on, text, url=address)
    if dated.planned_only:
        text = say(
            "{piece}: its plan tightens again ({age} days), its drawing does not; ask the engineer",
            piece=piece,
            age=f"{age:.0f}",
        )
        return Dated(f"planned-visit-{piece.pk}-{age:g}", dated.on, text, url=address)
    text = say("Tighten {piece} again ({age} days)", piece=piece, age=f"{age:g}")
    return Dated(f"restress-{piece.pk}-{age:g}", dated.on, text, dated.on < today, address)
