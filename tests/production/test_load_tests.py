"""The load a test asks for, and when its readings accept it."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from engineering.queries import latest_run
from jobs.actions import production, quality
from jobs.errors import BadEntry, GateClosed, NotNow
from jobs.load_tests import load_for, outcome_of
from jobs.models import Event, LoadTest, LoadTestPlan, Piece, Role, Stage
from jobs.standing import Standing
from tests.factories import finish_ends, move, person, piece_at, plan_load_test, read_load

pytestmark = pytest.mark.django_db


def outcome(plan: LoadTestPlan) -> tuple[bool | None, str]:
    found = outcome_of(plan, list(plan.readings.order_by("at", "pk")))
    return found.accepted, found.words


def test_the_load_by_hand() -> None:
    """25 × 108 in at 40 psf: 750 lbf live; 25·3·108/1728·130 = 609.375 lbf weight. 0.15·609.375 + 1.5·750 = 1216.406;
    100²/(20,000·3) = 1/6 in."""
    piece = piece_at(Stage.STRESSED)
    assert piece.revision is not None
    load = load_for(Standing(piece).described, latest_run(piece.revision.specification))
    assert (load.live_lbf, load.to_put_on_lbf) == pytest.approx((750, 1216.40625))
    assert load.limit_in == pytest.approx(1 / 6)


def test_a_plan_that_brings_too_little_or_in_too_few_layers_is_refused() -> None:
    piece = piece_at(Stage.STRESSED)
    with pytest.raises(BadEntry, match="asks for 1216 lbf"):
        plan_load_test(piece, unit_lbf=30.0)
    with pytest.raises(BadEntry, match="4 layers or more"):
        plan_load_test(piece, layers=[{"number": 50, "where": "all"}])


@pytest.fixture
def plan() -> LoadTestPlan:
    return plan_load_test(piece_at(Stage.STRESSED, load_test_required=True), unit_lbf=31.0)


def test_small_enough_under_the_full_load_that_lay_long_enough(plan: LoadTestPlan) -> None:
    read_load(plan, 620, 0.05, 0)
    assert outcome(plan) == (None, "Not at its full load yet: 620 of 1216 lbf.")
    read_load(plan, 1240, 0.10, 1)
    assert outcome(plan)[0] is None
    read_load(plan, 1240, 0.11, 2)
    assert outcome(plan)[0] is True
    made = production.conclude_load_test(plan, by=person(Role.CREW))
    assert (made.accepted, made.load_lbf, made.deflection_in) == (True, 1240, 0.11)


def test_over_the_limit_it_has_to_come_back_within_a_day(plan: LoadTestPlan) -> None:
    read_load(plan, 1240, 0.30, 0)
    read_load(plan, 1240, 0.32, 1)
    assert outcome(plan)[0] is None
    with pytest.raises(NotNow, match="not at its end"):
        production.conclude_load_test(plan, by=person(Role.CREW))
    read_load(plan, 0, 0.20, 2)
    assert outcome(plan)[0] is None
    read_load(plan, 0, 0.08, 26)
    assert outcome(plan)[0] is True


def test_what_does_not_come_back_is_not_accepted(plan: LoadTestPlan) -> None:
    read_load(plan, 1240, 0.30, 0)
    read_load(plan, 1240, 0.32, 1)
    read_load(plan, 0, 0.09, 26)
    assert outcome(plan)[0] is False
    assert not production.conclude_load_test(plan, by=person(Role.CREW)).accepted
    assert [row.decision for row in plan.piece.non_conformances.all()] == [""]


def test_a_crack_is_never_accepted(plan: LoadTestPlan) -> None:
    read_load(plan, 300, 0.01, 0, crack_seen=True)
    assert outcome(plan)[0] is False


def test_a_crack_stops_the_piece_at_once_and_is_told_once() -> None:
    """Also a piece whose drawing asks for no load test: it went on to its ends before."""
    piece = piece_at(Stage.STRESSED)
    plan = plan_load_test(piece)
    finish_ends(piece)
    for load in (300, 310):
        read_load(plan, load, 0.01, 0, crack_seen=True)
    told = piece.non_conformances.get()
    assert (told.what, told.decision) == ("A crack was seen in the load test, at 300 lbf besides its own weight.", "")
    with pytest.raises(GateClosed, match=r"Non-conformance \d+ waits for the engineer"):
        move(piece, Stage.FINISHED)
    assert not production.conclude_load_test(plan, by=person(Role.CREW)).accepted
    assert piece.non_conformances.count() == 1
    piece.refresh_from_db()
    assert piece.stage == Stage.STRESSED


def test_a_second_test_waits_for_the_engineer_and_has_to_come_back_further(plan: LoadTestPlan) -> None:
    """A quarter of the deflection may be left after the first test, a fifth after another."""
    read_load(plan, 1240, 0.30, 0)
    read_load(plan, 1240, 0.32, 1)
    read_load(plan, 0, 0.09, 26)
    production.conclude_load_test(plan, by=person(Role.CREW))
    with pytest.raises(NotNow, match="once the engineer has decided"):
        plan_load_test(plan.piece, unit_lbf=31.0)
    assert plan.piece.load_test_plans.count() == 1
    quality.decide_non_conformance(
        plan.piece.non_conformances.get(), by=person(Role.ENGINEER), decision="use-as-is", note="Test it again."
    )
    again = plan_load_test(plan.piece, unit_lbf=31.0, replaces=plan.pk)
    read_load(again, 1240, 0.30, 0)
    read_load(again, 1240, 0.32, 1)
    read_load(again, 0, 0.07, 26)
    assert outcome(again) == (
        False,
        "Not accepted: more than 20 % of the deflection is left after 24 hours. Ask the engineer.",
    )
    read_load(again, 0, 0.06, 27)
    assert outcome(again)[0] is True


def test_nobody_under_it_before_anything_is_written(plan: LoadTestPlan) -> None:
    with pytest.raises(BadEntry, match="out from under it"):
        read_load(plan, 300, 0.01, 0, nobody_under=False)
    assert not plan.readings.exists()


def test_the_plan_s_page_shows_how_the_load_comes_about() -> None:
    """The sum of the engine, step by step, and no warning where a spread load tries the piece hard enough."""
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    client = Client()
    client.force_login(person(Role.CREW), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("load_test_plan", args=[piece.pk])).content.decode()
    assert "load = max(1.15 D + 1.5 L, 1.3 D) = max(1.15 × 609.38 lbf + 1.5 × 750 lbf" in page
    assert ("An engineer must say where to put the load" in page) is not load_for(
        Standing(piece).described, latest_run(piece.revision.specification)
    ).enough


def test_an_engineer_plans_a_test_and_watches_it_and_writes_nothing_of_it_down() -> None:
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    client = Client()
    client.force_login(person(Role.ENGINEER), backend="django.contrib.auth.backends.ModelBackend")
    layers = "\n".join(f"10; layer {number}" for number in range(1, 6))
    sent = {"what": "bags", "unit_lbf": "31", "layers": layers, "hold_minutes": "1440"}
    answer = client.post(reverse("load_test_plan", args=[piece.pk]), sent, follow=True)
    plan, run = piece.load_test_plans.get(), reverse("load_test_run", args=[piece.pk])
    assert (plan.by.role, len(plan.layers)) == (Role.ENGINEER, 5)
    assert answer.redirect_chain[-1][0] == run
    assert "Write down the reading" not in answer.content.decode()
    reading = {"plan": plan.pk, "load_lbf": "310", "deflection_in": "0.01", "nobody_under": "on"}
    assert client.post(run, reading).status_code == 403
    assert client.post(reverse("load_test_conclude", args=[piece.pk])).status_code == 403
    assert not plan.readings.exists()
    assert not piece.load_tests.exists()


# ---- accepted by plan and readings alone -----------------------------------------------------------------------------


def ticked(piece: Piece, **fields: Any) -> LoadTest:
    given = {"load_lbf": 1240.0, "deflection_in": 0.1, "cracks_seen": False, "accepted": True, **fields}
    return production.record_load_test(piece, by=person(Role.CREW), **given)


def refused(piece: Piece) -> list[str]:
    with pytest.raises(GateClosed) as told:
        ticked(piece)
    assert not LoadTest.objects.exists()
    assert not Event.objects.filter(verb="load-tested").exists()
    return [blocker.code for blocker in told.value.blockers]


def test_a_tick_accepts_nothing_without_a_plan_and_readings_that_pass() -> None:
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    assert refused(piece) == ["load-test-no-plan"]
    plan = plan_load_test(piece)
    assert refused(piece) == ["load-test-not-passed"]  # nothing read
    read_load(plan, 1240, 0.1, 0)
    assert refused(piece) == ["load-test-not-passed"]  # not lain long enough
    read_load(plan, 1240, 0.3, 1)
    assert refused(piece) == ["load-test-not-passed"]  # over the limit, and nothing left to see it come back
    read_load(plan, 0, 0.2, 26)
    assert refused(piece) == ["load-test-not-passed"]  # did not come back


def test_an_accepted_test_has_the_figures_that_were_read(plan: LoadTestPlan) -> None:
    for hours in (0, 1):
        read_load(plan, 1240, 0.1, hours)
    for fields in ({"load_lbf": 1500.0}, {"deflection_in": 0.01}, {"residual_in": 0.0}):
        with pytest.raises(BadEntry, match="not the figures that were read"):
            ticked(plan.piece, **fields)
    assert not LoadTest.objects.exists()
    assert ticked(plan.piece).accepted


def test_a_plan_for_another_drawing_accepts_nothing(plan: LoadTestPlan) -> None:
    for hours in (0, 1):
        read_load(plan, 1240, 0.1, hours)
    other = piece_at(Stage.STRESSED).revision
    LoadTestPlan.objects.filter(pk=plan.pk).update(revision=other)
    assert refused(plan.piece) == ["load-test-other-drawing"]


def test_the_page_has_no_tick_says_what_is_missing_and_keeps_a_test_that_went_wrong() -> None:
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    client, address = Client(), reverse("load_test", args=[piece.pk])
    client.force_login(person(Role.CREW), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(address).content.decode()
    assert 'name="accepted"' not in page
    assert "No load test is planned" in page
    assert reverse("load_test_plan", args=[piece.pk]) in page
    sent = {"load_lbf": "900", "deflection_in": "0.1", "accepted": "on", "request_id": str(uuid4())}
    assert client.post(address, sent).status_code == 302
    assert [row.accepted for row in piece.load_tests.all()] == [False]  # an old page's tick is nothing
    assert (
        client.post(
            reverse("piece_move", args=[piece.pk]), {"to_stage": "load-tested", "request_id": str(uuid4())}
        ).status_code
        == 409
    )
    piece.refresh_from_db()
    assert piece.stage == Stage.STRESSED


def test_a_program_is_refused_just_as_the_page_is() -> None:
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    client = Client()
    client.force_login(person(Role.CREW), backend="django.contrib.auth.backends.ModelBackend")
    sent = {"piece": piece.pk, "load_lbf": 900, "deflection_in": 0.1, "cracks_seen": False, "accepted": True}
    answer = client.post("/api/load-tests/", sent, content_type="application/json")
    assert answer.status_code == 409, answer.content
    assert not LoadTest.objects.exists()


def test_the_page_of_a_test_that_is_over_offers_nothing_to_write(plan: LoadTestPlan) -> None:
    for hours in (0, 1):
        read_load(plan, 1240, 0.1, hours)
    client, address = Client(), reverse("load_test_run", args=[plan.piece_id])
    client.force_login(person(Role.CREW), backend="django.contrib.auth.backends.ModelBackend")
    assert "Conclude: accepted" in client.get(address).content.decode()
    production.conclude_load_test(plan, by=person(Role.CREW))
    move(plan.piece, Stage.LOAD_TESTED)
    page = client.get(address).content.decode()
    assert "a load test comes after stressing and before finishing" in page
    assert [words for words in ("Conclude:", 'name="load_lbf"') if words in page] == []
    sent = {"load_lbf": "10", "deflection_in": "0.1", "nobody_under": "on", "request_id": str(uuid4())}
    assert client.post(address, sent).status_code == 409
    assert plan.readings.count() == 2
