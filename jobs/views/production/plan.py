"""Today for each role, the schedule by month, week and day, and re-dating."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from jobs import access, open_notices, queries, schedule
from jobs.actions import planning
from jobs.models import Notice, Role, Stage
from jobs.stages import IN_BED, LINE
from jobs.views.entries import person_of, request_id_of, show
from jobs.views.next_thing import WAITS
from jobs.views.production.notice_words import KINDS, notice_text
from jobs.views.production.pages import (
    DAY,
    MONTH,
    WEEKDAY,
    Link,
    Loud,
    Table,
    data_of,
    entry_page,
    in_words,
    pages_of,
    to_piece,
    when,
)
from jobs.words import here, say, tell

SHOWN_TODAY, ON_A_PAGE = 25, 60
WORD_OF = {Role.CREW: "crew", Role.ENGINEER: "engineer", Role.MANAGER: "manager"}


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    """What needs me now: the most urgent of what my role is told, today's dates, and the pieces that wait for it."""
    access.need(request.user, "view")
    now = timezone.localdate()
    tables = [
        _needs_you(person_of(request).role),
        _of_today(now),
        Table(_("Waits for you"), (_("Stage"), _("Pieces"), _("For")), _waiting(request.user), empty=_("No piece.")),
    ]
    heading = tell("Today, {day}", day=in_words(now, DAY))
    ways = (("schedule", _("Schedule")), ("board", _("Board")), ("non_conformances", _("Non-conformances")))
    links = [Link(words, reverse(name)) for name, words in ways]
    context = {"here": "today", "heading": heading, "tables": tables, "links": links}
    return show(request, "jobs/production/list.html", context)


def _needs_you(role: str) -> Table:
    rows, total = open_notices.first_for(role, SHOWN_TODAY)
    table = _told(rows)
    if total > len(rows):
        table.lead = tell("The {shown} most urgent of {count}.", shown=len(rows), count=total)
        table.links = [Link(tell("All {count}", count=total), reverse("needs_you"))]
    return table


def _told(rows: Iterable[Notice]) -> Table:
    told = [
        [
            Link(notice_text(row), url) if (url := _place_of(row)) else notice_text(row),
            here(KINDS.get(row.kind, row.kind.replace("-", " "))),
            when(row.made_at),
        ]
        for row in rows
    ]
    head = (_("What"), _("Kind"), _("Since"))
    return Table(_("Needs you now"), head, told, empty=_("Nothing is waiting for you to be told."))


def _place_of(row: Notice) -> str:
    """Where one goes to do something about it; empty for what was told before that was kept."""
    if row.non_conformance_id:
        return reverse("non_conformance", args=[row.non_conformance_id])
    if row.piece:
        return to_piece(row.piece)
    if row.design_id:
        return reverse("design", args=[row.design_id])
    return reverse("wrench", args=[row.wrench_id]) if row.wrench_id else ""


def _of_today(now: date) -> Table:
    found = schedule.plan(now, now + timedelta(days=1), most=SHOWN_TODAY, counted=True)
    rows = [[_linked(entry)] for entry in found.entries]
    table = Table(_("On the schedule for today"), (_("What"),), rows, empty=_("Nothing."))
    if found.after:
        table.lead = tell("The first {shown} of {count}.", shown=len(rows), count=found.total)
        table.links = [Link(tell("All {count}", count=found.total), f"{reverse('schedule')}?from={now}&by=day")]
    return table


@require_safe
def needs_you(request: HttpRequest) -> HttpResponse:
    """Everything that one's role is told, page by page, the most urgent first."""
    access.need(request.user, "view")
    rows = open_notices.for_role(person_of(request).role).select_related("piece__design")
    page = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    links = [Link(_("Today"), reverse("today"))]
    table = _told(page)
    table.links = pages_of(page)
    heading = tell("Needs you now: {count}", count=page.paginator.count)
    context = {"here": "today", "heading": heading, "tables": [table], "links": links}
    return show(request, "jobs/production/list.html", context)


def _linked(entry: Any) -> Any:
    return Link(here(entry.text), entry.url) if entry.url else here(entry.text)


def _waiting(person: Any) -> list[list[Any]]:
    word, counts = WORD_OF.get(Role(person.role), ""), queries.count_of_stages()
    stages = [*LINE, Stage.HELD]
    return [
        [Link(here(stage.label), reverse("board_stage", args=[stage])), counts[stage.value], here(WAITS[stage][0])]
        for stage in stages
        if word and counts.get(stage.value) and word in WAITS[stage][1]
    ]


@require_safe
def plan(request: HttpRequest) -> HttpResponse:
    """A month, or with `?by=` a week or a day, from the day in `?from=`; the next page begins at `?after=`."""
    access.need(request.user, "view")
    by = request.GET.get("by", "")
    by = by if by in STEPS else "week" if request.GET.get("week") == "1" else "month"
    start, end = _span(request.GET.get("from", ""), by)
    after = schedule.place_of(request.GET.get("after", ""))
    found = schedule.plan(start, end, most=ON_A_PAGE, after=after)
    counts = queries.count_of_stages()
    tables = [_dates(found, counts, start, by, begun=after is not None), _unplanned(request.user, counts)]
    tables[0].part = Link(_("Curing beds"), reverse("schedule_beds"))
    before = (start - timedelta(days=1)).replace(day=1) if by == "month" else start - STEPS[by]
    links = [
        Link(_("Earlier"), f"?from={before}&by={by}"),
        Link(_("Later"), f"?from={end}&by={by}"),
        *(Link(here(BY[name]), f"?from={start}&by={name}") for name in STEPS if name != by),
        Link(_("Calendar on my own device"), reverse("calendar")),
    ]
    context = {"here": "schedule", "heading": _("Schedule"), "tables": tables, "links": links}
    return show(request, "jobs/production/list.html", context)


def _dates(found: schedule.Plan, counts: dict[str, int], start: date, by: str, *, begun: bool) -> Table:
    names = {
        "day": in_words(start, WEEKDAY, first=True),
        "week": tell("Week from {day}", day=in_words(start, DAY)),
        "month": in_words(start, MONTH, first=True),
    }
    in_beds = sum(counts.get(stage, 0) for stage in IN_BED)
    rows = [
        [date_format(entry.on, "D j M"), _linked(entry), Loud(_("LATE")) if entry.late else ""]
        for entry in found.entries
    ]
    table = Table(names[by], (_("Day"), _("What"), ""), rows, empty=_("Nothing is dated here."))
    table.lead = (
        _("1 piece cures in the beds now.")
        if in_beds == 1
        else tell("{number} pieces cure in the beds now.", number=in_beds)
    )
    if found.after:
        more = tell("The first {number} dates are here; the next page goes on.", number=len(rows))
        table.lead = f"{table.lead} {more}"
    if begun:
        table.links = [Link(_("From the beginning"), f"?from={start}&by={by}")]
    if found.after:
        table.links = [*table.links, Link(_("Next page"), f"?from={start}&by={by}&after={found.after}")]
    return table


BY = {"day": say("By day"), "week": say("By week"), "month": say("By month")}
STEPS = {"day": timedelta(days=1), "week": timedelta(days=7), "month": timedelta(days=32)}


def _span(text: str, by: str) -> tuple[date, date]:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = timezone.localdate()
    if not 2000 <= day.year <= 2200:
        day = timezone.localdate()
    if by == "day":
        return day, day + STEPS[by]
    if by == "week":
        start = day - timedelta(days=day.weekday())
        return start, start + STEPS[by]
    start = day.replace(day=1)
    return start, (start + STEPS[by]).replace(day=1)


def _unplanned(person: Any, counts: dict[str, int]) -> Table:
    """The first due of what is released and not poured; the others are on the board's pages of the two stages."""
    stages = (Stage.RELEASED, Stage.FORMED)
    shown = queries.in_order(queries.first_of_each(stages, ON_A_PAGE))[:ON_A_PAGE]
    table = Table(
        _("Released, not poured"),
        (_("Piece"), _("Order due"), _("Pour planned")),
        [
            [
                Link(str(row), to_piece(row)),
                day_or(row.design.order.due_date, "—"),
                Link(day_or(row.pour_planned, _("set a day")), reverse("pour_planned", args=[row.pk]))
                if access.may(person, "order")
                else day_or(row.pour_planned, "—"),
            ]
            for row in shown
        ],
        empty=_("None."),
    )
    total = sum(counts.get(stage, 0) for stage in stages)
    if total > len(shown):
        table.lead = tell("The {shown} that are due first, of {count}.", shown=len(shown), count=total)
        table.links = [
            Link(
                tell("All {count} that are {stage}", count=counts.get(stage, 0), stage=stage),
                reverse("board_stage", args=[stage]),
            )
            for stage in stages
        ]
    return table


def day_or(day: date | None, otherwise: str) -> str:
    """As people here write a day."""
    return date_format(day, "j M Y") if day else otherwise


class DayForm(forms.Form):
    on = forms.DateField(
        label="Day of the pour",
        required=False,
        help_text="Empty: not planned.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    was = forms.DateField(required=False, widget=forms.HiddenInput)

    def values(self) -> dict[str, Any]:
        """With the day that the page showed, where the form came with it."""
        sent = self.cleaned_data
        return {"on": sent["on"], "seen": (sent["was"],) if "was" in self.data else None}


def pour_planned(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="order")
    form = DayForm(*data_of(request), initial={"on": piece.pour_planned, "was": piece.pour_planned})
    return entry_page(
        request,
        form,
        lambda: planning.plan_pour(piece, by=person_of(request), request_id=request_id_of(request), **form.values()),
        piece=piece,
        permission="order",
        heading=f"When to pour {piece}",
        button="Save the day",
        said="The day is saved.",
        back=reverse("schedule"),
        draft=f"pour-planned-{pk}",
    )
