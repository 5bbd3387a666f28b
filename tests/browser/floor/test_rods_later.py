"""After the stressing: lift-off, stressed again, slackened, broken, an accident, and the ends finished."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from jobs.actions import pieces
from jobs.actions.notices import sweep
from jobs.models import Finishing, Incident, LiftOff, NonConformance, Pour, Restressing, Stage, Stressing
from jobs.procedures import PROCEDURES
from tests.browser.floor.doing import nothing_called, posted, refuse, refused, row_of, shot, shut, unfold, write
from tests.factories import document, finish_ends, make_design, make_wrench, piece_at

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LINE = "Nobody stands in the line of this rod"


def test_a_day_later_the_nuts_are_lifted_off_and_one_that_is_low_goes_to_the_engineer(
    at_work: Callable[..., Page],
) -> None:
    piece = piece_at(Stage.STRESSED)
    Stressing.objects.update(finished_at=timezone.now() - timedelta(hours=25))
    sweep()
    address = f"/pieces/{piece.pk}/lift-off/"
    crew, engineer, manager = at_work("crew"), at_work("engineer"), at_work("manager")
    crew.goto("/today/")
    crew.get_by_role("link", name=f"{piece}: lift off R2, R1; a day has passed since the last turn.").click()
    unfold(crew)
    crew.get_by_role("link", name="Lift-off after 24 hours").click()
    expect(crew.locator("main")).to_contain_text("24 hours after the last turn")
    for rod, force, said in (("R1", "7900", "Rod R1: in tolerance"), ("R2", "7000", "Rod R2: OUT OF tolerance")):
        crew.get_by_label(LINE).check()
        crew.get_by_label("Rod", exact=True).select_option(rod)
        crew.get_by_label("Force at which the nut left its plate").fill(force)
        write(crew, "Write down the lift-off", said)
    expect(crew.locator(".messages .note.warning")).to_contain_text("OUT OF tolerance")  # not in the tone of success
    expect(row_of(crew, "7000 lbf")).to_contain_text("OUT OF tolerance")
    shot(crew, "lift-off")
    engineer.goto(f"/pieces/{piece.pk}/")
    nothing_called(engineer, "Lift-off after 24 hours")
    shut(engineer, address)
    refused(engineer, address, rod="R1", force_lbf="8000", line_clear="on")
    engineer.goto(f"/non-conformances/{NonConformance.objects.get().pk}/")
    expect(engineer.locator("main")).to_contain_text("rod R2")
    expect(engineer.get_by_role("button", name="Decide")).to_be_visible()
    manager.goto(f"/pieces/{piece.pk}/")
    expect(manager.locator("main")).to_contain_text("Waits for the engineer.")
    assert list(LiftOff.objects.order_by("pk").values_list("within_tolerance", flat=True)) == [True, False]


def clear(page: Page) -> None:
    """Confirmed for each rod by itself."""
    for rod in ("R1", "R2"):
        page.get_by_label(f"Nobody stands in the line of rod {rod}").check()


def test_stressed_again_at_the_age_of_the_drawing_with_a_wrench_that_is_calibrated(
    at_work: Callable[..., Page],
) -> None:
    stressing = {**document()["stressing"], "restress": [28]}
    piece = piece_at(Stage.STRESSED, make_design(document=document(stressing=stressing)))
    Pour.objects.update(at=timezone.now() - timedelta(days=28))
    good, old = make_wrench(name="Wrench in date"), make_wrench(name="Wrench out of date", days=-1)
    sweep()
    address = f"/pieces/{piece.pk}/re-stressing/"
    crew, manager, viewer = at_work("crew"), at_work("manager"), at_work("viewer")
    manager.goto("/today/")
    expect(manager.get_by_role("link", name=f"{piece} is to be re-stressed on")).to_be_visible()
    crew.goto(address)
    clear(crew)
    crew.get_by_label("Torque wrench").select_option(str(old.pk))
    crew.get_by_label("Torque of rod R1").fill("80")
    crew.get_by_label("Torque of rod R2").fill("79")
    crew.get_by_label("Crown measured").fill("0.09")
    refuse(crew, "Write down the re-stressing", "The calibration of Wrench out of date ended on")
    expect(crew.get_by_label("Torque of rod R2")).to_have_value("79")
    assert not Restressing.objects.exists()
    clear(crew)
    crew.get_by_label("Torque wrench").select_option(str(good.pk))
    shot(crew, "re-stressing")
    write(crew, "Write down the re-stressing", "Re-stressed, in tolerance, written down.")
    crew.goto(address)
    expect(crew.locator("main")).to_contain_text("The drawing asks for none, or all are done.")
    nothing_called(crew, "Write down the re-stressing")
    assert posted(
        crew, address, line_clear_0="on", line_clear_1="on", age_days="28.0", wrench=good.pk, rod_0="80", rod_1="80"
    ) in (409, 422)
    viewer.goto(f"/pieces/{piece.pk}/")
    nothing_called(viewer, "Re-stressing")
    shut(viewer, address)
    assert Restressing.objects.count() == 1


def test_slackening_asks_for_every_step_and_the_rods_are_stressed_again(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.STRESSED)
    finish_ends(piece)
    address = f"/pieces/{piece.pk}/wrong/slackened/"
    steps = PROCEDURES[Incident.Kind.SLACKENED].first
    crew, manager = at_work("crew"), at_work("manager")
    crew.goto(f"/pieces/{piece.pk}/")
    unfold(crew)
    crew.get_by_role("link", name="Slacken rods").click()
    for step in steps[:-1]:
        crew.get_by_label(str(step)).check()
    crew.get_by_label("R1", exact=True).check()
    crew.get_by_label("Why, and what was found").fill("A plate is bedded anew")
    refuse(crew, "Write it down", "Every step has to be confirmed first")
    assert not Incident.objects.exists()
    crew.get_by_label(str(steps[-1])).check()
    shot(crew, "slackening")
    write(crew, "Write it down", "Written down.")
    expect(crew.locator(".next")).to_contain_text("Tighten the rods again")
    nothing_called(crew, "Mark finished")
    manager.goto(f"/pieces/{piece.pk}/")
    expect(manager.locator(".next .blockers")).to_contain_text("The rods have to be stressed again.")
    nothing_called(manager, "Pass over the gate")
    assert Incident.objects.get().rods == ["R1"]
    assert posted(crew, address, what="x") == 422


@pytest.mark.parametrize(
    ("link", "kind", "sign"), [("A rod broke", "broken-rod", "R2"), ("Incident", "incident", "Somebody was hurt")]
)
def test_what_may_hurt_stops_everything_and_waits_for_the_engineer(
    link: str, kind: str, sign: str, at_work: Callable[..., Page]
) -> None:
    """What comes first stands above the form; ticking it is not asked for before it may be written down."""
    piece = piece_at(Stage.STRESSED)
    crew, engineer, viewer = at_work("crew"), at_work("engineer"), at_work("viewer")
    crew.goto(f"/pieces/{piece.pk}/")
    unfold(crew)
    crew.get_by_role("link", name=link, exact=True).click()
    expect(crew.locator("main")).to_contain_text("First do this, then write.")
    crew.get_by_label(str(PROCEDURES[kind].first[0])).check()
    crew.get_by_label(sign, exact=True).check()
    crew.get_by_label("What happened").fill("A bang at the left end while the pocket was open")
    shot(crew, kind)
    write(crew, "Write it down", "The piece is held until the engineer decides.")
    expect(crew.get_by_role("heading", level=2, name="Held")).to_be_visible()
    nothing_called(crew, "Take it up again", "Mark finished")
    made = Incident.objects.get()
    assert (made.kind, made.somebody_hurt, made.confirmed) == (kind, kind == "incident", [PROCEDURES[kind].first[0]])
    engineer.goto(f"/pieces/{piece.pk}/")
    nothing_called(engineer, "A rod broke", "Slacken rods")
    shut(engineer, f"/pieces/{piece.pk}/wrong/{kind}/")
    engineer.goto(f"/non-conformances/{NonConformance.objects.get().pk}/")
    engineer.get_by_label("Remake", exact=True).check()
    engineer.get_by_label("Why; and, for a repair, how").fill("Not to be trusted any more")
    write(engineer, "Decide", "written down.")
    assert pieces.fresh(piece).stage == Stage.REJECTED
    viewer.goto(f"/pieces/{piece.pk}/")
    expect(viewer.get_by_role("heading", level=2, name="Rejected")).to_be_visible()


def test_tails_caps_grease_and_pockets_come_before_finished(at_work: Callable[..., Page]) -> None:
    rods = document()["rods"]
    rods[0]["coating"] = "sealed"
    piece = piece_at(Stage.STRESSED, make_design(document=document(rods=rods)))
    address = f"/pieces/{piece.pk}/finish/"
    crew, engineer, manager = at_work("crew"), at_work("engineer"), at_work("manager")
    crew.goto(f"/pieces/{piece.pk}/")
    expect(crew.locator(".next .blockers")).to_contain_text("tails cut")
    nothing_called(crew, "Mark finished")
    crew.get_by_role("link", name="Cut tails").first.click()
    for words in ("ails cut", "nds capped", "ockets filled"):
        crew.get_by_label(words).check()
    shot(crew, "finish")
    write(crew, "Write it down", f"The finish of {piece} is written down.")
    expect(crew.locator(".next .blockers")).to_contain_text("ends greased")
    expect(crew.locator(".next .blockers")).not_to_contain_text("tails cut")
    crew.get_by_role("link", name="Cut tails").first.click()
    expect(crew.get_by_label("ails cut")).to_be_checked()
    crew.get_by_label("nds greased").check()
    write(crew, "Write it down", f"The finish of {piece} is written down.")
    engineer.goto(f"/pieces/{piece.pk}/")
    nothing_called(engineer, "Mark finished")
    shut(engineer, address)
    refused(engineer, address, tails_cut="on")
    manager.goto(f"/pieces/{piece.pk}/")
    write(manager, "Mark finished", "is now finished")
    assert Finishing.objects.count() == 2
