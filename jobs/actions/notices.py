"""Notices written and ended by the sweep, sent by e-mail once; and a person's secret calendar address."""

from __future__ import annotations

import hashlib
import logging
import secrets
from datetime import datetime
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction
from django.utils import timezone

from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.models import CalendarLink, Notice, Person
from jobs.notices import Found, found_now

log = logging.getLogger(__name__)


def sweep(now: datetime | None = None) -> tuple[int, int]:
    """Write what is new and end what no longer holds: (new, ended). One that holds again is opened again."""
    now = now or timezone.now()
    found = {row.key: row for row in found_now(now)}
    with transaction.atomic():
        known = {row.key: row for row in Notice.objects.filter(key__in=found)}
        fresh = [_written(row) for key, row in found.items() if key not in known]
        Notice.objects.bulk_create(fresh, ignore_conflicts=True)
        again = Notice.objects.filter(pk__in=[row.pk for row in known.values() if row.over_at is not None])
        opened = again.update(over_at=None, mailed_at=None)
        ended = Notice.objects.filter(over_at=None).exclude(key__in=found).update(over_at=now)
    return len(fresh) + opened, ended


def _written(row: Found) -> Notice:
    about = {"piece": row.piece, **row.about, **row.place}
    return Notice(key=row.key, kind=row.kind, text=row.text[:300], roles=list(row.roles), **about)


def send() -> int:
    """Mail what was not mailed yet: one message to each person with all of theirs. Returns the number of messages.

    A notice is marked first, by a filtered update, so that two workers never send it twice; if the mail server does
    not take it, the mark is taken back and the next sweep tries again.
    """
    if not settings.EMAIL_HOST:
        return 0
    waiting = list(Notice.objects.filter(over_at=None, mailed_at=None).order_by("pk"))
    mine = [row for row in waiting if Notice.objects.filter(pk=row.pk, mailed_at=None).update(mailed_at=timezone.now())]
    sent = 0
    for person in Person.objects.filter(is_active=True).exclude(email=""):
        lines = [row.text for row in mine if person.role in row.roles]
        if not lines:
            continue
        subject = lines[0] if len(lines) == 1 else f"{len(lines)} things of the shop need you"
        try:
            send_mail(subject[:120], "\n".join(lines) + "\n", settings.DEFAULT_FROM_EMAIL, [person.email])
            sent += 1
        except (OSError, SMTPException) as exc:
            log.warning("The mail server did not take the notices (%s). They are sent by the next sweep.", exc)
            Notice.objects.filter(pk__in=[row.pk for row in mine]).update(mailed_at=None)
            break
    return sent


@one_act
def make_calendar_link(*, by: Person) -> str:
    """A new secret for one's calendar; the one before stops working. Returned once, kept only as its hash."""
    need(by, "token")
    key = secrets.token_urlsafe(32)
    CalendarLink.objects.update_or_create(person=by, defaults={"digest": digest_of(key)})
    events.record("calendar-link-made", "A calendar address was made", by=by)
    return key


@one_act
def drop_calendar_link(*, by: Person) -> bool:
    need(by, "token")
    gone, _ = CalendarLink.objects.filter(person=by).delete()
    if gone:
        events.record("calendar-link-dropped", "A calendar address was taken back", by=by)
    return bool(gone)


def digest_of(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()
