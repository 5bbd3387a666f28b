"""What was typed is not lost: a session that ends, a page that closes, a tap that comes twice; and
the keyboard alone will do.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Page, expect

from jobs.models import FormCheck, Stage
from tests.browser.devices import TABLET
from tests.factories import PASSWORD, make_design, newest, person, piece_at

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def sign_in_again(page: Page, username: str) -> None:
    page.get_by_label("Sign-in name").fill(username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def test_a_form_sent_after_the_session_ended_waits_on_the_device_and_goes_after_the_sign_in(
    signed_in: Callable[..., Page],
) -> None:
    piece, bo = piece_at(Stage.FORMED), person("crew")
    page = signed_in(bo, viewport=TABLET)
    page.goto(f"/pieces/{piece.pk}/form-check/")
    page.get_by_label("Core held down").check()
    page.get_by_label("Sleeves straight").check()
    page.get_by_label("Pockets and plates").check()
    page.get_by_label("Note").fill("tied twice")
    Session.objects.all().delete()
    page.get_by_role("button", name="Write down the form check").click()
    expect(page.get_by_text("still on this device")).to_be_visible()
    assert not FormCheck.objects.exists()
    sign_in_again(page, bo.username)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Form check")
    for _ in range(100):
        if FormCheck.objects.exists():
            break
        page.wait_for_timeout(100)
    assert FormCheck.objects.get().note == "tied twice"
    page.goto(f"/pieces/{piece.pk}/form-check/")
    expect(page.get_by_label("Note")).to_have_value("")  # accepted: the device has forgotten it


def test_a_specification_half_written_survives_a_closed_page_rows_and_all(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page = signed_in("engineer")
    page.goto(f"/designs/{design.pk}/edit/")
    page.get_by_label("Title").fill("Half written")
    page.get_by_role("button", name="+ Add a zone").click()
    expect(page.locator("[name='zones[1].to']")).to_be_focused()
    page.locator("[name='zones[1].to']").fill("120")
    page.goto("/board/")
    page.goto(f"/designs/{design.pk}/edit/")
    expect(page.get_by_text("had not saved")).to_be_visible()
    expect(page.get_by_label("Title")).to_have_value("Half written")
    expect(page.locator("[name='zones[1].to']")).to_have_value("120")
    page.get_by_role("button", name="Throw it away").click()
    expect(page.get_by_label("Title")).to_have_value("Counter")
    expect(page.locator("[name='zones[1].to']")).to_have_count(0)


def test_the_drawing_follows_what_is_typed(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page = signed_in("engineer")
    page.goto(f"/designs/{design.pk}/edit/")
    drawing = page.locator("#drawing svg").first
    expect(drawing).to_be_visible()
    page.locator("[name='length']").fill("112")
    page.locator("[name='zones[0].to']").fill("112")
    expect(page.locator("#drawing")).to_contain_text("9′ 4″")
    page.locator("[name='length']").fill("3 kip")
    expect(page.get_by_text("do not make a piece just now")).to_be_visible()


def test_a_refused_save_puts_the_focus_on_the_list_of_faults(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page = signed_in("engineer")
    page.goto(f"/designs/{design.pk}/edit/")
    page.locator("[name='concrete.strength']").fill("strong")
    page.get_by_role("button", name="Save as the next revision").click()
    expect(page.locator("[data-faults]")).to_be_focused()
    page.get_by_role("link", name="concrete.strength").click()
    expect(page.locator("[name='concrete.strength']")).to_be_focused()
    assert newest(design).number == 1


def test_a_double_tap_is_one_entry(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.FORMED)
    page = signed_in("crew", viewport=TABLET)
    page.goto(f"/pieces/{piece.pk}/form-check/")
    for name in ("Core held down", "Sleeves straight", "Pockets and plates"):
        page.get_by_label(name).check()
    page.get_by_role("button", name="Write down the form check").dblclick()
    expect(page.get_by_text("is checked.")).to_be_visible()
    assert FormCheck.objects.count() == 1


def test_the_keyboard_alone_reaches_and_makes_the_next_move(signed_in: Callable[..., Page]) -> None:
    piece = piece_at(Stage.RELEASED)
    page = signed_in("crew", viewport=TABLET)
    page.goto(f"/pieces/{piece.pk}/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "Mark formed":
            break
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.press("Enter")
    expect(page.get_by_text("is now formed")).to_be_visible()


def test_the_menu_closes_with_escape_and_gives_the_focus_back(signed_in: Callable[..., Page]) -> None:
    page = signed_in("crew")
    summary = page.locator(".person-menu summary")
    summary.click()
    page.get_by_role("link", name="Change password").focus()
    page.keyboard.press("Escape")
    expect(summary).to_be_focused()
    expect(page.get_by_role("link", name="Change password")).not_to_be_visible()


def test_dark_by_choice_stays_dark(signed_in: Callable[..., Page]) -> None:
    page = signed_in("crew")
    light = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.locator(".person-menu summary").click()
    page.get_by_role("button", name="Dark page").click()
    page.goto("/orders/")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != light
    page.locator(".person-menu summary").click()
    expect(page.get_by_role("button", name="Dark page")).to_have_attribute("aria-pressed", "true")
