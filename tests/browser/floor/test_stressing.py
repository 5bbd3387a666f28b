"""Stressing beyond a round that goes well: out of tolerance, taken back, over the crown's limit, nobody in the line."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from jobs import targets
from jobs.models import Piece, Stage, Stressing, StressingReading
from tests.browser.floor.doing import UNDER_WAY, nothing_called, posted, press, refused, shot, shut, unfold, write
from tests.factories import piece_at, read, start

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LINE = "Nobody stands in the line of this rod"


@pytest.fixture
def piece() -> Piece:
    return piece_at(Stage.STRIPPED)


def reading(page: Page, stretch: str, torque: str = "40", crown: str = "", button: str = "Write down rod") -> None:
    """At half the jacking force: 40 lbf·ft and 0.125 in."""
    page.get_by_label(LINE).check()
    page.get_by_label("Torque read").fill(torque)
    page.get_by_label("Stretch measured").fill(stretch)
    page.get_by_label("Crown measured").fill(crown)
    page.get_by_role("button", name=button).click()
    expect(page.locator(UNDER_WAY)).to_have_count(0)


def test_each_reading_is_told_in_or_out_at_once_and_a_wrong_one_is_taken_back(
    piece: Piece, at_work: Callable[..., Page]
) -> None:
    start(piece)
    stressing = f"/pieces/{piece.pk}/stressing/"
    crew, engineer, manager = at_work("crew"), at_work("engineer"), at_work("manager")
    crew.goto(stressing)
    crew.get_by_label("Stretch measured").fill("0.2")
    expect(crew.locator("form[data-reading]")).to_contain_text("✗")  # said while it is typed
    reading(crew, "0.2")
    expect(crew.locator("#answer")).to_contain_text("OUT of tolerance")
    expect(crew.locator("#answer-of-book")).to_contain_text("look for a yielding rod")
    expect(crew.locator("#turn")).to_contain_text("Again")
    shot(crew, "out-of-tolerance")
    unfold(crew)
    crew.locator("#take-back-reason").fill("Read the gauge of the other rod")
    write(crew, "Take back rod R2, step 1", "Both entries stay in the book.")
    expect(crew.locator("#turn")).not_to_contain_text("Again")
    reading(crew, "0.125")
    expect(crew.locator("#answer")).to_contain_text("IN tolerance")
    expect(crew.locator("#turn")).to_contain_text("R1")
    kept = list(StressingReading.objects.order_by("pk").values_list("rod", "within_tolerance", "takes_back"))
    assert kept == [("R2", False, None), ("R2", False, StressingReading.objects.earliest("pk").pk), ("R2", True, None)]
    manager.goto(f"/pieces/{piece.pk}/")
    expect(manager.locator(".history").last).to_contain_text("was taken back: Read the gauge of the other rod")
    engineer.goto(f"/pieces/{piece.pk}/")
    nothing_called(engineer, "Go on tightening", "Tighten")
    shut(engineer, stressing)
    refused(engineer, f"{stressing}take-back/", reading=StressingReading.objects.latest("pk").pk, reason="mine")
    refused(engineer, f"{stressing}reading/", rod="R1", step=0, line_clear="on", torque_lbf_ft=40)


def test_over_the_crowns_limit_the_screen_says_stop_and_nothing_goes_on(
    piece: Piece, at_work: Callable[..., Page]
) -> None:
    start(piece)
    crew, engineer = at_work("crew"), at_work("engineer")
    crew.goto(f"/pieces/{piece.pk}/stressing/")
    reading(crew, "0.125", crown="0.5")  # the limit is 0.45
    stop = crew.get_by_role("alert").filter(has_text="STOP. The crown or sag is over its limit.")
    expect(stop).to_contain_text("Everybody out of the rods' line")
    expect(crew.get_by_role("button", name="Write down rod")).to_have_count(0)
    expect(crew.get_by_text("take it back")).to_have_count(0)
    shot(crew, "stop")
    last = StressingReading.objects.get()
    address = f"/pieces/{piece.pk}/stressing/"
    assert posted(crew, f"{address}take-back/", reading=last.pk, reason="x") == 409
    sent = {"rod": "R1", "step": 0, "line_clear": "on", "torque_lbf_ft": 40, "elongation_in": 0.125}
    assert posted(crew, f"{address}reading/", **sent) == 409
    assert StressingReading.objects.count() == 1
    stop.get_by_label("What happened").fill("Lifted off the middle support; slackened, no crack seen")
    write(crew, "Stop this stressing", "A new one starts from the first turn.")
    assert Stressing.objects.get().state == Stressing.State.STOPPED
    expect(crew.locator(".next")).to_contain_text("Tighten the rods")
    nothing_called(crew, "Mark stressed")
    engineer.goto(f"/pieces/{piece.pk}/")
    expect(engineer.locator("main")).to_contain_text("stopped")


def test_without_the_word_that_nobody_is_in_the_line_nothing_is_written(
    piece: Piece, at_work: Callable[..., Page]
) -> None:
    start(piece)
    crew = at_work("crew")
    address = f"/pieces/{piece.pk}/stressing/"
    crew.goto(address)
    crew.get_by_label("Torque read").fill("40")
    crew.get_by_label("Stretch measured").fill("0.125")
    crew.get_by_role("button", name="Write down rod").click()
    assert crew.get_by_label(LINE).evaluate("field => field.matches(':invalid') && field === document.activeElement")
    sent = {"rod": "R2", "step": 0, "torque_lbf_ft": 40, "elongation_in": 0.125}
    assert posted(crew, f"{address}reading/", **sent) == 422
    assert not StressingReading.objects.exists()


def test_a_round_with_a_rod_out_is_not_finished_until_it_is_right(piece: Piece, at_work: Callable[..., Page]) -> None:
    round_ = start(piece)
    turns = targets.turns(round_.targets)
    for rod, step in turns[:-1]:
        read(round_, rod, step)
    read(round_, *turns[-1], elongation_in=0.2)
    crew = at_work("crew")
    crew.goto(f"/pieces/{piece.pk}/stressing/?on=1")
    expect(crew.get_by_role("heading", name="Not finished yet")).to_be_visible()
    expect(crew.locator("main")).to_contain_text(f"Rod {turns[-1][0]} is out of tolerance at its last step")
    expect(crew.get_by_role("button", name="Finish the stressing")).to_have_count(0)
    assert posted(crew, f"/pieces/{piece.pk}/stressing/finish/") == 409
    crew.get_by_role("link", name=f"rod {turns[-1][0]}: read it again").last.click()
    reading(crew, "0.25", torque="80", crown="0.1")
    expect(crew.locator("#answer")).to_contain_text("IN tolerance")
    press(crew, "Finish the stressing")
    write(crew, "Mark stressed", "is now stressed")
    assert Stressing.objects.get().state == Stressing.State.COMPLETE
