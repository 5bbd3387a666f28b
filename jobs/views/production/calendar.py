"""The calendar of the shop's dates on one's own device, by a secret address."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from jobs import access, schedule
from jobs.actions import notices
from jobs.calendar_feed import feed
from jobs.errors import Unknown
from jobs.models import CalendarLink, Shop
from jobs.views.entries import accepted, attempt, person_of, show

CALENDAR_BACK, CALENDAR_AHEAD = timedelta(days=60), timedelta(days=400)


def calendar(request: HttpRequest) -> HttpResponse:
    """Make, see once, or take back one's secret address."""
    access.need(request.user, "token")
    address, error = "", None
    if request.method == "POST" and request.POST.get("do") == "drop":
        _dropped, error = attempt(lambda: notices.drop_calendar_link(by=person_of(request)))
        if error is None:
            return accepted(request, _("The address no longer works."), reverse("calendar"))
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
