"""Help at the point of need: by focus where there is room, by F1 or the button where there is none, and the marks."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.test_accessible import violations
from tests.browser.test_design_help import kept
from tests.factories import make_design

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TABLET = {"width": 820, "height": 1180}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_field_is_told_of_and_marked_on_the_drawing_as_one_comes_to_it(
    scheme: str, signed_in: Callable[..., Page]
) -> None:
    design = make_design()
    page = signed_in("engineer", scheme=scheme)
    page.goto(f"/designs/{design.pk}/edit/")
    expect(page.locator("#drawing svg").first).to_be_visible(timeout=20_000)
    panel = page.locator("#field-help")
    expect(panel).to_be_hidden()
    page.locator("[name='supports[1].at']").focus()
    expect(panel).to_contain_text("Middle of the support")
    expect(panel).to_contain_text("common practice, no source")
    expect(page.locator("#drawing [data-part='supports[1]'] .pointed").first).to_be_visible()
    assert page.locator("#drawing [data-part='supports[0]'] .pointed").count() == 0
    kept(page, f"field-help-{scheme}")
    assert violations(page) == []
    page.keyboard.press("F1")
    expect(panel).to_be_focused()
    page.keyboard.press("Tab")
    expect(panel.get_by_role("link", name="Every field")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("[name='supports[1].at']")).to_be_focused()
    page.locator("[name='rods[0].jacking_force']").focus()
    expect(panel).to_contain_text("Force under the nut")
    expect(page.locator("#drawing .dw-support.pointed")).to_have_count(0)
    expect(page.locator("#drawing [data-part~='rods[0]'] .dw-rod.pointed").first).to_be_attached()


def test_the_marks_come_back_when_the_drawing_is_drawn_anew(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page = signed_in("engineer")
    page.goto(f"/designs/{design.pk}/edit/")
    expect(page.locator("#drawing svg").first).to_be_visible(timeout=20_000)
    place = page.locator("[name='supports[0].at']")
    place.focus()
    expect(page.locator("#drawing [data-part='supports[0]'] .pointed").first).to_be_visible()
    with page.expect_response("**/drawing/"):
        place.fill("6")
    expect(page.locator("#drawing [data-part='supports[0]'] .pointed").first).to_be_visible()


def test_on_a_tablet_the_words_come_when_asked_for_and_the_field_is_not_lost(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page = signed_in("engineer", viewport=TABLET)
    page.goto(f"/designs/{design.pk}/edit/")
    panel = page.locator("#field-help")
    page.locator("[name='concrete.shrinkage']").focus()
    expect(panel).to_be_hidden()
    ask = page.get_by_role("button", name="About this field")
    ask.click()
    expect(panel).to_contain_text("shortens by drying")
    expect(panel).to_contain_text("ACI 209R-92")
    kept(page, "field-help-tablet")
    assert violations(page) == []
    page.get_by_role("button", name="Close").click()
    expect(panel).to_be_hidden()
    expect(page.locator("[name='concrete.shrinkage']")).to_be_focused()
    page.locator("[name='rods[0].across']").focus()
    page.keyboard.press("F1")
    expect(panel).to_contain_text("From the front edge to the rod's axis")
    page.keyboard.press("Escape")
    expect(panel).to_be_hidden()


def test_the_button_at_the_field_outlives_a_change_of_the_form(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page = signed_in("engineer", viewport=TABLET)
    page.goto(f"/designs/{design.pk}/edit/")
    ask = page.get_by_role("button", name="About this field")
    page.locator("[name='supports[0].at']").focus()
    expect(ask).to_be_visible()
    page.get_by_role("button", name="+ Add a support").click()
    expect(page.locator("[name='supports[2].at']")).to_be_visible(timeout=20_000)
    page.locator("[name='supports[2].at']").focus()
    expect(ask).to_be_visible()


@pytest.mark.parametrize("name", ["every-field", "words"])
def test_the_pages_of_words_are_readable_by_all(name: str, signed_in: Callable[..., Page]) -> None:
    for scheme in ("light", "dark"):
        page = signed_in("viewer", scheme=scheme, viewport=TABLET)
        page.goto(f"/guide/{name}/")
        assert violations(page) == []
