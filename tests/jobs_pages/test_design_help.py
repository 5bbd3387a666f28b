"""The pages of design help: started, watched, stopped, read, opened as a draft; and the verdict of what is typed."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.urls import reverse

from engineering import study_actions, study_tasks
from engineering.core.pipeline import run_checks
from engineering.models import CheckRun, JobStatus, Specification, Study
from tests.factories import document, make_design
from tests.page_reading import Page, as_read, objections

pytestmark = pytest.mark.django_db
SMALL = {"numbers": [3], "heights_in": [1.25], "spreads": [0.8], "shares": [0.4, 0.6], "restress": [[]]}
HEAVY = [{"label": "use", "case": "live", "type": "area", "value": 400}]


def start(design: Any, kind: str, asked: dict[str, Any] | None = None) -> Study:
    return study_actions.start_study(design.revisions.get().specification, kind, asked)


def work(study: Study) -> Study:
    for part_id in study.parts.values_list("pk", flat=True):
        study_tasks.perform_study_part(part_id)
    study.refresh_from_db()
    assert study.status == JobStatus.DONE, study.problem
    return study


def page(client: Any, design: Any) -> str:
    answer = client.get(reverse("design_help", args=[design.pk]))
    assert answer.status_code == 200
    text = as_read(answer)
    assert objections(text) == []
    return text


def test_who_may_look_and_who_may_start(signed_in: Any) -> None:
    design = make_design()
    for role, status in (("manager", 302), ("engineer", 302), ("crew", 403), ("viewer", 403)):
        client = signed_in(role)
        page(client, design)
        answer = client.post(reverse("design_help_start", args=[design.pk]), {"kind": "region"})
        assert answer.status_code == status, role
        assert client.post(reverse("design_help_stop", args=[design.pk]), {"kind": "region"}).status_code == status
    assert Study.objects.count() == 2


def test_started_watched_and_done(signed_in: Any) -> None:
    design, client = make_design(), signed_in("manager")
    client.post(reverse("design_help_start", args=[design.pk]), {"kind": "region"})
    assert "waiting for its turn" in page(client, design)
    address = reverse("design_help_part", args=[design.pk, "region"])
    watched = client.get(address)
    assert b"Stop how much force" in watched.content
    work(Study.objects.get())
    ended = client.get(address)
    assert (ended.status_code, ended["HX-Refresh"]) == (204, "true")
    text = page(client, design)
    assert "Where the stress checks hold" in text
    assert "The present design lies" in text


@pytest.mark.parametrize("kind", ["advice", "re-tightening", "tolerance"])
def test_each_help_is_shown(signed_in: Any, kind: str) -> None:
    design = make_design(document=document(loads=HEAVY))
    work(start(design, kind, {"samples": 20} if kind == "tolerance" else None))
    text = page(signed_in("viewer"), design)
    assert {"advice": "Worst first", "re-tightening": "Service needs", "tolerance": "fail a check"}[kind] in text


def test_rods_found_open_in_the_editor_and_nothing_is_stored_until_saved(signed_in: Any) -> None:
    design, client = make_design(), signed_in("manager")
    study = work(start(design, "find-rods", SMALL))
    one = study.result["wishes"][0]["designs"][0]
    address = reverse("design_help_draft", args=[design.pk, study.pk, one["index"]])
    assert address in page(client, design)
    before = Specification.objects.count()
    answer = client.get(address)
    assert answer.status_code == 200
    assert one["thread"] in as_read(answer)
    assert Specification.objects.count() == before
    assert signed_in("viewer").get(address).status_code == 403
    assert client.get(reverse("design_help_draft", args=[design.pk, study.pk, 999999])).status_code == 404
    other = make_design()
    assert client.get(reverse("design_help_draft", args=[other.pk, study.pk, one["index"]])).status_code == 404


def test_a_draft_saved_as_it_opens_is_the_next_revision_with_the_rods_found(signed_in: Any) -> None:
    design, client = make_design(), signed_in("manager")
    study = work(start(design, "find-rods", SMALL))
    one = study.result["wishes"][0]["designs"][0]
    address = reverse("design_help_draft", args=[design.pk, study.pk, one["index"]])
    sent = Page(client.get(address).content.decode()).values() | {"do": "save"}
    assert client.post(address, sent).status_code == 302
    made = design.revisions.get(number=2).specification.document
    assert [rod["mark"] for rod in made["rods"]] == ["R1", "R2", "R3"]
    assert (made["rods"][0]["thread"], made["rods"][0]["grade"]) == (one["thread"], one["grade"])
    assert run_checks(made)["verdict"] == one["verdict"]
    address = reverse("design_help_draft", args=[design.pk, study.pk, one["index"]])
    assert client.get(address).status_code == 200  # of an older revision's search, still to be opened


def test_no_way_through_says_what_opens_one(signed_in: Any) -> None:
    design = make_design(document=document(loads=HEAVY))
    work(start(design, "find-rods", SMALL))
    text = page(signed_in("manager"), design)
    assert "No design passes." in text
    assert "What would open the way" in text


def test_stopped_is_said(signed_in: Any) -> None:
    design, client = make_design(), signed_in("engineer")
    start(design, "find-rods", SMALL)
    client.post(reverse("design_help_stop", args=[design.pk]), {"kind": "find-rods"})
    assert "Stopped, as was wished." in page(client, design)


def test_a_piece_without_rods_is_told_to_find_some_first(signed_in: Any) -> None:
    from tests.factories import without_rods

    design, client = make_design(document=without_rods()), signed_in("manager")
    answer = client.post(reverse("design_help_start", args=[design.pk]), {"kind": "region"})
    assert answer.status_code == 422
    assert "This piece has no rods" in as_read(answer)


def post(client: Any, given: Any, query: str = "") -> Any:
    return client.post(reverse("design_preview") + query, json.dumps(given), content_type="application/json")


def test_the_verdict_of_what_is_typed_is_worked_at_once_and_nothing_is_stored(signed_in: Any) -> None:
    client = signed_in("manager")
    answer = post(client, document(loads=HEAVY))
    text = as_read(answer)
    assert answer.status_code == 200
    assert "flexural strength" in text
    assert "worst ratio" in text
    helps = post(client, document(loads=HEAVY), "?help=1")
    assert helps.status_code == 200
    assert (Specification.objects.count(), CheckRun.objects.count(), Study.objects.count()) == (0, 0, 0)


@pytest.mark.parametrize("given", [{}, [], document(length=-1), "x"])
def test_what_is_no_piece_yet_has_no_verdict(signed_in: Any, given: Any) -> None:
    assert post(signed_in("manager"), given).status_code == 422


def test_nobody_and_get_get_nothing(client: Any, signed_in: Any) -> None:
    assert post(client, document()).status_code == 302
    assert signed_in("manager").get(reverse("design_preview")).status_code == 405
