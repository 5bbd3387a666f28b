"""Today for each role, the schedule by month and week, re-dating, and the calendar by secret address."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.contrib.auth.decorators import login_not_required
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from jobs import access, schedule
from jobs.actions import notices, planning
from jobs.calendar_feed import feed
from jobs.errors import Unknown
from jobs.models import CalendarLink, Notice, Piece, Role, Shop, Stage
from jobs.stages import LINE
from jobs.views.entries import accepted, attempt, person_of, request_id_of, show
from jobs.views.next_thing import WAITS
from jobs.views.production.beds import beds_table
from jobs.views.production.notice_words import KINDS, notice_text
from jobs.views.production.pages import Link, Table, data_of, entry_page, to_piece, when
from jobs.words import here, tell

MOST_NOTICES = 200
WORD_OF = {Role.CREW: "crew", Role.ENGINEER: "engineer", Role.MANAGER: "manager"}
CALENDAR_BACK, CALENDAR_AHEAD = timedelta(days=60), timedelta(days=400)


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    """What needs me now: the notices for my role, and the pieces that wait for it."""
    access.need(request.user, "view")
    person = person_of(request)
    rows = Notice.objects.filter(over_at=None).select_related("piece__design")[:MOST_NOTICES]
    mine = [row for row in rows if person.role in row.roles]
    told = [
        [
            Link(notice_text(row), to_piece(row.piece)) if row.piece else notice_text(row),
            here(KINDS.get(row.kind, row.kind.replace("-", " "))),
            when(row.made_at),
        ]
        for row in mine
    ]
    now = timezone.localdate()
    dated = [entry for entry in schedule.plan(now, now + timedelta(days=1)).entries if not entry.late]
    return show(
        request,
        "jobs/production/list.html",
        {
            "here": "today",
            "heading": tell("Today, {day}", day=date_format(now, "j F Y")),
            "tables": [
                Table(
                    _("Needs you now"),
                    (_("What"), _("Kind"), _("Since")),
                    told,
                    empty=_("Nothing is waiting for you to be told."),
                ),
                Table(
                    _("On the schedule for today"),
                    (_("What"),),
                    [[_linked(entry)] for entry in dated],
                    empty=_("Nothing."),
                ),
                Table(
                    _("Waits for you"),
                    (_("Stage"), _("Pieces"), _("For")),
                    _waiting(person.role),
                    empty=_("No piece."),
                ),
            ],
            "links": [Link(_("Schedule"), reverse("schedule")), Link(_("Board"), reverse("board"))],
        },
    )


def _linked(entry: Any) -> Any:
    return Link(here(entry.text), entry.url) if entry.url else here(entry.text)


def _waiting(role: str) -> list[list[Any]]:
    word = WORD_OF.get(Role(role), "")
    counts = dict(
        Piece.objects.filter(design__order__archived_at=None)
        .order_by()
        .values_list("stage")
        .annotate(number=Count("pk"))
    )
    stages = [*LINE, Stage.HELD]
    return [
        [here(stage.label), counts[stage.value], here(WAITS[stage][0])]
        for stage in stages
        if word and counts.get(stage.value) and word in WAITS[stage][1]
    ]


@require_safe
def plan(request: HttpRequest) -> HttpResponse:
    """A month, or a week with `?week=1`, from the day in `?from=`."""
    access.need(request.user, "view")
    by_week = request.GET.get("week") == "1"
    start, end = _span(request.GET.get("from", ""), by_week=by_week)
    found = schedule.plan(start, end)
    rows = [[f"{entry.on:%a %-d %b}", _linked(entry), "LATE" if entry.late else ""] for entry in found.entries]
    step = f"&week={int(by_week)}"
    before = start - timedelta(days=7) if by_week else (start - timedelta(days=1)).replace(day=1)
    links = [
        Link("Earlier", f"?from={before}{step}"),
        Link("Later", f"?from={end}{step}"),
        Link("By month" if by_week else "By week", f"?from={start}&week={int(not by_week)}"),
        Link("Calendar on my own device", reverse("calendar")),
    ]
    name = f"Week from {start:%-d %B %Y}" if by_week else f"{start:%B %Y}"
    lead = f"{found.in_beds} {'piece cures' if found.in_beds == 1 else 'pieces cure'} in the beds now."
    tables = [Table(name, ("Day", "What", ""), rows, lead=lead, empty="Nothing is dated here."), _unplanned()]
    if (of_beds := beds_table()) is not None:
        tables.insert(1, of_beds)
    context = {"here": "schedule", "heading": "Schedule", "tables": tables, "links": links}
    return show(request, "jobs/production/list.html", context)


def _span(text: str, *, by_week: bool) -> tuple[date, date]:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = timezone.localdate()
    if not 2000 <= day.year <= 2200:
        day = timezone.localdate()
    if by_week:
        start = day - timedelta(days=day.weekday())
        return start, start + timedelta(days=7)
    start = day.replace(day=1)
    return start, (start + timedelta(days=32)).replace(day=1)


def _unplanned() -> Table:
    rows = Piece.objects.filter(stage__in=(Stage.RELEASED, Stage.FORMED), design__order__archived_at=None)
    shown = rows.select_related("design__order").order_by("design__order__due_date", "pk")[:200]
    return Table(
        "Released, not poured",
        ("Piece", "Order due", "Pour planned"),
        [
            [
                Link(str(row), to_piece(row)),
                f"{row.design.order.due_date:%-d %b %Y}" if row.design.order.due_date else "—",
                Link(f"{row.pour_planned:%-d %b %Y}" if row.pour_planned else "set a day", _plan_url(row)),
            ]
            for row in shown
        ],
        empty="None.",
    )


def _plan_url(row: Piece) -> str:
    return reverse("pour_planned", args=[row.pk])


class DayForm(forms.Form):
    on = forms.DateField(
        label="Day of the pour",
        required=False,
        help_text="Empty: not planned.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )


def pour_planned(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="order")
    form = DayForm(*data_of(request), initial={"on": piece.pour_planned})
    return entry_page(
        request,
        form,
        lambda: planning.plan_pour(
            piece, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
        ),
        piece=piece,
        permission="order",
        heading=f"When to pour {piece}",
        button="Save the day",
        said="The day is saved.",
        back=reverse("schedule"),
        draft=f"pour-planned-{pk}",
    )


# ---- calendar --------------------------------------------------------------------------------------------------------


def calendar(request: HttpRequest) -> HttpResponse:
    """Make, see once, or take back one's secret address."""
    access.need(request.user, "token")
    address, error = "", None
    if request.method == "POST" and request.POST.get("do") == "drop":
        _, error = attempt(lambda: notices.drop_calendar_link(by=person_of(request)))
        if error is None:
            return accepted(request, "The address no longer works.", reverse("calendar"))
    elif request.method == "POST":
        key, error = attempt(lambda: notices.make_calendar_link(by=person_of(request)))
        address = request.build_absolute_uri(reverse("calendar_feed", args=[key])) if key else ""
    has = CalendarLink.objects.filter(person=person_of(request)).exists()
    context = {"here": "schedule", "address": address, "has": has}
    return show(request, "jobs/production/calendar.html", context, error)


@require_safe
@login_not_required
@never_cache
def calendar_feed(request: HttpRequest, key: str) -> HttpResponse:
    """The feed for whoever has the address of somebody who may still sign in."""
    link = CalendarLink.objects.select_related("person").filter(digest=notices.digest_of(key)).first()
    if link is None or not access.may(link.person, "view"):
        raise Unknown
    now = timezone.now()
    day = timezone.localdate(now)
    found = schedule.plan(day - CALENDAR_BACK, day + CALENDAR_AHEAD)
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    text = feed(found.entries, name=shop.name, now=now, host=request.get_host().partition(":")[0])
    answer = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="shop.ics"'
    return answer
