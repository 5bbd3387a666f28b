"""A day of the schedule and the beds on it, at a desk, on a tablet and on a phone, in either language."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from jobs.actions import planning, production
from jobs.actions.shop import edit_shop
from jobs.models import Language, Piece, Role, Stage
from tests.browser.devices import OFFICE, PHONE, TABLET
from tests.browser.floor.doing import row_of, shot
from tests.browser.test_accessible import violations
from tests.factories import make_wrench, person, piece_at

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
DAY = date(2027, 3, 4)  # a Thursday
NAMES = ("North", "A long bed at the door to the yard", "South")
SIDEWAYS = """() => [document.documentElement, ...document.querySelectorAll('.scroll')]
    .filter(part => part.scrollWidth > part.clientWidth + 1).map(part => part.outerHTML.slice(0, 80))"""
LINES = "cell => { const of = document.createRange(); of.selectNodeContents(cell); return of.getClientRects().length }"


@pytest.fixture
def shop() -> tuple[Piece, Piece]:
    """A piece to pour that day, and one that cures on a bed."""
    formed, curing = piece_at(Stage.FORMED), piece_at(Stage.CURING)
    planning.plan_pour(formed, by=person(), on=DAY)
    edit_shop(by=person(), beds=list(NAMES))
    production.lay_on_bed(curing, by=person(Role.CREW), bed=NAMES[1])
    return formed, curing


def test_a_day_has_what_is_dated_on_it_and_the_beds_with_what_lies_there(
    shop: tuple[Piece, Piece], at_work: Callable[..., Page]
) -> None:
    formed, curing = shop
    crew = at_work("crew")
    crew.goto(f"/schedule/?from={DAY}")
    crew.get_by_role("link", name="By day").click()  # from the first of the month on
    expect(crew.get_by_role("heading", name="Monday, 1 March 2027")).to_be_visible()
    for _ in range(3):
        crew.get_by_role("link", name="Later").click()
    expect(crew.get_by_role("heading", name="Thursday, 4 March 2027")).to_be_visible()
    expect(row_of(crew, f"Pour {formed}")).to_have_count(1)
    beds = crew.locator("section").filter(has=crew.get_by_role("heading", name="Curing beds"))
    expect(beds).to_contain_text("Beds in use: 1 of 3.")
    expect(beds.get_by_role("row")).to_contain_text(["Bed", "free", str(curing), "free"])
    for width in (OFFICE, TABLET, PHONE):
        crew.set_viewport_size(width)
        assert crew.evaluate(SIDEWAYS) == []
        assert violations(crew) == []
        shot(crew, f"day-and-beds-{width['width']}")
        mark = beds.get_by_role("link", name=str(curing))
        assert mark.evaluate(LINES) == 1, width  # a mark is not broken at its hyphen
    beds.get_by_role("link", name=str(curing)).click()
    expect(crew.get_by_role("heading", level=1)).to_contain_text(str(curing))


def test_the_first_lines_of_a_row_stand_on_one_line_though_a_link_wraps(
    shop: tuple[Piece, Piece], at_work: Callable[..., Page]
) -> None:
    day = timezone.localdate() - timedelta(days=3)
    make_wrench(name="W", days=-3)
    manager = at_work("manager")
    manager.set_viewport_size(PHONE | {"width": 640})
    manager.goto(f"/schedule/?from={day}&by=day")
    expect(row_of(manager, "Calibration of W ends").locator(".loud")).to_have_text("LATE")
    manager.goto("/schedule/beds/")
    row = row_of(manager, NAMES[1])
    row.get_by_role("link").evaluate("link => { link.textContent = 'a long name that wraps '.repeat(9) }")
    tops = row.get_by_role("cell").evaluate_all(
        """cells => cells.map(cell => { const of = document.createRange(); of.selectNodeContents(cell);
               return Math.round([...of.getClientRects()].filter(one => one.height < 40)[0].bottom) })"""
    )
    assert max(tops) - min(tops) <= 2, tops


def test_a_day_in_spanish_is_written_as_spanish_writes_it(
    shop: tuple[Piece, Piece], at_work: Callable[..., Page]
) -> None:
    crew = at_work(person("crew", language=Language.SPANISH))
    crew.goto(f"/schedule/?from={DAY}&by=day")
    expect(crew.get_by_role("heading", name="Jueves, 4 de marzo de 2027")).to_be_visible()
    expect(crew.get_by_role("heading", name="Mesas de curado")).to_be_visible()
    assert crew.locator("html").get_attribute("lang") == Language.SPANISH
    crew.goto("/today/")
    expect(crew.get_by_role("heading", level=1)).to_contain_text("Hoy, ")
