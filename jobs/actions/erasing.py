"""A person's data removed, the record whole: the account's row stays, for entries and events point to its number."""

from __future__ import annotations

from uuid import UUID

from django.contrib.auth.hashers import make_password
from django.utils import timezone

from jobs import sign_in_log
from jobs.access import need
from jobs.actions import events
from jobs.actions.people import a_manager_stays
from jobs.actions.transactions import one_act
from jobs.errors import NotNow
from jobs.models import ApiToken, CalendarLink, Language, Person

NOBODY = "former person"  # with a space, which no sign-in name can have


@one_act
def erase(person: Person, *, by: Person, request_id: UUID | None = None) -> Person:
    """Name, sign-in name, e-mail, licence, password, PIN, keys, calendar, sessions, log of signing in: gone for good.

    What they entered and released stays, as that of a former person with their number. NotNow for oneself, for the last
    manager, and where it is done already.
    """
    need(by, "people")
    if events.seen(request_id, "person-erased", by):
        return Person.objects.get(pk=person.pk)
    if person.pk == by.pk:
        raise NotNow("Your own data are removed by another manager: you are signed in with them.")
    return _erase(person, by)


@one_act
def erase_from_console(person: Person) -> Person:
    """The same by whoever may run commands where the site runs; the event names nobody."""
    return _erase(person, None)


def _erase(person: Person, by: Person | None) -> Person:
    events.lock_book()
    now = Person.objects.get(pk=person.pk)
    if now.erased_at is not None:
        raise NotNow("The data of this person are removed already.")
    a_manager_stays(now, {"is_active": False})
    sign_in_log.remove_of(now)
    ApiToken.objects.filter(person=now).delete()
    CalendarLink.objects.filter(person=now).delete()
    Person.objects.filter(pk=now.pk).update(
        username=f"{NOBODY} {now.pk}",
        first_name="",
        last_name="",
        email="",
        licence_number="",
        jurisdiction="",
        language=Language.ENGLISH,
        password=make_password(None),
        pin_hash="",
        pin_set_at=None,
        last_login=None,
        is_active=False,
        erased_at=timezone.now(),
    )
    events.record("person-erased", f"The data of person {now.pk} were removed", by=by, detail={"person": now.pk})
    return Person.objects.get(pk=now.pk)
