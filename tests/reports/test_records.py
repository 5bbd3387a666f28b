"""A record's row is its job: asked for once, built once, whatever is sent twice, dies or comes late."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from engineering.models import JobStatus
from jobs.errors import NotAllowed, NotNow, RequestReused
from jobs.models import Event, Revision, Role
from reports import actions, building, tasks
from reports.models import IssuedRecord, pk_of
from tests.factories import finished_checks, make_design, newest, person, release, revise
from tests.reports.issuing import SITE, issued

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision() -> Revision:
    return newest(make_design())


def ask(revision: Revision, **more) -> IssuedRecord:
    return actions.request_record(revision, **{"by": person(Role.MANAGER), "site_address": SITE, **more})


def test_a_record_is_asked_for_with_an_event_and_waits(revision, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks() as sent:
        record = ask(revision)
    assert record.status == JobStatus.WAITING
    assert (record.specification_hash, record.engine_version) == (
        revision.specification.sha256,
        record.check_run.engine_version,
    )
    assert Event.objects.get(verb="record-requested").detail["record"] == record.pk
    assert len(sent) == 1


def test_one_tap_sent_twice_is_one_record(revision):
    by, tap = person(Role.MANAGER), uuid4()
    first, second = (ask(revision, by=by, request_id=tap) for _ in range(2))
    assert first == second
    assert (IssuedRecord.objects.count(), Event.objects.filter(verb="record-requested").count()) == (1, 1)
    with pytest.raises(RequestReused, match="used before"):
        ask(newest(make_design()), by=by, request_id=tap)


def test_asking_again_gives_the_same_record_until_something_changed(revision):
    first = ask(revision)
    assert ask(revision) == first
    release(revision.design)
    assert ask(revision) != first
    assert newest(revision.design) == revision
    later = revise(revision.design)
    assert ask(later).revision == later


def test_no_record_without_finished_checks():
    design = make_design(verdict=None)
    with pytest.raises(NotNow, match="have not finished"):
        ask(newest(design))
    assert not IssuedRecord.objects.exists()
    finished_checks(newest(design), "fail")
    assert ask(newest(design)).status == JobStatus.WAITING


@pytest.mark.parametrize("role", [Role.CREW, Role.VIEWER])
def test_crew_and_viewers_do_not_ask_for_records(revision, role):
    with pytest.raises(NotAllowed, match="your account may not"):
        ask(revision, by=person(role))
    assert not IssuedRecord.objects.exists()


def test_a_delivery_that_comes_twice_builds_once(revision):
    record = ask(revision)
    tasks.build_record(record.pk)
    first = IssuedRecord.objects.get(pk=record.pk)
    tasks.build_record(record.pk)
    again = IssuedRecord.objects.get(pk=record.pk)
    assert (first.status, first.sha256, first.file) == (JobStatus.DONE, again.sha256, again.file)
    assert Event.objects.filter(verb="record-issued").count() == 1
    assert [file.name for file in first.path.parent.iterdir()] == [first.file]


def test_only_the_owner_can_read_the_file(revision):
    record = issued(revision)
    assert record.path.stat().st_mode & 0o777 == 0o600
    assert record.path.parent.stat().st_mode & 0o777 == 0o700


def test_a_late_worker_writes_nothing(revision):
    record = ask(revision)
    late = building.claim(record.pk)
    IssuedRecord.objects.filter(pk=record.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    building.put_back()
    second = building.claim(record.pk)
    assert building.build(second)
    kept = IssuedRecord.objects.get(pk=record.pk)
    assert not building.build(late)
    assert not building.break_off(late, "too late")
    record.refresh_from_db()
    assert (record.status, record.sha256) == (JobStatus.DONE, kept.sha256)
    assert [file.name for file in record.path.parent.iterdir()] == [record.file]


def test_a_worker_that_dies_again_and_again_ends_in_words(revision):
    record = ask(revision)
    for _ in range(building.ATTEMPTS):
        assert building.claim(record.pk)
        IssuedRecord.objects.filter(pk=record.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
        building.put_back()
    record.refresh_from_db()
    assert record.status == JobStatus.BROKEN
    assert "3 times" in record.problem
    assert ask(revision) != record


def test_a_failure_is_told_and_a_new_record_can_be_asked_for(revision, monkeypatch):
    record = ask(revision)
    monkeypatch.setattr(building, "build_design_record", lambda facts: 1 / 0)
    tasks.build_record(record.pk)
    record.refresh_from_db()
    assert (record.status, record.file) == (JobStatus.BROKEN, "")
    assert "could not be set (ZeroDivisionError" in record.problem
    assert ask(revision).pk != record.pk


def test_the_sweeper_sends_what_waits(revision, monkeypatch):
    record, sent = ask(revision), []
    monkeypatch.setattr(tasks.build_record, "nudge", lambda pk: sent.append(pk) or True)
    tasks.nudge_records()
    assert sent == [record.pk]


def test_a_record_stays(revision):
    record = ask(revision)
    with pytest.raises(TypeError, match="never deleted"):
        record.delete()
    with pytest.raises(IntegrityError), transaction.atomic():
        IssuedRecord.objects.filter(pk=record.pk).update(status=JobStatus.DONE)


def test_it_says_who_released_it_and_under_which_licence():
    design = make_design(verdict="review")
    engineer = person(
        Role.ENGINEER, first_name="Ruth", last_name="Okafor", licence_number="E-77", jurisdiction="Vermont"
    )
    release(design, by=engineer)
    told = building.facts_of(ask(newest(design))).acceptance
    assert (told.name, told.role, told.licence, told.jurisdiction) == ("Ruth Okafor", "engineer", "E-77", "Vermont")


@pytest.mark.parametrize(
    ("text", "pk"),
    [
        ("DR-000123", 123),
        ("dr-123", 123),
        (" DR-7 ", 7),
        ("XX-1", None),
        ("DR-", None),
        ("", None),
        ("DR-١٢", None),
        ("DR-" + "9" * 30, None),
        ("DR-1;drop", None),
    ],
)
def test_numbers_are_read_as_a_person_types_them(text, pk):
    assert pk_of(text) == pk
