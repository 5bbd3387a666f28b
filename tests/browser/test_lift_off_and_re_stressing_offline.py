"""Rods that are tight brought back to their force at an age, and lifted off, without the network: each entry is judged
on the tablet and comes to the book once; where a gate closed meanwhile, what was done stays a fact.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from jobs.actions import production
from jobs.models import (
    Event,
    KeptFact,
    LiftOff,
    NonConformance,
    Piece,
    Restressing,
    Stage,
)
from tests.browser.test_tightened_again_offline import away, lose_the_answer, slacken
from tests.browser.without_network import online, until, waits
from tests.factories import document, make_design, make_wrench, person, piece_at, pour_long_ago

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


# ---- back to force at an age -----------------------------------------------------------------------------------------


@pytest.fixture
def to_restress() -> Piece:
    make_wrench()
    drawn = document(stressing={**document()["stressing"], "restress": [28, 90]})
    return pour_long_ago(piece_at(Stage.INSTALLED, make_design(document=drawn)), days=40)


def fill_restressing(page: Page, first: str, second: str, crown: str = "") -> None:
    page.get_by_label("Torque wrench").select_option(index=1)
    for rod, torque in (("R2", first), ("R1", second)):
        page.get_by_label(f"Nobody stands in the line of rod {rod}").check()
        page.get_by_label(f"Torque of rod {rod}").fill(torque)
    page.get_by_label("Crown measured").fill(crown)


def test_rods_are_brought_back_to_force_offline_each_against_its_target(
    signed_in: Callable[..., Page], to_restress: Piece
) -> None:
    page = away(signed_in)
    page.goto(f"/pieces/{to_restress.pk}/re-stressing/")
    expect(page.locator("dl.target")).to_contain_text("76.8 to 83.2")
    page.get_by_label("Torque of rod R2").fill("70")
    expect(page.locator("output", has_text="under, at least 76.8")).to_be_visible()
    page.get_by_role("button", name="Write down the re-stressing").click()
    expect(waits(page)).to_have_count(0)  # nobody confirmed that the lines are clear: nothing is kept
    fill_restressing(page, "80", "79", crown="0.9")
    expect(page.locator("#stop-screen")).to_be_visible()
    fill_restressing(page, "80", "79", crown="0.1")
    expect(page.locator("#stop-screen")).to_be_hidden()
    page.get_by_role("button", name="Write down the re-stressing").click()
    expect(page.locator("#answers-here")).to_contain_text("IN tolerance")
    expect(page.get_by_label("Age that the drawing names")).to_have_text("90 days")  # of 28 nothing more is asked here
    page.reload()
    expect(page.locator("#answers-here")).to_contain_text("Re-stressing at 28 days")
    assert not Restressing.objects.exists()
    online(page)
    until(page, lambda: Restressing.objects.exists(), "re-stressing")
    made = Restressing.objects.get()
    assert (made.age_days, made.within_tolerance, made.line_clear) == (28, True, True)
    assert [row["torque_lbf_ft"] for row in made.rods] == [80, 79]
    assert made.at < made.recorded_at
    assert Event.objects.get(verb="restressed").detail["tap"]["waited_since"]
    assert not KeptFact.objects.exists()


def test_brought_back_by_two_tablets_the_second_is_a_fact_and_no_second_entry(
    signed_in: Callable[..., Page], to_restress: Piece
) -> None:
    page = away(signed_in)
    page.goto(f"/pieces/{to_restress.pk}/re-stressing/")
    fill_restressing(page, "80", "79")
    page.get_by_role("button", name="Write down the re-stressing").click()
    expect(waits(page)).to_contain_text("1 entry waits")
    values = {"R1": 80.0, "R2": 80.0}
    wrench = make_wrench()
    production.record_restressing(
        to_restress, by=person("crew"), age_days=28, values=values, wrench=wrench, line_clear=True
    )
    online(page)
    expect(page.locator("#queue .queue-refused")).to_contain_text("1 entry refused")
    assert Restressing.objects.count() == 1
    fact = KeptFact.objects.get()
    assert "done already" in fact.refusal
    assert ["Torque of rod R2", "80 lbf·ft"] in fact.typed
    assert not fact.non_conformance.is_settled


def test_rods_slackened_meanwhile_make_bringing_back_a_fact(signed_in: Callable[..., Page], to_restress: Piece) -> None:
    page = away(signed_in)
    page.goto(f"/pieces/{to_restress.pk}/re-stressing/")
    fill_restressing(page, "80", "79")
    page.get_by_role("button", name="Write down the re-stressing").click()
    expect(waits(page)).to_contain_text("1 entry waits")
    slacken(to_restress)
    online(page)
    expect(page.locator("#queue .queue-refused")).to_contain_text("1 entry refused")
    assert not Restressing.objects.exists()
    assert "Its rods were brought back to their force" in KeptFact.objects.get().non_conformance.what


def test_the_last_re_stressing_sent_again_after_its_answer_was_lost_is_found(signed_in: Callable[..., Page]) -> None:
    make_wrench()
    drawn = document(stressing={**document()["stressing"], "restress": [28]})
    piece = pour_long_ago(piece_at(Stage.DELIVERED, make_design(document=drawn)), days=40)
    page = away(signed_in)
    page.goto(f"/pieces/{piece.pk}/re-stressing/")
    fill_restressing(page, "80", "79")
    page.get_by_role("button", name="Write down the re-stressing").click()
    expect(page.get_by_text("Every age that the drawing names is written down here")).to_be_visible()
    lost = lose_the_answer(page, "**/re-stressing/")
    online(page)
    until(page, lambda: Restressing.objects.exists(), "re-stressing")
    page.reload()
    expect(waits(page)).to_have_count(0)
    expect(page.locator("#queue .queue-refused")).to_have_count(0)
    assert len(lost) == 1
    assert Restressing.objects.count() == 1
    assert not KeptFact.objects.exists()


# ---- lift-off --------------------------------------------------------------------------------------------------------


def lift(page: Page, rod: str, force: str) -> None:
    page.get_by_label("Nobody stands in the line").check()
    page.get_by_label("Rod", exact=True).select_option(rod)
    page.get_by_label("Force at which the nut left its plate").fill(force)
    page.get_by_role("button", name="Write down the lift-off").click()


def test_nuts_are_lifted_off_offline_rod_by_rod_each_told_at_once(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.FINISHED)
    page = away(signed_in)
    page.goto(f"/pieces/{piece.pk}/lift-off/")
    expect(page.locator("dl.target")).to_contain_text("7440 to 8560")
    lift(page, "R1", "7700")
    expect(page.locator("#answers-here section")).to_have_count(1)
    expect(page.locator("#answers-here")).to_contain_text("IN tolerance")
    lift(page, "R2", "7000")
    expect(page.locator("#answers-here section")).to_have_count(2)
    expect(page.locator("#answers-here")).to_contain_text("Rod R2 lifted off out of tolerance")
    page.reload()
    expect(page.locator("#answers-here section")).to_have_count(2)
    assert not LiftOff.objects.exists()
    online(page)
    until(page, lambda: LiftOff.objects.count() == 2, "two lift-offs")
    rows = LiftOff.objects.order_by("pk")
    assert list(rows.values_list("rod", "force_lbf", "within_tolerance")) == [("R1", 7700, True), ("R2", 7000, False)]
    assert rows[0].at < rows[1].at < rows[0].recorded_at
    assert len({row.request_id for row in rows}) == 2
    assert NonConformance.objects.get().place == "rod R2"
    assert not KeptFact.objects.exists()
