"""What the site keeps of signing in: the lock-out package's three tables, the tries at PINs, and sessions."""

from __future__ import annotations

from datetime import datetime

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.contrib.sessions.models import Session
from django.utils import timezone

from jobs.models import Person, PinTry

PASSWORDS = (AccessAttempt, AccessFailureLog, AccessLog)


def remove_before(moment: datetime) -> dict[str, int]:
    """Forget what is older, and sessions that have ended; how many rows of each that had any."""
    removed = {str(kind._meta.verbose_name_plural): kind.objects.filter(attempt_time__lt=moment).delete()[0]
               for kind in PASSWORDS}
    removed["PIN tries"] = PinTry.objects.filter(at__lt=moment).delete()[0]
    removed["ended sessions"] = Session.objects.filter(expire_date__lt=timezone.now()).delete()[0]
    return {name: count for name, count in removed.items() if count}


def remove_of(person: Person) -> None:
    """Forget one person's, and end every session of theirs."""
    for kind in PASSWORDS:
        kind.objects.filter(username__iexact=person.get_username()).delete()
    PinTry.objects.filter(person=person).delete()
    theirs = [row.pk for row in Session.objects.iterator() if row.get_decoded().get("_auth_user_id") == str(person.pk)]
    Session.objects.filter(pk__in=theirs).delete()
