"""A round of stressing begun without the network, from the page that the tablet kept: its beginning and its readings
wait in order, and come to the book once. Where the book does not let it begin, what was tightened stays a fact.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from jobs.actions import production, quality
from jobs.models import Event, KeptFact, NonConformance, Piece, Stage, Stressing, StressingReading
from tests.browser.devices import TABLET
from tests.browser.without_network import kept, offline, online, read_offline, until, waits
from tests.factories import make_wrench, person, piece_at, read, start

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def at_the_beginning(signed_in: Callable[..., Page], piece: Piece) -> Page:
    page = signed_in("crew", viewport=TABLET)
    kept(page)
    offline(page)
    page.goto(f"/pieces/{piece.pk}/")
    page.get_by_role("link", name="Tighten the rods").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Stressing of")
    expect(page.locator("#turn")).to_be_hidden()
    return page


def begin(page: Page, gauge: str = "0.001") -> None:
    page.get_by_label("Torque wrench").select_option(index=1)
    page.get_by_label("Smallest step the stretch gauge shows").fill(gauge)
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("#turn")).to_have_text("rod R2, to 50 %")


@pytest.fixture
def piece() -> Piece:
    make_wrench()
    return piece_at(Stage.STRIPPED)


def test_a_round_begun_offline_comes_to_the_book_with_its_readings_in_order(
    signed_in: Callable[..., Page], piece: Piece
) -> None:
    page = at_the_beginning(signed_in, piece)
    before = timezone.now()
    begin(page)
    expect(page.get_by_text("Begun on this tablet")).to_be_visible()
    read_offline(page, "40", "0.125")
    expect(page.locator("#turn")).to_have_text("rod R1, to 50 %")
    page.reload()  # what waits is laid over the page that was kept
    expect(page.locator("#turn")).to_have_text("rod R1, to 50 %")
    expect(page.get_by_role("button", name="Begin")).to_be_hidden()
    read_offline(page, "40", "0.2")
    expect(page.locator("#turn")).to_have_text("Again: rod R1, to 50 %")
    expect(waits(page)).to_contain_text("3 entries wait")
    assert not Stressing.objects.exists()
    online(page)
    until(page, lambda: StressingReading.objects.count() == 2, "two readings")
    expect(waits(page)).to_have_count(0)
    round_ = Stressing.objects.get()
    assert round_.state == Stressing.State.OPEN
    assert before - timedelta(seconds=1) <= round_.at < round_.recorded_at
    assert round_.gauge_resolution_in == 0.001
    rows = StressingReading.objects.order_by("pk")
    assert list(rows.values_list("stressing", "rod", "step", "within_tolerance")) == [
        (round_.pk, "R2", 0, True),
        (round_.pk, "R1", 0, False),
    ]
    assert round_.at <= rows[0].at <= rows[1].at
    verbs = Event.objects.filter(piece=piece, verb__in=("stressing-started", "rod-read")).order_by("sequence")
    assert [row.verb for row in verbs] == ["stressing-started", "rod-read", "rod-read"]
    assert all(row.detail["tap"]["waited_since"] for row in verbs)
    assert not KeptFact.objects.exists()
    expect(page.locator("#turn")).to_have_text("Again: rod R1, to 50 %")  # of the book's own page
    expect(page.locator("#begun-here")).to_have_count(0)


def test_where_the_gate_closed_meanwhile_no_round_begins_and_what_was_tightened_is_a_fact(
    signed_in: Callable[..., Page], piece: Piece
) -> None:
    page = at_the_beginning(signed_in, piece)
    begin(page)
    read_offline(page, "40", "0.125")
    expect(waits(page)).to_contain_text("2 entries wait")
    quality.raise_non_conformance(piece, by=person("engineer"), what="a crack at the pocket of R2")
    online(page)
    expect(page.locator("#queue .queue-refused")).to_contain_text("2 entries refused")
    assert not Stressing.objects.exists()
    assert not StressingReading.objects.exists()
    fact = KeptFact.objects.get()  # the reading; to begin is no deed
    assert fact.kind == "reading"
    assert ["Torque read", "40 lbf·ft"] in fact.typed
    assert "Rod R2 was tightened to step 1" in fact.non_conformance.what
    assert not fact.non_conformance.is_settled
    assert NonConformance.objects.count() == 2
    page.goto("/tablet/")
    expect(page.get_by_text("may not be stressed")).to_be_visible()
    expect(page.get_by_text("No stressing of")).to_be_visible()
    page.reload()
    expect(page.locator("#queue .queue-refused")).to_contain_text("2 entries refused")
    assert (KeptFact.objects.count(), NonConformance.objects.count()) == (1, 2)


def test_readings_never_get_into_a_round_that_somebody_else_began_meanwhile(
    signed_in: Callable[..., Page], piece: Piece
) -> None:
    page = at_the_beginning(signed_in, piece)
    begin(page)
    read_offline(page, "40", "0.125")
    expect(waits(page)).to_contain_text("2 entries wait")
    other = start(piece)
    read(other, "R2", 0)
    online(page)
    expect(page.locator("#queue .queue-refused")).to_contain_text("2 entries refused")
    assert Stressing.objects.get() == other
    assert StressingReading.objects.get().stressing == other
    assert "Another stressing" in KeptFact.objects.get().refusal


def test_an_answer_lost_on_the_way_begins_no_second_round(signed_in: Callable[..., Page], piece: Piece) -> None:
    """The book wrote the beginning and a reading, both answers were lost: they are sent again and found."""
    page = at_the_beginning(signed_in, piece)
    begin(page)
    read_offline(page, "40", "0.125")
    lost: list[str] = []

    def unanswered(route: object) -> None:
        request = route.request  # type: ignore[attr-defined]  # a Route of the browser
        if request.method == "POST" and request.url not in lost:
            lost.append(request.url)
            route.fetch(max_redirects=0)  # type: ignore[attr-defined]
            route.abort()  # type: ignore[attr-defined]
        else:
            route.continue_()  # type: ignore[attr-defined]

    page.context.route("**/stressing/**", unanswered)
    online(page)
    until(page, lambda: Stressing.objects.exists(), "round")
    page.reload()
    until(page, lambda: StressingReading.objects.exists(), "reading")
    page.reload()
    expect(waits(page)).to_have_count(0)
    assert len(lost) == 2
    assert (Stressing.objects.count(), StressingReading.objects.count()) == (1, 1)
    assert Event.objects.filter(verb="stressing-started").count() == 1
    expect(page.locator("#queue .queue-refused")).to_have_count(0)


def test_a_gauge_too_coarse_for_the_rod_is_told_on_the_tablet(signed_in: Callable[..., Page], piece: Piece) -> None:
    page = at_the_beginning(signed_in, piece)
    begin(page, gauge="1/16")
    expect(page.locator("#coarse")).to_contain_text("too coarse for rod R2")
    expect(page.locator("#coarse")).to_be_visible()


def test_a_round_begun_and_stopped_offline_is_stopped_in_the_book(signed_in: Callable[..., Page], piece: Piece) -> None:
    page = at_the_beginning(signed_in, piece)
    begin(page)
    page.get_by_text("Something is wrong: stop this stressing").click()
    page.locator("#stop-reason").fill("the nut spins")
    page.get_by_role("button", name="Stop this stressing").click()
    expect(waits(page)).to_contain_text("2 entries wait")
    online(page)
    until(page, lambda: Stressing.objects.filter(state="stopped").exists(), "stopped round")
    assert Event.objects.get(verb="stressing-stopped").detail["reason"] == "the nut spins"
    assert not KeptFact.objects.exists()
    with pytest.raises(Exception, match="stopped"):
        production.finish_stressing(Stressing.objects.get(), by=person("crew"))
