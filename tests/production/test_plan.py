"""Notices, schedule and calendar: said once, ended when over, and read only by those who may."""

from __future__ import annotations

from datetime import date, timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.core import mail
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from jobs import schedule
from jobs.actions import notices, planning, production
from jobs.calendar_feed import Dated, feed, folded
from jobs.errors import NotAllowed, NothingChanged
from jobs.models import Event, Notice, Person, Piece, Pour, Role, Stage, Stressing
from tests.factories import document, make_design, make_order, make_wrench, person, piece_at, revise, strength_test
from tests.page_reading import as_read
from tests.production.full_floor import ASKED_FOR, a_full_floor
from tests.production.test_quality import raised

pytestmark = pytest.mark.django_db


def kinds() -> set[str]:
    return set(Notice.objects.filter(over_at=None).values_list("kind", flat=True))


def test_what_needs_one_leads_to_where_something_is_done_about_it() -> None:
    design, wrench = make_design(verdict="fail"), make_wrench(calibrated_until=timezone.localdate())
    wrong = raised(piece_at(Stage.POURED))
    notices.sweep()
    client = Client()
    client.force_login(person(Role.MANAGER), backend="django.contrib.auth.backends.ModelBackend")
    places = [
        reverse("design", args=[design.pk]),
        reverse("wrench", args=[wrench.pk]),
        reverse("non_conformance", args=[wrong.pk]),
    ]
    page = client.get(reverse("today")).content.decode()
    assert [place for place in places if f'class="row-link" href="{place}"' not in page] == []
    assert [client.get(place).status_code for place in places] == [200, 200, 200]
    told = Notice.objects.order_by("key").values_list("key", "design", "wrench", "non_conformance")
    before = list(told)
    Notice.objects.update(design=None, wrench=None, non_conformance=None)
    import_module("jobs.migrations.0016_open_notices_say_what_they_are_about").fill_in(apps, None)
    assert list(told.all()) == before


def test_a_sweep_says_a_thing_once_and_ends_it_when_it_is_over() -> None:
    design = make_design(verdict="fail")
    assert notices.sweep() == (1, 0)
    assert notices.sweep() == (0, 0)
    assert kinds() == {"check-failed"}
    revise(design)
    assert notices.sweep() == (0, 1)
    assert kinds() == set()


def test_review_late_calibration_and_strength_each_reach_their_roles() -> None:
    make_design(verdict="review")
    make_wrench(days=5)
    order = make_order(due_date=timezone.localdate() - timedelta(days=2))
    make_design(order)
    piece = piece_at(Stage.CURING)
    strength_test(piece)
    notices.sweep()
    roles = {row.kind: row.roles for row in Notice.objects.all()}
    assert roles == {
        "review-wanted": ["engineer"],
        "calibration-due": ["manager"],
        "piece-late": ["manager"],
        "strength-reached": ["crew"],
    }


def test_lift_off_is_due_a_day_after_and_re_stressing_at_its_age() -> None:
    design = make_design(document=document(stressing={**document()["stressing"], "restress": [28]}))
    piece = piece_at(Stage.STRESSED, design)
    notices.sweep()
    assert kinds() == set()
    Stressing.objects.update(finished_at=timezone.now() - timedelta(hours=25))
    Pour.objects.update(at=timezone.now() - timedelta(days=26))
    notices.sweep()
    assert kinds() == {"lift-off-due", "restressing-due"}
    for rod in ("R1", "R2"):
        production.record_lift_off(piece, by=person(Role.CREW), rod=rod, force_lbf=8000, line_clear=True)
    notices.sweep()
    assert kinds() == {"restressing-due"}


@pytest.fixture
def mailing(settings: object) -> None:
    settings.EMAIL_HOST = "mail.example"  # type: ignore[attr-defined]  # pytest-django's own fixture


def test_each_person_gets_one_mail_with_what_is_theirs_once(mailing: None) -> None:
    engineer = person(Role.ENGINEER, email="engineer@example.org")
    person(Role.CREW, email="crew@example.org")
    raised(piece_at(Stage.POURED))
    raised(piece_at(Stage.POURED))
    notices.sweep()
    assert notices.send() == 1
    assert notices.send() == 0
    (message,) = mail.outbox
    assert message.to == [engineer.email]
    assert message.body.count("waits for a decision") == 2


def test_nothing_is_mailed_where_no_mail_server_is_named(settings: object) -> None:
    settings.EMAIL_HOST = ""  # type: ignore[attr-defined]  # pytest-django's own fixture
    person(Role.ENGINEER, email="engineer@example.org")
    raised(piece_at(Stage.POURED))
    notices.sweep()
    assert notices.send() == 0
    assert not Notice.objects.exclude(mailed_at=None).exists()


def test_a_mail_server_that_is_away_loses_nothing(mailing: None, monkeypatch: pytest.MonkeyPatch) -> None:
    person(Role.ENGINEER, email="engineer@example.org")
    raised(piece_at(Stage.POURED))
    notices.sweep()

    def away(*_: object, **__: object) -> None:
        raise ConnectionRefusedError("no")

    with monkeypatch.context() as patched:
        patched.setattr(notices, "send_mail", away)
        assert notices.send() == 0
    assert notices.send() == 1


# ---- schedule --------------------------------------------------------------------------------------------------------


def test_a_pour_is_planned_moved_and_taken_away() -> None:
    piece, manager, day = piece_at(Stage.FORMED), person(), date(2027, 3, 4)
    planning.plan_pour(piece, by=manager, on=day)
    assert [entry.text for entry in schedule.plan(day, day + timedelta(days=1)).entries] == [f"Pour {piece}"]
    with pytest.raises(NothingChanged):
        planning.plan_pour(piece, by=manager, on=day)
    assert planning.plan_pour(piece, by=manager, on=None).pour_planned is None
    assert Event.objects.filter(verb="pour-planned").count() == 2
    with pytest.raises(NotAllowed):
        planning.plan_pour(piece, by=person(Role.CREW), on=day)


def test_earliest_stressing_is_by_age_until_the_strength_is_proven() -> None:
    piece = piece_at(Stage.CURING)
    cast = timezone.now() - timedelta(days=2)
    Pour.objects.update(at=cast)
    day = timezone.localdate()
    (entry,) = schedule.plan(day, day + timedelta(days=10)).entries
    assert entry.on == timezone.localtime(cast + timedelta(days=7)).date()
    strength_test(piece)
    (entry,) = schedule.plan(day, day + timedelta(days=1)).entries
    assert "strength proven" in entry.text


def test_today_and_schedule_stay_under_twelve_queries_however_many_pieces() -> None:
    """Also where all is there at once that they can have to ask for."""
    a_full_floor()
    design = make_design(pieces=5)
    Piece.objects.filter(design=design).update(pour_planned=timezone.localdate())
    client = signed_in("manager")
    for name in ("today", "schedule"):
        with CaptureQueriesContext(connection) as few:
            client.get(reverse(name))
        make_design(design.order, document=document(mark=f"C-{name}"), pieces=30)
        a_full_floor()
        with CaptureQueriesContext(connection) as many:
            client.get(reverse(name))
        assert len(many) == len(few) < 12
        said = " ".join(query["sql"] for query in many.captured_queries)
        assert [table for table in ASKED_FOR if f'FROM "{table}"' not in said and f'JOIN "{table}"' not in said] == []


def test_the_part_with_the_beds_asks_as_often_however_many_pieces_lie_on_them() -> None:
    on_beds = a_full_floor()
    client, address = signed_in("crew"), reverse("schedule_beds")
    with CaptureQueriesContext(connection) as few:
        page = as_read(client.get(address))
    assert [str(piece) in page for piece in on_beds] == [True, True]
    a_full_floor()
    with CaptureQueriesContext(connection) as more:
        client.get(address)
    assert len(more) == len(few) < 12


def signed_in(who: str | Person) -> Client:
    client = Client()
    client.force_login(
        who if isinstance(who, Person) else person(who), backend="django.contrib.auth.backends.ModelBackend"
    )
    return client


# ---- calendar --------------------------------------------------------------------------------------------------------


def test_the_secret_address_works_until_it_is_replaced_or_its_owner_leaves() -> None:
    owner = person(Role.CREW)
    make_design(make_order(due_date=timezone.localdate(), number="O-77"))
    first = notices.make_calendar_link(by=owner)
    answer = Client().get(reverse("calendar_feed", args=[first]))
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert b"SUMMARY:Due: O-77" in answer.content
    second = notices.make_calendar_link(by=owner)
    assert Client().get(reverse("calendar_feed", args=[first])).status_code == 404
    Person.objects.filter(pk=owner.pk).update(is_active=False)
    assert Client().get(reverse("calendar_feed", args=[second])).status_code == 404


def test_the_address_is_shown_once_and_kept_as_a_hash() -> None:
    owner = person()
    client = signed_in(owner)
    shown = as_read(client.post(reverse("calendar"), {"do": "make"}))
    assert ".ics" in shown
    assert ".ics" not in as_read(client.get(reverse("calendar")))
    client.post(reverse("calendar"), {"do": "drop"})
    assert not hasattr(Person.objects.get(pk=owner.pk), "calendar_link")


def test_the_feed_is_escaped_and_folded() -> None:
    """RFC 5545 3.1 and 3.3.11."""
    text = feed(
        [Dated("x-1", date(2027, 1, 31), "Pour; C, 1" + "é" * 60)], name="A, B", now=timezone.now(), host="shop.test"
    )
    assert "X-WR-CALNAME:A\\, B\r\n" in text
    assert "DTSTART;VALUE=DATE:20270131\r\nDTEND;VALUE=DATE:20270201\r\n" in text
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert "SUMMARY:Pour\\; C\\, 1" + "é" * 60 in text.replace("\r\n ", "")


def test_folding_loses_nothing() -> None:
    line = "SUMMARY:" + "añ" * 100
    assert folded(line).replace("\r\n ", "") == line
