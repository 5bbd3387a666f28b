"""Without the network: today's pieces stay readable, every entry waits on the tablet with its own number and time, and
comes to the book once, in order, when it can be reached. What the book refuses stays with a person; what was done stays
a fact.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import Page, expect

from jobs.actions import production, quality, tablets
from jobs.models import Event, FormCheck, KeptFact, NonConformance, Person, Stage, StressingReading
from tests.browser.devices import TABLET
from tests.browser.without_network import kept, offline, one_waits, online, read_offline, sign_in_again, until, waits
from tests.factories import check_form, person, piece_at, read, start, strength_test

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
POINTS = ("Core held down", "Sleeves straight", "Pockets and plates")


def check_the_form(page: Page, note: str) -> None:
    for name in POINTS:
        page.get_by_label(name).check()
    page.get_by_label("Note").fill(note)
    page.get_by_role("button", name="Write down the form check").click()


def test_todays_pieces_are_read_and_written_about_offline_and_arrive_in_order(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.FORMED)
    page = signed_in("crew", viewport=TABLET)
    kept(page)
    offline(page)
    page.goto(f"/pieces/{piece.pk}/form-check/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Form check")
    expect(page.locator("#queue")).to_contain_text("Offline")
    before = timezone.now()
    check_the_form(page, "first")
    expect(page.locator(".note.kept")).to_be_focused()
    one_waits(page)
    check_the_form(page, "second")
    expect(waits(page)).to_contain_text("2 entries wait")
    page.reload()
    expect(waits(page)).to_contain_text("2 entries wait")
    page.goto(f"/pieces/{piece.pk}/")
    expect(page.get_by_role("heading", level=1)).to_contain_text(str(piece))
    assert not FormCheck.objects.exists()
    online(page)
    expect(waits(page)).to_have_count(0)
    rows = list(FormCheck.objects.order_by("pk"))
    assert [row.note for row in rows] == ["first", "second"]
    assert before - timedelta(seconds=1) <= rows[0].at <= rows[1].at < rows[0].recorded_at
    event = Event.objects.get(verb="form-checked", request_id=rows[0].request_id)
    assert event.detail["tap"]["waited_since"]


SLOW_STORE = """
const open = IDBFactory.prototype.open;
IDBFactory.prototype.open = function (...given) {
  const asked = { get result() { return this.real.result; }, get error() { return this.real.error; } };
  setTimeout(() => {
    asked.real = open.apply(this, given);
    for (const told of ["onupgradeneeded", "onsuccess", "onerror"]) asked.real[told] = (event) => asked[told]?.(event);
  }, 1500);
  return asked;
};
"""


def test_a_page_is_not_left_unasked_while_an_entry_is_being_kept(signed_in: Callable[..., Page]) -> None:
    """The store of this tablet takes a second and a half: whoever reloads meanwhile is asked, and stays."""
    piece = piece_at(Stage.FORMED)
    page = signed_in("crew", viewport=TABLET)
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.add_init_script(SLOW_STORE)
    page.goto(f"/pieces/{piece.pk}/form-check/")
    check_the_form(page, "kept at leisure")
    page.evaluate("location.reload()")
    until(page, FormCheck.objects.exists, "form check")
    assert asked == ["beforeunload"]
    assert FormCheck.objects.get().note == "kept at leisure"
    page.wait_for_url(f"**/pieces/{piece.pk}/")
    assert asked == ["beforeunload"]


def test_an_address_that_was_not_kept_says_so(signed_in: Callable[..., Page]) -> None:
    page = signed_in("crew", viewport=TABLET)
    kept(page)
    offline(page)
    page.goto("/orders/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Offline")
    page.get_by_role("link", name="Today").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Today")


def test_a_fault_of_ours_keeps_the_entry(signed_in: Callable[..., Page], monkeypatch: pytest.MonkeyPatch) -> None:
    piece = piece_at(Stage.FORMED)
    page = signed_in("crew", viewport=TABLET)
    page.goto(f"/pieces/{piece.pk}/form-check/")

    def broken(*args: object, **options: object) -> None:
        raise RuntimeError("a fault made by the test")

    with monkeypatch.context() as patched:
        patched.setattr(production, "record_form_check", broken)
        check_the_form(page, "kept")
        expect(page.locator(".note.kept")).to_be_focused()
    assert not FormCheck.objects.exists()
    page.reload()
    until(page, FormCheck.objects.exists, "form check")
    expect(waits(page)).to_have_count(0)
    assert FormCheck.objects.get().note == "kept"


def test_an_answer_that_was_lost_makes_no_second_entry(signed_in: Callable[..., Page]) -> None:
    """The book wrote it, the answer did not come through: it is sent again and found."""
    piece = piece_at(Stage.FORMED)
    page = signed_in("crew", viewport=TABLET)
    page.goto(f"/pieces/{piece.pk}/form-check/")
    lost: list[str] = []

    def written_but_unanswered(route: Any) -> None:
        if not lost:
            lost.append(route.request.url)
            route.fetch(max_redirects=0)
            route.abort()
        else:
            route.continue_()

    page.context.route("**/form-check/", lambda route: written_but_unanswered(route)
                       if route.request.method == "POST" else route.continue_())
    check_the_form(page, "once")
    expect(page.locator(".note.kept")).to_be_focused()
    assert FormCheck.objects.count() == 1
    page.reload()
    expect(waits(page)).to_have_count(0)
    assert lost
    assert FormCheck.objects.count() == 1


def test_a_session_that_ended_keeps_the_queue(signed_in: Callable[..., Page]) -> None:
    piece, bo = piece_at(Stage.FORMED), person("crew")
    page = signed_in(bo, viewport=TABLET)
    kept(page)
    page.goto(f"/pieces/{piece.pk}/form-check/")
    offline(page)
    check_the_form(page, "kept while signed out")
    one_waits(page)
    Session.objects.all().delete()
    online(page)
    page.goto("/today/")
    expect(page.get_by_label("Sign-in name")).to_be_visible()
    assert not FormCheck.objects.exists()
    sign_in_again(page, bo)
    page.wait_for_url("**/today/")
    until(page, FormCheck.objects.exists, "form check")
    expect(waits(page)).to_have_count(0)
    assert FormCheck.objects.get().by == bo


def test_somebody_elses_entry_waits_for_them_and_holds_up_nobody(signed_in: Callable[..., Page]) -> None:
    """On a device that is no tablet of the shop nobody can send in another's name."""
    piece, bo, ana = piece_at(Stage.FORMED), person("crew"), person("crew")
    page = signed_in(bo, viewport=TABLET)
    kept(page)
    page.goto(f"/pieces/{piece.pk}/form-check/")
    offline(page)
    check_the_form(page, "of Bo")
    one_waits(page)
    Session.objects.all().delete()
    online(page)
    page.goto("/today/")
    sign_in_again(page, ana)
    page.wait_for_url("**/today/")
    expect(waits(page)).to_contain_text(f"{bo.display_name} has to sign in")
    assert not FormCheck.objects.exists()
    page.goto(f"/pieces/{piece.pk}/form-check/")
    check_the_form(page, "of Ana")
    expect(page.get_by_text("is checked.")).to_be_visible()
    assert [(row.note, row.by) for row in FormCheck.objects.all()] == [("of Ana", ana)]


@pytest.fixture
def shop_tablet(signed_in: Callable[..., Page]) -> Callable[[Person], Page]:
    """A page of a crew member on a device that the manager has named a tablet of the shop."""

    def make(who: Person) -> Page:
        page = signed_in("manager", viewport=TABLET)
        page.goto("/tablet/")
        page.get_by_label("Name of this tablet").fill("Tablet at the bed")
        page.get_by_role("button", name="Make this device").click()
        expect(page.get_by_text("This device is now Tablet at the bed")).to_be_visible()
        page.locator(".person-menu summary").click()
        page.get_by_role("button", name="Sign out").click()
        sign_in_again(page, who)
        page.wait_for_url("**/board/")
        return page

    return make


def test_on_a_shop_tablet_an_entry_goes_as_whoever_made_it(shop_tablet: Callable[[Person], Page]) -> None:
    piece, bo, ana = piece_at(Stage.FORMED), person("crew"), person("crew")
    tablets.set_pin(ana, by=person("manager"), pin="280574")
    page = shop_tablet(bo)
    page.goto(f"/pieces/{piece.pk}/form-check/")
    page.context.route("**/form-check/", lambda route: route.abort() if route.request.method == "POST"
                       else route.continue_())
    check_the_form(page, "of Bo")
    expect(page.locator(".note.kept")).to_be_focused()
    page.goto("/tablet/change-over/")
    page.get_by_label(ana.display_name).check()
    page.get_by_label("Your PIN").fill("280574")
    page.get_by_role("button", name="Change over").click()
    expect(page.get_by_text(f"You are {ana.display_name}")).to_be_visible()
    assert not FormCheck.objects.exists()
    page.context.unroute_all()
    page.reload()
    until(page, FormCheck.objects.exists, "form check")
    expect(waits(page)).to_have_count(0)
    row = FormCheck.objects.get()
    assert row.by == bo
    assert Event.objects.get(request_id=row.request_id).detail["tap"]["tablet"] == "Tablet at the bed"


def test_what_was_done_against_a_gate_closed_meanwhile_is_a_fact_and_a_non_conformance(
    signed_in: Callable[..., Page],
) -> None:
    piece = piece_at(Stage.STRIPPED)
    stressing = start(piece)
    page = signed_in("crew", viewport=TABLET)
    kept(page)
    page.goto(f"/pieces/{piece.pk}/stressing/")
    offline(page)
    read_offline(page, "40", "0.125")
    one_waits(page)
    production.stop_stressing(stressing, by=person("crew"), reason="a crack at the left end")
    online(page)
    expect(page.locator("#queue .queue-refused")).to_contain_text("1 entry refused")
    assert not StressingReading.objects.exists()
    fact = KeptFact.objects.get()
    assert fact.piece == piece
    assert ["Torque read", "40 lbf·ft"] in fact.typed
    assert "Rod R2 was tightened to step 1" in fact.non_conformance.what
    assert not fact.non_conformance.is_settled
    page.locator("#queue .queue-refused").click()
    expect(page.get_by_text("No stressing of")).to_be_visible()
    page.get_by_role("link", name=f"non-conformance {fact.non_conformance.pk}").wait_for()
    page.get_by_label("Your word on it").fill("Told the engineer, rod slackened.")
    page.get_by_role("button", name="Put it away").click()
    expect(page.get_by_text("Nothing was refused.")).to_be_visible()
    put_away = Event.objects.get(verb="refusal-dismissed")
    assert put_away.piece == piece
    assert put_away.detail["word"] == "Told the engineer, rod slackened."
    assert put_away.detail["refused"] == str(fact.request_id)
    assert NonConformance.objects.count() == 1


def test_two_tablets_at_one_piece_lose_nothing(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.STRIPPED)
    stressing = start(piece)
    first, second = signed_in("crew", viewport=TABLET), signed_in("crew", viewport=TABLET)
    kept(first)
    for page in (first, second):
        page.goto(f"/pieces/{piece.pk}/stressing/")
    offline(first)
    read_offline(first, "40", "0.125")  # R2 to step 1
    one_waits(first)
    read_offline(second, "40", "0.126")
    expect(second.get_by_text("Rod R2, step 1: in tolerance")).to_be_visible()
    read(stressing, "R1", 0)
    online(first)
    expect(waits(first)).to_have_count(0)
    stretches = list(StressingReading.objects.filter(rod="R2").order_by("pk").values_list("elongation_in", flat=True))
    assert stretches == [0.126, 0.125]
    assert StressingReading.objects.count() == 3
    assert not KeptFact.objects.exists()


def test_a_move_that_the_gate_refuses_by_now_stays_until_somebody_puts_it_away(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.CURING)
    strength_test(piece)
    page = signed_in("crew", viewport=TABLET)
    kept(page)
    page.goto(f"/pieces/{piece.pk}/")
    offline(page)
    page.get_by_role("button", name="Mark stripped").click()
    one_waits(page)
    quality.raise_non_conformance(piece, by=person("engineer"), what="a crack across the soffit")
    online(page)
    expect(page.locator("#queue .queue-refused")).to_be_visible()
    piece.refresh_from_db()
    assert piece.stage == Stage.CURING
    assert KeptFact.objects.get().kind == "piece_move"
    page.reload()
    expect(page.locator("#queue .queue-refused")).to_be_visible()
    page.goto("/tablet/")
    page.get_by_role("button", name="Put it away").click()  # without a word: nothing happens
    expect(page.locator("#queue .queue-refused")).to_be_visible()
    assert not Event.objects.filter(verb="refusal-dismissed").exists()


def test_a_page_of_somebody_signed_out_is_not_shown(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.FORMED)
    check_form(piece)
    move_back = piece.pk
    page = signed_in("crew", viewport=TABLET)
    kept(page)
    page.locator(".person-menu summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_label("Sign-in name")).to_be_visible()
    offline(page)
    page.goto(f"/pieces/{move_back}/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Offline")


def test_stressing_goes_on_turn_by_turn_without_the_book_and_says_each_verdict(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.STRIPPED)
    start(piece)
    page = signed_in("crew", viewport=TABLET)
    kept(page)
    page.goto(f"/pieces/{piece.pk}/stressing/")
    offline(page)
    expect(page.locator("#turn")).to_have_text("rod R2, to 50 %")
    page.get_by_label("Stretch measured").fill("0.2")
    expect(page.locator("output", has_text="over, at most 0.134")).to_be_visible()
    read_offline(page, "40", "0.125")
    expect(page.locator("#answer-here")).to_contain_text("IN tolerance")
    expect(page.locator("#turn")).to_have_text("rod R1, to 50 %")
    read_offline(page, "40", "0.2")
    expect(page.locator("#answer-here")).to_contain_text("OUT of tolerance")
    expect(page.locator("#turn")).to_have_text("Again: rod R1, to 50 %")
    page.reload()  # what waits on the tablet is laid over the page that was kept
    expect(page.locator("#turn")).to_have_text("Again: rod R1, to 50 %")
    read_offline(page, "40", "0.125")
    expect(page.locator("#turn")).to_have_text("rod R2, to 100 %")
    expect(page.locator("#aims .first dd")).to_contain_text("80")
    read_offline(page, "80", "0.25")
    read_offline_last(page, "80", "0.25", "0.9")
    expect(page.locator("#stop-screen")).to_be_focused()
    expect(page.locator("#at-work")).to_be_hidden()
    online(page)
    until(page, lambda: StressingReading.objects.count() == 5, "five readings")
    rows = StressingReading.objects.order_by("pk").values_list("rod", "step", "within_tolerance")
    assert list(rows) == [("R2", 0, True), ("R1", 0, False), ("R1", 0, True), ("R2", 1, True), ("R1", 1, False)]
    expect(page.get_by_text("STOP. The crown or sag is over its limit.")).to_be_visible()
    expect(page.locator("#at-work")).to_have_count(0)


def read_offline_last(page: Page, torque: str, stretch: str, crown: str) -> None:
    expect(page.locator("#turn")).to_have_text("rod R1, to 100 %")
    page.get_by_label("Crown measured").fill(crown)
    read_offline(page, torque, stretch)


def test_the_keypad_types_for_gloves(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.STRIPPED)
    start(piece)
    page = signed_in("crew", viewport=TABLET)
    page.goto(f"/pieces/{piece.pk}/stressing/")
    for key in "40":
        page.locator(f'#keypad [data-key="{key}"]').click()
    page.get_by_role("button", name="Next field").click()
    for key in ("0", ".", "1", "3", "back", "2", "5"):
        page.locator(f'#keypad [data-key="{key}"]').click()
    expect(page.get_by_label("Torque read")).to_have_value("40")
    expect(page.get_by_label("Stretch measured")).to_have_value("0.125")
    expect(page.locator("output", has_text="✓ in")).to_have_count(2)
    expect(page.locator("#forces")).to_contain_text("Force by stretch 100 %, by torque 100 %")
