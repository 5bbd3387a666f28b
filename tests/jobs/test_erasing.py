"""A person's data go for good; the record stays whole, under a number."""

from __future__ import annotations

from datetime import timedelta

import pytest
from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.test import Client
from django.utils import timezone

from jobs import event_chain
from jobs.actions import erasing, notices, people, tablets
from jobs.errors import NotAllowed, NotNow
from jobs.models import ApiToken, CalendarLink, Event, Person, Piece, PinTry
from reports.models import IssuedRecord
from tests.factories import PASSWORD, person, piece_at
from tests.reports.issuing import issued

pytestmark = pytest.mark.django_db
MARKS = ("Quillon", "Averdash", "q.averdash", "averdash@", "L-7781", "Farwest")


@pytest.fixture
def engineer() -> Person:
    """With everything an account can gather, on a piece released and with a record made for it."""
    made = people.create_person(
        person(), username="q.averdash", password=PASSWORD, role="engineer", first_name="Quillon",
        last_name="Averdash", email="averdash@shop.example", licence_number="L-7781", jurisdiction="Farwest",
    )
    people.issue_token(made, by=made, label="Quillon's program", expires_at=timezone.now() + timedelta(days=9))
    notices.make_calendar_link(by=made)
    tablet = tablets.make_tablet(by=person(), name="Tablet")
    PinTry.objects.create(person=made, tablet=tablet, at=timezone.now(), right=False)
    AccessAttempt.objects.create(username="q.averdash", get_data="", post_data="", failures_since_start=1)
    AccessAttempt.objects.create(username="somebody-else", get_data="", post_data="", failures_since_start=1)
    AccessFailureLog.objects.create(username="Q.Averdash")
    AccessLog.objects.create(username="q.averdash")
    return made


def signed_in(who: Person) -> Client:
    client = Client()
    client.force_login(who, backend="django.contrib.auth.backends.ModelBackend")
    return client


def whole_database() -> str:
    """Every text in every table, as SQL hands it out."""
    found = []
    with connection.cursor() as cursor:
        for kind in apps.get_models():
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(kind._meta.db_table)}")
            found += [str(row) for row in cursor.fetchall()]
    return "\n".join(found)


def test_nothing_of_the_person_is_left_in_the_database(engineer: Person) -> None:
    here = signed_in(engineer)
    assert here.get("/board/").status_code == 200
    before = whole_database()
    assert all(mark in before for mark in MARKS)
    gone = erasing.erase(engineer, by=person())
    after = whole_database()
    assert [mark for mark in MARKS if mark.lower() in after.lower()] == []
    assert "somebody-else" in after
    assert gone.display_name == f"a former person {engineer.pk}"
    assert not gone.is_active
    assert not ApiToken.objects.filter(person=engineer).exists()
    assert not CalendarLink.objects.filter(person=engineer).exists()
    assert not PinTry.objects.filter(person=engineer).exists()
    assert here.get("/board/").status_code == 302
    assert not Session.objects.filter(pk=here.cookies["sessionid"].value).exists()


def test_what_they_did_stays_and_the_chain_holds(engineer: Person) -> None:
    piece = piece_at("stripped")
    people.change_password(engineer, by=engineer, old_password=PASSWORD, new_password="another long one 8")
    events = list(Event.objects.order_by("sequence").values())
    erasing.erase(engineer, by=person())
    now = list(Event.objects.order_by("sequence").values())
    assert now[: len(events)] == events
    assert [row["verb"] for row in now[len(events):]] == ["person-erased"]
    assert "Averdash" not in str(now[-1])
    assert Event.objects.filter(by=engineer, verb="password-changed").exists()
    assert list(event_chain.faults()) == []
    assert Piece.objects.filter(pk=piece.pk).exists()


def test_records_signed_before_stay_as_they_were() -> None:
    record = issued()
    owner = record.requested_by
    whole = record.path.read_bytes()
    other = people.create_person(person(), username="other", password=PASSWORD, role="manager")
    erasing.erase(owner, by=other)
    again = IssuedRecord.objects.get(pk=record.pk)
    assert again.path.read_bytes() == whole
    assert (again.sha256, again.sources, again.requested_by_id) == (record.sha256, record.sources, owner.pk)
    page = signed_in(other).get(f"/records/{record.number}/").content.decode()
    assert f"a former person {owner.pk}" in page
    assert owner.display_name not in page


def test_the_account_is_nobodys_afterwards(engineer: Person) -> None:
    erasing.erase(engineer, by=person())
    manager = person()
    for act in (
        lambda: people.edit_person(engineer, by=manager, is_active=True),
        lambda: people.change_password(engineer, by=manager, new_password="another long one 8"),
        lambda: tablets.set_pin(engineer, by=manager, pin="4821"),
        lambda: erasing.erase(engineer, by=manager),
    ):
        with pytest.raises(NotNow, match=r"removed|crew"):
            act()
    again = Person.objects.get(pk=engineer.pk)
    assert (again.is_active, again.has_usable_password(), again.pin_hash) == (False, False, "")
    assert Event.objects.filter(verb="person-erased").count() == 1


def test_the_name_is_free_for_somebody_new(engineer: Person) -> None:
    erasing.erase(engineer, by=person())
    new = people.create_person(person(), username="q.averdash", password=PASSWORD, role="crew")
    assert new.pk != engineer.pk


def test_not_oneself_not_the_last_manager_and_not_by_others(engineer: Person) -> None:
    manager = person()
    with pytest.raises(NotNow, match="another manager"):
        erasing.erase(manager, by=manager)
    for role in ("crew", "viewer", "engineer"):
        with pytest.raises(NotAllowed, match="shop manager"):
            erasing.erase(engineer, by=person(role))
    Person.objects.filter(role="manager").exclude(pk=manager.pk).update(is_active=False)
    with pytest.raises(NotNow, match="last manager"):
        erasing.erase_from_console(manager)
    assert Person.objects.get(pk=engineer.pk).last_name == "Averdash"
    assert Person.objects.filter(erased_at__isnull=False).count() == 0
    assert ApiToken.objects.filter(person=engineer).exists()


def test_the_page_asks_for_the_sign_in_name(engineer: Person) -> None:
    client, where = signed_in(person()), f"/people/{engineer.pk}/remove/"
    page = client.get(where).content.decode()
    assert "keep the name printed in them" in page
    answer = client.post(where, {"name": "wrong"})
    assert answer.status_code == 422
    assert Person.objects.get(pk=engineer.pk).erased_at is None
    assert client.post(where, {"name": "Q.Averdash"}).status_code == 302
    assert Person.objects.get(pk=engineer.pk).erased_at is not None
    people_page = client.get("/people/").content.decode()
    assert f"a former person {engineer.pk}" in people_page
    assert "Averdash" not in people_page
    form = client.get(f"/people/{engineer.pk}/").content.decode()
    assert "May sign in" not in form
    assert "were removed on" in form


def test_the_command_does_it_only_for_good(engineer: Person) -> None:
    with pytest.raises(CommandError, match="--for-good"):
        call_command("erase_person", "q.averdash")
    assert Person.objects.get(pk=engineer.pk).erased_at is None
    call_command("erase_person", "q.averdash", "--for-good")
    assert Person.objects.get(pk=engineer.pk).erased_at is not None
    with pytest.raises(CommandError, match="Nobody signs in"):
        call_command("erase_person", "q.averdash", "--for-good")
