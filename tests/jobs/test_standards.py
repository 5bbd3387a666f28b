"""Standard pieces: made of released drawings, ordered from only when checked and approved, never past a limit."""

from __future__ import annotations

from typing import Any

import pytest
from rest_framework.test import APIClient

from engineering import study_tasks
from engineering.core.pipeline import run_checks
from engineering.models import CheckRun, JobStatus, Study
from jobs import starters
from jobs.actions import standards
from jobs.errors import BadEntry, GateClosed, NotAllowed, NotNow, ShopError, Taken
from jobs.models import Design, Event, Release, Role, StandardPiece, StandardUse
from tests.factories import make_design, make_order, newest, person, release

pytestmark = pytest.mark.django_db
LIMITS = [{"measure": "length", "low": 94, "high": 100}, {"measure": "live load", "low": 30, "high": 40}]


def template() -> Design:
    """A released design that the engine itself passes."""
    design = make_design(document=starters.document("foam-core-counter"))
    release(design)
    return design


def worked(standard: StandardPiece) -> StandardPiece:
    for part in standard.study.parts.values_list("pk", flat=True):
        study_tasks.perform_study_part(part)
    standard.refresh_from_db()
    return StandardPiece.objects.select_related("revision__specification", "study").get(pk=standard.pk)


def made(**changes: Any) -> StandardPiece:
    fields = {"name": "Strip", "limits": LIMITS, "steps": 2, **changes}
    return standards.make(newest(template()), by=person(), **fields)


@pytest.fixture
def ready() -> StandardPiece:
    standard = worked(made())
    assert standard.study.result["holds"], standard.study.result["worst"]
    return standards.approve(standard, by=person("engineer"))


def nothing_made(before: int) -> None:
    assert (Design.objects.count(), StandardUse.objects.count()) == (before, 0)


def refused(standard: StandardPiece, code: str, *, by: str = "manager", **changes: Any) -> ShopError:
    order, before, events = make_order(), Design.objects.count(), Event.objects.count()
    asked = {"mark": "S-1", "values": {"length": 96, "live load": 35}, **changes}
    with pytest.raises(ShopError) as caught:
        standards.order_from(standard, order, by=person(by), **asked)
    nothing_made(before)
    assert Event.objects.count() == events
    assert code in [one.code for one in caught.value.blockers] or caught.value.code == code
    return caught.value


def test_a_piece_within_the_limits_is_a_design_with_checks_of_its_own_and_nobody_has_released_it(
    ready: StandardPiece,
) -> None:
    order, manager = make_order(), person()
    values = {"length": 96, "live load": 35}
    design = standards.order_from(ready, order, by=manager, mark="S-1", values=values, pieces=2)
    drawn = newest(design).specification
    assert (drawn.document["length"], drawn.document["loads"][1]["value"], design.mark) == (96, 35, "S-1")
    assert CheckRun.objects.get(specification=drawn).status == JobStatus.WAITING
    assert run_checks(drawn.document)["verdict"] == "pass"
    assert not Release.objects.filter(revision__design=design).exists()
    assert design.pieces.count() == 2
    assert {piece.stage for piece in design.pieces.all()} == {"ordered"}
    assert StandardUse.objects.get(design=design).values == values
    assert Event.objects.filter(verb="made-from-standard", by=manager, design=design).count() == 1


def test_past_a_limit_it_says_which_and_by_what_and_makes_nothing(ready: StandardPiece) -> None:
    error = refused(ready, "outside-limits", values={"length": 104, "live load": 35})
    assert "the length, 104 in, is not within 94 in to 100 in" in str(error)
    assert "live load" not in str(error)
    both = refused(ready, "outside-limits", values={"length": 80, "live load": 90})
    assert len(both.blockers) == 2


@pytest.mark.parametrize(
    "values", [{"length": 96}, {"length": 96, "live load": 35, "depth": 3}, {"length": "x", "live load": 35}, {}]
)
def test_measures_that_are_missing_strange_or_no_numbers_are_refused(
    ready: StandardPiece, values: dict[str, Any]
) -> None:
    refused(ready, "bad-entry", values=values)


def test_before_its_study_is_done_and_before_an_engineer_has_approved_nothing_is_made() -> None:
    standard = made()
    refused(standard, "standard-not-checked")
    with pytest.raises(GateClosed, match="not approved"):
        standards.approve(standard, by=person("engineer"))
    standard = worked(standard)
    refused(standard, "standard-not-approved")
    standards.approve(standard, by=person("engineer"))
    assert standards.blockers(StandardPiece.objects.get(pk=standard.pk)) == []


def test_limits_within_which_something_fails_are_approved_by_nobody() -> None:
    standard = worked(made(limits=[{"measure": "live load", "low": 40, "high": 400}]))
    assert standard.study.result["passing"] < standard.study.result["points"]
    before = Event.objects.count()
    with pytest.raises(GateClosed, match="Not every point"):
        standards.approve(standard, by=person("engineer"))
    standard.refresh_from_db()
    assert (standard.approved_at, Event.objects.count()) == (None, before)


@pytest.mark.parametrize(("role", "fields"), [("manager", {}), ("crew", {}), ("engineer", {"licence_number": ""})])
def test_only_an_engineer_with_a_licence_approves(role: str, fields: dict[str, str]) -> None:
    standard = worked(made())
    with pytest.raises(NotAllowed):
        standards.approve(standard, by=person(role, **fields))
    standard.refresh_from_db()
    assert standard.approved_at is None


def test_a_newer_engine_closes_it_until_it_is_checked_anew(ready: StandardPiece) -> None:
    Study.objects.filter(pk=ready.study_id).update(engine_version="0.0.1")
    refused(ready, "standard-old-engine")


def test_a_retired_one_makes_nothing_more_and_its_name_is_free(ready: StandardPiece) -> None:
    with pytest.raises(Taken, match="called Strip already"):
        made()
    standards.retire(ready, by=person("engineer"))
    refused(ready, "standard-retired")
    with pytest.raises(NotNow, match="retired already"):
        standards.retire(ready, by=person())
    assert made().name == "Strip"


def test_a_drawing_that_nobody_released_is_no_template() -> None:
    design, before = make_design(), Event.objects.count()
    with pytest.raises(NotNow, match="not released"):
        standards.make(newest(design), by=person(), name="Strip", limits=LIMITS)
    assert (StandardPiece.objects.count(), Study.objects.count(), Event.objects.count()) == (0, 0, before)


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ([], "each of its measures once"),
        ([LIMITS[0], LIMITS[0]], "each of its measures once"),
        ([{"measure": "colour", "low": 1, "high": 2}], "no measure"),
        ([{"measure": "length", "low": 96, "high": 84}], "should rise"),
        ([{"measure": "length", "low": 40, "high": 50}], "lies outside its limits"),
    ],
)
def test_limits_that_cannot_be_are_refused_and_nothing_is_made(limits: list[dict[str, Any]], words: str) -> None:
    design, before = template(), Event.objects.count()
    with pytest.raises(BadEntry, match=words):
        standards.make(newest(design), by=person(), name="Strip", limits=limits)
    assert (StandardPiece.objects.count(), Study.objects.count(), Event.objects.count()) == (0, 0, before)


@pytest.mark.parametrize("role", [Role.CREW, Role.VIEWER])
def test_who_may_not_draw_makes_orders_and_retires_nothing(role: str, ready: StandardPiece) -> None:
    refused(ready, "not-allowed", by=role)
    before = Event.objects.count()
    with pytest.raises(NotAllowed):
        standards.retire(ready, by=person(role))
    with pytest.raises(NotAllowed):
        standards.make(ready.revision, by=person(role), name="Other", limits=LIMITS)
    ready.refresh_from_db()
    assert (ready.retired_at, StandardPiece.objects.count(), Event.objects.count()) == (None, 1, before)


def test_one_tap_makes_one_design(ready: StandardPiece) -> None:
    order, manager, tap = make_order(), person(), "22222222-2222-4222-8222-222222222222"
    asked = {"mark": "S-1", "values": {"length": 96, "live load": 35}, "request_id": tap}
    first = standards.order_from(ready, order, by=manager, **asked)
    assert standards.order_from(ready, order, by=manager, **asked) == first
    assert StandardUse.objects.count() == 1


def test_by_program_from_making_to_ordering_and_past_a_limit() -> None:
    design, client = template(), APIClient()
    client.force_login(person("engineer"))
    sent = {"revision": newest(design).pk, "name": "Strip", "limits": LIMITS, "steps": 2}
    answer = client.post("/api/standard-pieces/", sent, format="json")
    assert answer.status_code == 201
    address = f"/api/standard-pieces/{answer.json()['id']}/"
    assert [one["code"] for one in answer.json()["blockers"]] == ["standard-not-checked", "standard-not-approved"]
    worked(StandardPiece.objects.get())
    assert client.post(f"{address}approve/", {}, format="json").json()["blockers"] == []
    wish = {"order": make_order().pk, "mark": "S-1", "values": {"length": 96, "live load": 35}}
    past = client.post(f"{address}order/", {**wish, "values": {"length": 190, "live load": 35}}, format="json")
    assert (past.status_code, [one["code"] for one in past.json()["blockers"]]) == (409, ["outside-limits"])
    drawn = client.post(f"{address}order/", wish, format="json")
    assert (drawn.status_code, drawn.json()["mark"], drawn.json()["newest_revision"]) == (201, "S-1", 1)
