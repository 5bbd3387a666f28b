"""A study is rows: parts claimed once, joined once, stopped when wished, worked again when a worker is lost."""

import json
import time
from datetime import timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.utils import timezone

import engineering.actions
from engineering import leases, study_actions, study_kinds, study_tasks
from engineering.core import finder, finder_report, rod_space, studies, study_report
from engineering.core.contract import parse
from engineering.models import JobStatus, Study, StudyPart
from engineering.study_actions import StudyRefused, start_study, stop_study
from tests.factories import document, without_rods

pytestmark = pytest.mark.django_db
SMALL = {"numbers": [2, 3], "heights_in": [1.125, 1.375], "spreads": [0.8], "shares": [0.4, 0.6], "restress": [[]]}


@pytest.fixture
def specification():
    return engineering.actions.accept(document())


@pytest.fixture
def small_parts(monkeypatch):
    monkeypatch.setattr(study_kinds, "PART_DESIGNS", 10)
    monkeypatch.setattr(study_tasks, "TELL_EVERY_S", 0.0)


def parts_of(study: Study) -> list[int]:
    return list(study.parts.order_by("number").values_list("pk", flat=True))


def work(study: Study, order=None) -> Study:
    for part_id in order or parts_of(study):
        study_tasks.perform_study_part(part_id)
    study.refresh_from_db()
    return study


def test_a_search_over_parts_in_any_order_is_the_search_in_one(specification, small_parts):
    study = start_study(specification, "find-rods", SMALL)
    ids = parts_of(study)
    assert len(ids) > 3
    assert study.status == JobStatus.WAITING
    done = work(study, list(reversed(ids)))
    assert (done.status, done.progress, done.problem) == (JobStatus.DONE, 1.0, "")
    space = rod_space.Space.from_json(study.settings)
    whole = finder_report.report(document(), space, finder.search(document(), space))
    assert done.result == json.loads(json.dumps(whole))
    assert not StudyPart.objects.exists()


def test_a_tolerance_study_over_parts_is_the_study_in_one(specification, monkeypatch):
    monkeypatch.setattr(studies, "CHUNK", 20)
    monkeypatch.setattr(study_kinds, "PART_SAMPLES", 40)
    study = start_study(specification, "tolerance", {"samples": 100, "seed": 5})
    assert study.parts.count() == 3
    done = work(study)
    assert done.status == JobStatus.DONE
    piece = parse(document())
    whole = studies.StudyPart.from_json(studies.run_part(piece, 100, 5, 0, 100).to_json())
    assert done.result == json.loads(json.dumps(study_report.summary(piece, 100, 5, [whole])))


def test_a_part_landed_before_its_form_changed_is_worked_again(specification, monkeypatch):
    monkeypatch.setattr(studies, "CHUNK", 20)
    monkeypatch.setattr(study_kinds, "PART_SAMPLES", 40)
    study, other = (
        start_study(specification, kind, asked)
        for kind, asked in (("tolerance", {"samples": 60, "seed": 5}), ("find-rods", SMALL))
    )
    for part, result in ((study.parts.first(), {"ratios": [[0.5]]}), (other.parts.first(), {"kept": True})):
        StudyPart.objects.filter(pk=part.pk).update(status=JobStatus.DONE, done=part.total, result=result)
    import_module("engineering.migrations.0003_parts_worked_again").work_again(apps, None)
    assert other.parts.first().result == {"kept": True}
    assert work(study).status == JobStatus.DONE, study.problem


@pytest.mark.parametrize("kind", ["region", "re-tightening", "advice"])
def test_the_studies_of_one_part(specification, kind):
    done = work(start_study(specification, kind))
    assert done.status == JobStatus.DONE, done.problem
    assert done.result["specification"] == specification.sha256


def test_a_message_that_comes_twice_works_a_part_once(specification, small_parts):
    study = start_study(specification, "find-rods", SMALL)
    first = parts_of(study)[0]
    study_tasks.perform_study_part(first)
    study_tasks.perform_study_part(first)
    part = StudyPart.objects.get(pk=first)
    assert (part.status, part.attempts) == (JobStatus.DONE, 1)


def test_progress_is_written_as_the_parts_go(specification, small_parts):
    study = start_study(specification, "find-rods", SMALL)
    seen = [0.0]
    for part_id in parts_of(study)[:-1]:
        study_tasks.perform_study_part(part_id)
        study.refresh_from_db()
        seen.append(study.progress)
    assert seen == sorted(seen)
    assert 0 < seen[1] < seen[-1] < 1


def test_a_lost_workers_part_waits_again_and_its_late_result_does_not_land(specification, small_parts):
    study = start_study(specification, "find-rods", SMALL)
    first = parts_of(study)[0]
    token = leases.take(StudyPart.objects.filter(pk=first))
    lost = StudyPart.objects.get(pk=first, claim=token)
    StudyPart.objects.filter(pk=first).update(lease_until=timezone.now() - timedelta(seconds=1))
    study_tasks.nudge_studies()
    assert not leases.land(lost, status=JobStatus.DONE, result={"late": True})
    done = work(study)
    assert done.status == JobStatus.DONE
    assert '"late"' not in json.dumps(done.result)


def test_a_worker_lost_while_joining_is_made_good_by_the_sweeper(specification, small_parts, monkeypatch):
    study = start_study(specification, "find-rods", SMALL)
    monkeypatch.setattr(study_tasks, "join_study", lambda study_id: None)
    work(study)
    monkeypatch.undo()
    token = leases.take(Study.objects.filter(pk=study.pk))
    assert token
    Study.objects.filter(pk=study.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    study_tasks.nudge_studies()
    study.refresh_from_db()
    assert study.status == JobStatus.DONE


def test_a_part_that_kills_its_workers_breaks_the_study_with_a_reason(specification, small_parts):
    study = start_study(specification, "find-rods", SMALL)
    first = parts_of(study)[0]
    for _ in range(leases.ATTEMPTS):
        leases.take(StudyPart.objects.filter(pk=first))
        StudyPart.objects.filter(pk=first).update(lease_until=timezone.now() - timedelta(seconds=1))
        study_tasks.nudge_studies()
    study.refresh_from_db()
    assert (study.status, study.problem) == (JobStatus.BROKEN, study_tasks.LOST)
    assert not StudyPart.objects.exists()


def test_a_wish_to_stop_ends_waiting_parts_at_once_and_running_ones_at_their_next_word(specification, small_parts):
    study = start_study(specification, "find-rods", SMALL)
    ids = parts_of(study)
    study_tasks.perform_study_part(ids[0])
    token = leases.take(StudyPart.objects.filter(pk=ids[1]))
    running = StudyPart.objects.select_related("study__specification").get(pk=ids[1], claim=token)
    stop_study(study)
    study.refresh_from_db()
    assert (study.status, study.problem, study.result) == (JobStatus.BROKEN, study_tasks.STOPPED, None)
    with pytest.raises(study_tasks.Stopped):
        study_tasks._worked(running)
    study_tasks.perform_study_part(ids[2])
    study_tasks.nudge_studies()
    study.refresh_from_db()
    assert study.status == JobStatus.BROKEN


def test_an_engine_that_raises_leaves_a_plain_reason(specification, monkeypatch):
    def raises(*_):
        raise ZeroDivisionError("the section\nhas no depth")

    kind = study_kinds.KINDS["region"]
    monkeypatch.setitem(
        study_kinds.KINDS, "region", study_kinds.Kind(kind.name, kind.settings_of, kind.cut, raises, kind.join)
    )
    done = work(start_study(specification, "region"))
    assert done.status == JobStatus.BROKEN
    assert "ZeroDivisionError: the section has no depth" in done.problem


def test_the_same_study_asked_for_twice_is_one(specification):
    first = start_study(specification, "find-rods", SMALL)
    assert start_study(specification, "find-rods", SMALL) == first
    assert start_study(specification, "find-rods", {**SMALL, "shares": [0.5]}) != first
    assert study_actions.latest_study(specification, "find-rods") != first


def test_what_cannot_be_studied_is_refused_with_words(specification):
    bare = engineering.actions.accept(without_rods())
    for kind, asked, words in (
        ("guessing", {}, "no study called"),
        ("tolerance", {"samples": 0}, "whole numbers above 0"),
        ("tolerance", {"samples": 10**7}, "at most"),
        ("find-rods", {"numbers": []}, "it should be 1 to"),
        ("find-rods", {"colour": "red"}, "has no colour"),
        ("region", {"x": 1}, "takes no settings"),
    ):
        with pytest.raises(StudyRefused, match=words):
            start_study(specification, kind, asked)
    with pytest.raises(StudyRefused, match="has no rods"):
        start_study(bare, "region")
    assert not Study.objects.exists()


def test_a_search_tells_of_itself_more_than_once_a_second(specification):
    """Told at every pass of the engine; a pass is a thousand variants at most. Counted, not timed."""
    told = []
    cut = study_kinds.Cut(0, 2, 1)
    settings = study_kinds.KINDS["find-rods"].settings_of(document(), SMALL)
    study_kinds.KINDS["find-rods"].work(document(), settings, cut, lambda done: told.append((done, time.monotonic())))
    assert len(told) >= 4
