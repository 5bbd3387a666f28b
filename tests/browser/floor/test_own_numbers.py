"""What the shop's own records say: shown beside the assumption, offered in the editor, put in by a press alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from jobs.models import Event
from tests.browser.devices import OFFICE, TABLET
from tests.browser.floor.doing import nothing_called, row_of, shot, shut
from tests.browser.test_accessible import violations
from tests.factories import make_design, newest
from tests.jobs_pages.test_own_numbers import stressed, with_label

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PANEL, FACTOR = "#own-numbers", "[name='stressing.nut_factor']"


def test_estimates_stand_with_their_spread_beside_what_was_assumed(at_work: Callable[..., Page]) -> None:
    """Stretch 4 % over what the torque was to bring: K = 0.2/1.04 = 0.192, of twice three rods."""
    stressed(3)
    manager, crew = at_work("manager"), at_work("crew")
    manager.goto("/shop/")
    manager.get_by_role("link", name="What our own numbers say").click()
    row = row_of(manager, "1/2-13 UNC").get_by_role("cell")
    expect(row).to_have_text(["1/2-13 UNC, A193 B7, plain", "0.192", "± 0.000", "6", "0.200"])
    expect(manager.locator("main")).to_contain_text("Nothing is changed by itself")
    shot(manager, "learned")
    crew.goto("/shop/learned/")  # theirs to look at
    expect(row_of(crew, "1/2-13 UNC")).to_be_visible()
    nothing_called(crew, "Put it into the form")


@pytest.mark.parametrize("width", [1280, 820])
def test_a_value_is_offered_in_the_editor_and_taken_by_a_press_alone(width: int, at_work: Callable[..., Page]) -> None:
    stressed(3)
    design = make_design(document=with_label())
    address = f"/designs/{design.pk}/edit/"
    engineer = at_work("engineer")
    engineer.set_viewport_size(OFFICE if width == 1280 else TABLET)
    engineer.goto(address)
    panel = engineer.locator(PANEL)
    expect(panel).to_contain_text("Nut factor K: 0.2 as entered")
    expect(panel).to_contain_text("0.192, ± 0; by 6 of 1/2-13 UNC, A193 B7, plain.")
    expect(panel).to_contain_text("3 of them say too little; 5 are needed.")  # the modulus: shown, and not offered
    expect(panel.get_by_role("button")).to_have_count(1)
    field = engineer.locator(FACTOR)
    expect(field).to_have_value("")  # nothing is put in silently
    panel.scroll_into_view_if_needed()
    shot(panel, f"own-numbers-{width}")
    assert violations(engineer) == []
    assert engineer.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
    panel.get_by_role("button", name="Put it into the form").click()
    expect(field).to_have_value("0.192")
    expect(panel).to_contain_text("It stands in the form.")
    assert newest(design).number == 1
    shot(panel, f"own-numbers-taken-{width}")
    engineer.get_by_label("What changed, and why").fill("our own nut factor")
    engineer.get_by_role("button", name="Save as the next revision").click()
    expect(engineer.get_by_role("heading", level=1)).to_contain_text("C-104")
    assert newest(design).specification.document["stressing"]["nut_factor"] == 0.192
    told = Event.objects.filter(verb="revision-made").latest("sequence")
    assert told.detail["from_records"][0]["path"] == "stressing.nut_factor"
    if width == 820:
        crew = at_work("crew")
        crew.goto(f"/designs/{design.pk}/")
        nothing_called(crew, "Change the specification")
        shut(crew, address)
