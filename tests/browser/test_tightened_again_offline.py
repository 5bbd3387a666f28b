"""A round of stressing after a slackening, without the network: it begins, goes on and ends on the tablet and comes to
the book once and in order; where a gate closed meanwhile, what was done stays a fact.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from jobs.actions import production, quality
from jobs.models import (
    Event,
    Incident,
    KeptFact,
    NonConformance,
    Person,
    Piece,
    Stage,
    Stressing,
    StressingReading,
)
from jobs.procedures import PROCEDURES
from tests.browser.devices import TABLET
from tests.browser.without_network import kept, offline, online, read_offline, until, waits
from tests.factories import make_wrench, person, piece_at

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TURNS = [("R2", 0), ("R1", 0), ("R2", 1), ("R1", 1)]


def slacken(piece: Piece) -> Incident:
    return production.record_incident(
        piece,
        by=person("crew"),
        kind="slackened",
        rods=["R1", "R2"],
        what="a plate bedded in",
        confirmed=PROCEDURES["slackened"].first,
    )


def away(signed_in: Callable[..., Page], who: str | Person = "crew") -> Page:
    page = signed_in(who, viewport=TABLET)
    kept(page)
    offline(page)
    return page


def begin(page: Page) -> None:
    page.get_by_label("Torque wrench").select_option(index=1)
    page.get_by_label("Smallest step the stretch gauge shows").fill("0.001")
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("#turn")).to_have_text("rod R2, to 50 %")


def begun_after_slackening(signed_in: Callable[..., Page], stage: str = Stage.STRESSED) -> tuple[Piece, Page]:
    """A piece whose rods were slackened, and a tablet without the network on which its next round is begun."""
    piece = piece_at(stage)
    slacken(piece)
    page = away(signed_in)
    page.goto(f"/pieces/{piece.pk}/stressing/")
    begin(page)
    return piece, page


def turn(page: Page, title: str, torque: str, stretch: str, crown: str = "") -> None:
    expect(page.locator("#turn")).to_have_text(title)
    if crown:
        page.get_by_label("Crown measured").fill(crown)
    read_offline(page, torque, stretch)


def read_all(page: Page, crown: str = "0.1") -> None:
    turn(page, "rod R2, to 50 %", "40", "0.125")
    turn(page, "rod R1, to 50 %", "40", "0.125")
    turn(page, "rod R2, to 100 %", "80", "0.25")
    turn(page, "rod R1, to 100 %", "80", "0.25", crown)


def verbs(piece: Piece, *kinds: str) -> list[str]:
    return list(Event.objects.filter(piece=piece, verb__in=kinds).order_by("sequence").values_list("verb", flat=True))


# ---- a round after a slackening --------------------------------------------------------------------------------------


@pytest.mark.parametrize("stage", [Stage.STRESSED, Stage.INSTALLED])
def test_a_round_after_a_slackening_begins_goes_on_and_ends_offline(
    signed_in: Callable[..., Page], stage: Stage
) -> None:
    piece = piece_at(stage)
    slacken(piece)
    first = Stressing.objects.get()
    page = away(signed_in)
    page.goto(f"/pieces/{piece.pk}/stressing/")
    begin(page)
    read_all(page)
    expect(waits(page)).to_contain_text("5 entries wait")  # on a busy machine a reload overtakes the last one's writing
    page.reload()  # what waits is laid over the page that was kept
    expect(page.locator("#turn")).to_have_text("Every rod is read on this tablet, in tolerance at its last step.")
    page.get_by_role("button", name="Finish the stressing").click()
    expect(page.locator("#ended-here")).to_contain_text("Finished on this tablet")
    page.reload()
    expect(page.locator("#ended-here")).to_contain_text("Finished on this tablet")
    expect(page.get_by_role("button", name="Finish the stressing")).to_be_hidden()
    expect(waits(page)).to_contain_text("6 entries wait")
    assert Stressing.objects.get() == first
    online(page)
    until(page, lambda: Stressing.objects.filter(state="complete").count() == 2, "a second complete round")
    expect(waits(page)).to_have_count(0)
    again = Stressing.objects.exclude(pk=first.pk).get()
    rows = StressingReading.objects.filter(stressing=again).order_by("pk")
    assert list(rows.values_list("rod", "step")) == TURNS
    assert all(row.within_tolerance and row.line_clear for row in rows)
    assert len({row.request_id for row in rows}) == 4
    assert [row.at for row in rows] == sorted(row.at for row in rows)
    assert again.at <= rows[0].at
    assert rows[3].at < rows[0].recorded_at  # each at its own tap, long before it was sent
    assert verbs(piece, "stressing-started", "rod-read", "stressing-finished")[-6:] == [
        "stressing-started",
        *["rod-read"] * 4,
        "stressing-finished",
    ]
    assert Piece.objects.get(pk=piece.pk).stage == stage
    assert not KeptFact.objects.exists()


def test_slackened_and_stressed_again_without_the_network_in_between(signed_in: Callable[..., Page]) -> None:
    make_wrench()
    piece = piece_at(Stage.STRESSED)
    page = away(signed_in)
    page.goto(f"/pieces/{piece.pk}/stressing/")
    expect(page.get_by_text("a piece is stressed after it is stripped")).to_be_visible()
    expect(page.get_by_role("button", name="Begin")).to_be_hidden()  # the rods are tight
    page.goto(f"/pieces/{piece.pk}/wrong/slackened/")
    for box in page.get_by_role("group", name="Done first").get_by_role("checkbox").all():
        box.check()
    for box in page.get_by_role("group", name="Which rods").get_by_role("checkbox").all():
        box.check()
    page.get_by_label("Why, and what was found").fill("a plate bedded in")
    page.get_by_role("button", name="Write it down").click()
    expect(waits(page)).to_contain_text("1 entry waits")
    page.goto(f"/pieces/{piece.pk}/stressing/")
    expect(page.locator("#not-yet")).to_be_hidden()
    begin(page)
    turn(page, "rod R2, to 50 %", "40", "0.125")
    expect(waits(page)).to_contain_text("3 entries wait")
    assert not Incident.objects.exists()
    online(page)
    until(page, lambda: StressingReading.objects.filter(stressing__state="open").count() == 1, "a reading")
    assert verbs(piece, "incident-recorded", "stressing-started")[-2:] == ["incident-recorded", "stressing-started"]
    assert not KeptFact.objects.exists()
    expect(page.locator("#turn")).to_have_text("rod R1, to 50 %")  # of the book's own page


def test_over_the_limit_of_the_crown_the_tablet_stops_the_round_and_the_stop_is_the_last_word(
    signed_in: Callable[..., Page],
) -> None:
    piece, page = begun_after_slackening(signed_in)
    read_all(page, crown="0.9")
    expect(page.locator("#stop-screen")).to_be_focused()
    expect(page.locator("#at-work")).to_be_hidden()
    page.locator("#over-limit-reason").fill("the crown rose at once")
    page.locator("#stop-screen").get_by_role("button", name="Stop this stressing").click()
    expect(page.locator("#ended-here")).to_contain_text("Stopped on this tablet")
    expect(page.get_by_role("button", name="Finish the stressing")).to_be_hidden()
    online(page)
    until(page, lambda: Stressing.objects.filter(state="stopped").exists(), "stopped round")
    assert StressingReading.objects.filter(stressing__state="stopped", within_tolerance=False).count() == 1
    assert verbs(piece, "rod-read", "stressing-stopped")[-2:] == ["rod-read", "stressing-stopped"]
    assert not KeptFact.objects.exists()


def test_a_rod_out_at_its_last_step_keeps_the_round_from_ending_on_the_tablet(signed_in: Callable[..., Page]) -> None:
    _, page = begun_after_slackening(signed_in)
    turn(page, "rod R2, to 50 %", "40", "0.125")
    turn(page, "rod R1, to 50 %", "40", "0.125")
    turn(page, "rod R2, to 100 %", "70", "0.25")
    page.get_by_role("button", name="go on to the next rod").click()
    turn(page, "rod R1, to 100 %", "80", "0.25", "0.1")
    expect(page.locator("#turn")).to_have_text("Again: rod R2, to 100 %")
    expect(page.get_by_role("button", name="Finish the stressing")).to_be_hidden()
    turn(page, "Again: rod R2, to 100 %", "80", "0.25", "0.1")
    expect(page.get_by_role("button", name="Finish the stressing")).to_be_visible()


def test_a_gate_that_closed_meanwhile_keeps_every_reading_as_a_fact_and_begins_no_round(
    signed_in: Callable[..., Page],
) -> None:
    piece, page = begun_after_slackening(signed_in, Stage.FINISHED)
    turn(page, "rod R2, to 50 %", "40", "0.125")
    turn(page, "rod R1, to 50 %", "40", "0.125")
    expect(waits(page)).to_contain_text("3 entries wait")
    quality.raise_non_conformance(piece, by=person("engineer"), what="a crack at the pocket of R2")
    online(page)
    expect(page.locator("#queue .queue-refused")).to_contain_text("3 entries refused")
    assert Stressing.objects.count() == 1  # the first one
    assert StressingReading.objects.filter(stressing__state="open").count() == 0
    facts = KeptFact.objects.order_by("at", "pk")
    assert [fact.kind for fact in facts] == ["reading", "reading"]
    assert all(not fact.non_conformance.is_settled for fact in facts)
    assert "Rod R2 was tightened to step 1" in facts[0].non_conformance.what
    assert NonConformance.objects.count() == 3


def lose_the_answer(page: Page, pattern: str) -> list[str]:
    """The book writes what comes first to each address, and its answer never arrives."""
    lost: list[str] = []

    def unanswered(route: Any) -> None:
        if route.request.method == "POST" and route.request.url not in lost:
            lost.append(route.request.url)
            route.fetch(max_redirects=0)
            route.abort()
        else:
            route.continue_()

    page.context.route(pattern, unanswered)
    return lost


def test_the_end_of_a_round_sent_again_after_its_answer_was_lost_is_found(signed_in: Callable[..., Page]) -> None:
    piece, page = begun_after_slackening(signed_in)
    read_all(page)
    page.get_by_role("button", name="Finish the stressing").click()
    expect(waits(page)).to_contain_text("6 entries wait")
    lost = lose_the_answer(page, "**/stressing/finish/")
    online(page)
    until(page, lambda: len(lost) == 1, "a finish whose answer was lost")
    page.reload()
    expect(waits(page)).to_have_count(0)
    expect(page.locator("#queue .queue-refused")).to_have_count(0)
    assert Event.objects.filter(piece=piece, verb="stressing-finished").count() == 2
    assert Stressing.objects.filter(state="complete").count() == 2
