"""What differs between two revisions or studies, and what does not."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rest_framework.test import APIClient

from engineering import study_tasks
from engineering.core.pipeline import run_checks
from engineering.models import CheckRun, JobStatus, Study
from engineering.study_actions import start_study
from jobs import comparison
from jobs.actions import studies
from jobs.errors import BadEntry, NotAllowed, NotNow
from jobs.models import Event, Revision
from tests.factories import document, make_design, newest, person, revise


def changes(left: dict[str, Any], right: dict[str, Any]) -> dict[str, tuple[str, str]]:
    return {row.path: (row.left, row.right) for row in comparison.inputs_that_differ(left, right)}


def test_each_entry_that_differs_is_named_in_the_words_of_the_form() -> None:
    other = document(length=110)
    other["loads"][0]["value"] = 60
    rows = comparison.inputs_that_differ(document(), other)
    assert [(row.words, row.left, row.right) for row in rows] == [
        ("Length", "108 in", "110 in"),
        ("Load use · Value", "40 psf", "60 psf"),
    ]


def test_the_same_length_written_in_another_way_is_no_difference() -> None:
    assert changes(document(length=108), document(length="9 ft")) == {}
    assert changes(document(length=108), document(length="9 ft 1 in")) == {"length": ("108 in", "9 ft 1 in")}


def test_rods_are_matched_by_mark_and_not_by_place() -> None:
    other = document()
    extra = {"mark": "R0", "like": "R1", "across": 12}
    other["rods"] = [other["rods"][0], extra, other["rods"][1]]
    assert changes(document(), other) == {
        "rods[R0].mark": ("", "R0"),
        "rods[R0].like": ("", "R1"),
        "rods[R0].across": ("", "12 in"),
    }


def test_what_is_left_to_its_default_says_which() -> None:
    (row,) = comparison.inputs_that_differ(document(), document(criteria={"crown": 300}))
    assert (row.words, row.left, row.right, row.default) == ("Criteria · Crown at stressing, L over", "", "300", "240")


@given(st.lists(st.sampled_from(["length", "loads", "rods", "concrete", "handling"]), unique=True))
def test_a_document_differs_from_itself_in_nothing_and_the_other_way_round_alike(keys: list[str]) -> None:
    other = deepcopy(document())
    for key in keys:
        other.pop(key)
    there, back = changes(document(), other), changes(other, document())
    assert changes(other, other) == {}
    assert there == {path: (right, left) for path, (left, right) in back.items()}
    assert bool(there) == bool(keys)


def checked(revision: Revision) -> Revision:
    """What a worker does: the engine's own result on the row."""
    result = run_checks(revision.specification.document)
    CheckRun.objects.filter(specification=revision.specification).update(
        status=JobStatus.DONE, verdict=result["verdict"], result=result
    )
    return revision


@pytest.fixture
def two(db: None) -> tuple[Revision, Revision]:
    """The counter, and the same with twice the load."""
    design = make_design(verdict=None)
    first = checked(newest(design))
    heavier = deepcopy(document()["loads"])
    heavier[0]["value"] = 80
    second = checked(revise(design, verdict=None, loads=heavier, supports=document()["supports"]))
    return first, second


def test_checks_and_figures_that_move_are_those_of_the_two_results(two: tuple[Revision, Revision]) -> None:
    found = comparison.of_revisions(*two)
    results = [run_checks(row.specification.document) for row in two]
    ratios = [{check["name"]: check["ratio"] for check in result["checks"]} for result in results]
    moved = {row.name: row for row in found.checks}
    assert [row.path for row in found.inputs] == ["loads[use].value"]
    assert (found.left_verdict, found.right_verdict) == (results[0]["verdict"], results[1]["verdict"])
    deflection = moved["live-load deflection"]
    assert deflection.change == pytest.approx(ratios[1][deflection.name] - ratios[0][deflection.name])
    assert deflection.right == pytest.approx(2 * deflection.left, rel=0.02)  # twice the load, the section uncracked
    assert "transfer tension" not in moved  # no live load there
    assert found.still == len(ratios[0]) - len(moved)
    for row in found.figures:
        assert row.left == results[0]["figures"][row.name]["value"]
        assert row.right == results[1]["figures"][row.name]["value"]
        assert row.left != row.right


def test_without_finished_checks_the_inputs_alone_are_compared(db: None) -> None:
    design = make_design(verdict=None)
    supports = document()["supports"]
    first, second = newest(design), revise(design, verdict=None, supports=supports, criteria={"crown": 300})
    found = comparison.of_revisions(first, second)
    assert [row.path for row in found.inputs] == ["criteria.crown"]
    assert (found.checks, found.figures, found.left_verdict) == ([], [], "")


# ---- studies: started and stopped, by page and program ---------------------------------------------------------------


def work(study: Study) -> Study:
    for part_id in study.parts.values_list("pk", flat=True):
        study_tasks.perform_study_part(part_id)
    study.refresh_from_db()
    assert study.status == JobStatus.DONE, study.problem
    return study


def test_a_study_is_started_once_for_one_tap_with_its_event(db: None) -> None:
    design, engineer = make_design(), person("engineer")
    tap = "11111111-1111-4111-8111-111111111111"
    before = Event.objects.count()
    made = studies.start(newest(design), by=engineer, kind="region", request_id=tap)
    again = studies.start(newest(design), by=engineer, kind="region", request_id=tap)
    assert made == again
    assert Study.objects.count() == 1
    (event,) = Event.objects.order_by("sequence")[before:]
    assert (event.verb, event.by, event.detail["study"]) == ("study-started", engineer, made.pk)


@pytest.mark.parametrize("role", ["crew", "viewer"])
def test_who_may_not_draw_starts_and_stops_nothing(role: str, db: None) -> None:
    design = make_design()
    study = start_study(newest(design).specification, "region")
    before = Event.objects.count()
    with pytest.raises(NotAllowed):
        studies.start(newest(design), by=person(role), kind="advice")
    with pytest.raises(NotAllowed):
        studies.stop(study, by=person(role))
    study.refresh_from_db()
    assert (Study.objects.count(), study.stop_wanted, Event.objects.count()) == (1, False, before)


def test_settings_that_cannot_be_are_refused_in_words_and_nothing_is_made(db: None) -> None:
    before = Event.objects.count()
    for kind, settings, words in (
        ("find-rods", {"numbers": []}, "has 0 designs"),
        ("find-rods", {"colour": "red"}, "has no colour"),
        ("find-rods", {"shelf": 7}, "."),
        ("tolerance", {"samples": -1}, "whole numbers above 0"),
        ("region", {"samples": 1}, "takes no settings"),
    ):
        with pytest.raises(BadEntry, match=words):
            studies.start(newest(make_design()), by=person(), kind=kind, settings=settings)
    assert Study.objects.count() == 0
    assert not Event.objects.filter(verb="study-started").exists()
    assert Event.objects.count() > before  # the designs alone


def test_a_program_starts_watches_stops_and_reads_a_study(db: None) -> None:
    design, client = make_design(), APIClient()
    client.force_login(person("engineer"))
    sent = {"revision": newest(design).pk, "kind": "tolerance", "settings": {"samples": 8}}
    made = client.post("/api/studies/", sent, format="json")
    assert (made.status_code, made.json()["status"], made.json()["progress"]) == (202, "waiting", 0)
    address = f"/api/studies/{made.json()['id']}/"
    work(Study.objects.get())
    told = client.get(address).json()
    assert (told["status"], told["progress"], told["result"]["samples"]) == ("done", 1, 8)
    late = client.post(f"{address}stop/", {}, format="json")
    assert (late.status_code, late.json()["code"]) == (409, "not-now")
    other = client.post("/api/studies/", {**sent, "settings": {"samples": 9}}, format="json").json()
    stopped = client.post(f"/api/studies/{other['id']}/stop/", {}, format="json").json()
    assert (stopped["status"], stopped["problem"]) == ("broken", "Stopped, as was wished.")
    assert [row["id"] for row in client.get("/api/studies/?status=done").json()["results"]] == [told["id"]]
    compared = client.get(f"/api/studies/{other['id']}/compare/?with={told['id']}").json()
    (row,) = compared["inputs"]
    assert (row["words"], row["left"], row["right"]) == ("settings · samples", "8", "9")


def test_a_study_that_ended_cannot_be_stopped_and_no_event_says_so(db: None) -> None:
    study = work(start_study(newest(make_design()).specification, "advice"))
    with pytest.raises(NotNow, match="has ended already"):
        studies.stop(study, by=person())
    assert not Event.objects.filter(verb="study-stopped").exists()


def test_a_program_compares_revisions(two: tuple[Revision, Revision]) -> None:
    client = APIClient()
    client.force_login(person("viewer"))
    address = f"/api/specifications/{two[1].pk}/compare/"
    found = client.get(address).json()
    assert (found["left"], found["right"]) == (two[0].pk, two[1].pk)
    assert [row["path"] for row in found["inputs"]] == ["loads[use].value"]
    assert client.get(f"{address}?with={two[1].pk}").json()["inputs"] == []
    assert client.get(f"{address}?with=x").status_code == 422
    assert client.get(f"{address}?with=99999999").status_code == 404
