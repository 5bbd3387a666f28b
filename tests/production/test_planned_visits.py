"""When a piece is to be tightened again stands in the schedule and is told in time: by its drawing, or by its plan."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from engineering import study_tasks
from engineering.models import JobStatus, Specification, Study
from engineering.study_actions import start_study
from jobs import schedule
from jobs.actions import notices
from jobs.models import Notice, Piece, Pour, Stage
from tests.core import pieces
from tests.factories import document, make_design, newest, person, piece_at
from tests.page_reading import Page

pytestmark = pytest.mark.django_db
LATER = {**document()["stressing"], "restress": [28, 90]}
PLAN = {"better": "tighten", "visits": [{"age": 28.0}, {"age": 95.0}, {"age": 400.0}]}


def dated(words: str) -> list[schedule.Dated]:
    found = schedule.plan(date(2000, 1, 1), date(2100, 1, 1)).entries
    return [entry for entry in found if words in entry.text]


def planned(piece: Piece, plan: dict[str, Any] = PLAN) -> Study:
    """A finished plan of the piece's drawing; what plans say is tested in core/design_help."""
    study = start_study(piece.revision.specification, "re-tightening")
    Study.objects.filter(pk=study.pk).update(status=JobStatus.DONE, result=plan)
    return study


def test_the_ages_of_the_drawing_are_dated_from_the_pour_and_late_ones_said_so() -> None:
    piece = piece_at(Stage.STRESSED, make_design(document=document(stressing=LATER)))
    poured = timezone.now() - timedelta(days=40)
    Pour.objects.update(at=poured)
    entries = dated("Tighten C-104/1 again")
    days = [timezone.localtime(poured + timedelta(days=age)).date() for age in (28, 90)]
    assert [(entry.on, entry.late) for entry in entries] == [(days[0], True), (days[1], False)]
    assert all(entry.url == reverse("piece", args=[piece.pk]) for entry in entries)


@pytest.mark.parametrize("stage", [Stage.CURING, Stage.STRIPPED])
def test_what_is_not_tight_yet_has_no_such_date(stage: str) -> None:
    piece = piece_at(stage, make_design(document=document(stressing=LATER)))
    planned(piece)
    assert dated("again") == []
    notices.sweep()
    assert not Notice.objects.filter(kind__in=("visit-planned", "restressing-due")).exists()


def test_a_visit_that_only_the_plan_asks_for_is_the_engineers_to_decide() -> None:
    piece = piece_at(Stage.STRESSED, make_design(document=document(stressing=LATER)))
    planned(piece)
    entries = dated("its plan tightens again")
    assert [entry.uid for entry in entries] == [f"planned-visit-{piece.pk}-400"]  # 28 and 95 are the drawing's
    notices.sweep()
    assert not Notice.objects.filter(kind="visit-planned").exists()  # more than a month ahead
    Pour.objects.update(at=timezone.now() - timedelta(days=375))
    notices.sweep()
    (notice,) = Notice.objects.filter(kind="visit-planned")
    assert notice.roles == ["engineer", "manager"]
    assert "its drawing does not" in notice.text
    notices.sweep()
    assert Notice.objects.filter(kind="visit-planned").count() == 1


@pytest.mark.parametrize("plan", [{"better": "none", "visits": []}, {"better": "neither", "visits": [{"age": 60.0}]}])
def test_a_plan_without_use_asks_for_nothing(plan: dict[str, Any]) -> None:
    planned(piece_at(Stage.STRESSED), plan)
    assert dated("its plan") == []


def test_however_many_pieces_the_schedule_asks_the_database_as_often() -> None:
    piece_at(Stage.STRESSED, make_design(document=document(stressing=LATER)))
    with CaptureQueriesContext(connection) as one:
        dated("again")
    for _ in range(2):
        planned(piece_at(Stage.STRESSED, make_design(document=document(stressing=LATER))))
    with CaptureQueriesContext(connection) as three:
        assert len(dated("again")) == 8
    assert len(three) == len(one)


def test_a_plans_ages_open_as_a_draft_and_stand_on_the_next_revision(client: Any) -> None:
    soft = pieces.document()
    soft["rods"][0].update(grade="F1554-36", jacking_force=3500)
    design = make_design(document=soft)
    study = start_study(newest(design).specification, "re-tightening")
    for part in study.parts.values_list("pk", flat=True):
        study_tasks.perform_study_part(part)
    study.refresh_from_db()
    assert study.result["visits"], "the soft rods are there to want a visit"
    client.force_login(person("engineer"), backend="django.contrib.auth.backends.ModelBackend")
    assert b"Open with these ages" in client.get(reverse("design_help", args=[design.pk])).content
    address, before = reverse("design_help_visits", args=[design.pk, study.pk]), Specification.objects.count()
    text = client.get(address).content.decode()
    assert Specification.objects.count() == before
    assert client.post(address, Page(text).values() | {"do": "save"}).status_code == 302
    ages = newest(design).specification.document["stressing"]["restress"]
    assert ages == pytest.approx([visit["age"] for visit in study.result["visits"]])
    other = make_design()
    assert client.get(reverse("design_help_visits", args=[other.pk, study.pk])).status_code == 404
    client.force_login(person("crew"), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(address).status_code == 403
