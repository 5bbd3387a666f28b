"""axe over every page and role, light and dark, tablet and office: WCAG 2.2 A and AA, no violation.

Every rule runs in light colours; in dark ones, on the same page, the rules that read colours.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from jobs.actions import erasing
from jobs.models import Stage
from tests.browser.devices import OFFICE, TABLET
from tests.factories import make_design, make_mix, make_wrench, person, piece_at, revise, start

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
AT_REST = """Promise.allSettled(
    document.getAnimations().filter(one => one instanceof CSSTransition).map(one => one.finished))"""
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}


BAR = "at => { for (const bar of document.querySelectorAll('.save-bar')) bar.style.position = at }"


def violations(page: Page, rules: dict[str, Any] = RULES) -> list[str]:
    """With the bar at the window's foot in its place: what lies half under it is scrolled free, and not small."""
    page.evaluate(BAR, "static")
    found: dict[str, Any] = Axe().run(page, options=rules).response
    page.evaluate(BAR, "")
    return [f"{page.url} {rule['id']}: {node['html'][:160]}" for rule in found["violations"] for node in rule["nodes"]]


def look_at(page: Page, addresses: list[str]) -> list[str]:
    found = []
    for address in addresses:
        page.goto(address)
        page.wait_for_load_state("networkidle")
        page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
        found += violations(page)
        page.emulate_media(color_scheme="dark")
        page.evaluate(AT_REST)
        found += violations(page, COLOURS)
        page.emulate_media(color_scheme="light")
    return found


def test_office_pages(signed_in: Callable[..., Page]) -> None:
    design, failing, review = make_design(), make_design(verdict="fail"), make_design(verdict="review")
    revise(design, verdict=None)
    mix, wrench, order = make_mix().pk, make_wrench().pk, design.order_id
    leaving, gone = person("crew"), erasing.erase(person("crew"), by=person())
    page = signed_in("manager", viewport=OFFICE)
    assert (
        look_at(
            page,
            [
                "/board/",
                "/orders/",
                "/orders/new/",
                f"/orders/{order}/",
                f"/orders/{order}/edit/",
                f"/orders/{order}/designs/new/",
                f"/orders/{order}/designs/new/?start=foam-core-counter",
                f"/designs/{design.pk}/?revision=A",
                f"/designs/{failing.pk}/",
                f"/designs/{review.pk}/",
                f"/designs/{review.pk}/edit/",
                f"/designs/{review.pk}/document/",
                "/people/",
                "/people/new/",
                f"/people/{gone.pk}/",
                f"/people/{leaving.pk}/",
                f"/people/{leaving.pk}/remove/",
                "/shop/",
                "/shop/kept/",
                "/operations/",
                f"/shop/mixes/{mix}/",
                f"/shop/wrenches/{wrench}/",
                "/keys/",
                "/password/",
                "/guide/",
                "/guide/reading-a-verdict/",
                "/nowhere/",
            ],
        )
        == []
    )


def test_tablet_pages(signed_in: Callable[..., Page]) -> None:
    make_wrench()
    formed, curing, stripped, delivered = (
        piece_at(stage).pk for stage in (Stage.FORMED, Stage.CURING, Stage.STRIPPED, Stage.DELIVERED)
    )
    loaded, under_way = piece_at(Stage.STRESSED, load_test_required=True).pk, piece_at(Stage.STRIPPED)
    start(under_way)
    page = signed_in("crew", viewport=TABLET)
    assert (
        look_at(
            page,
            [
                "/board/",
                f"/pieces/{formed}/",
                f"/pieces/{formed}/form-check/",
                f"/pieces/{formed}/pour/",
                f"/pieces/{curing}/strength/",
                f"/pieces/{stripped}/",
                f"/pieces/{stripped}/stressing/",
                f"/pieces/{under_way.pk}/stressing/",
                f"/pieces/{loaded}/load-test/",
                f"/pieces/{loaded}/load-test/plan/",
                f"/pieces/{formed}/bed/",
                f"/pieces/{curing}/cure/",
                f"/pieces/{delivered}/install/",
                "/tablet/",
                "/tablet/change-over/",
                "/pin/",
                "/people/",
            ],
        )
        == []
    )


def test_pages_without_signing_in(browser: Any, site: str) -> None:
    context = browser.new_context(base_url=site)
    page = context.new_page()
    assert look_at(page, ["/first-account/"]) == []
    make_design()
    assert look_at(page, ["/sign-in/", "/guide/tightening-rods/"]) == []
    context.close()


def test_a_refused_form_and_a_refused_specification(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page = signed_in("manager")
    page.goto("/orders/new/")
    page.get_by_label("Client").fill("   ")
    page.get_by_label("Order number").fill("   ")
    page.locator("form[data-entry]").evaluate("form => { form.noValidate = true; }")
    page.get_by_role("button", name="Write it into the book").click()
    page.get_by_text("Not written down yet").wait_for()
    assert violations(page) == []
    page.goto(f"/designs/{design.pk}/edit/")
    page.get_by_label("Length in", exact=True).fill("3 kip")
    page.get_by_role("button", name="Check the entries").click()
    page.get_by_text("to correct").wait_for()
    assert violations(page) == []


def test_targets_on_the_tablet_are_large_enough(signed_in: Callable[..., Page]) -> None:
    """48 px for every button, field and tick on the crew's pages; links inside text are left to WCAG's 24."""
    piece = piece_at(Stage.STRIPPED)
    start(piece)
    page = signed_in("crew", viewport=TABLET)
    for address in (f"/pieces/{piece.pk}/", f"/pieces/{piece.pk}/stressing/", f"/pieces/{piece.pk}/strength/"):
        page.goto(address)
        for target in page.locator(
            "main button, main .button, main input:not([type=hidden]), main select, main textarea, main label.tick"
        ).all():
            if not target.is_visible():
                continue
            box = target.bounding_box()
            assert box is not None
            in_label = target.evaluate("element => !!element.closest('label.tick') && !element.matches('label')")
            assert in_label or (box["height"] >= 48 and box["width"] >= 48), (
                f"{address} {target.evaluate('e => e.outerHTML')[:120]}"
            )


@pytest.mark.parametrize("width", [820, 390])
def test_no_page_scrolls_sideways(width: int, signed_in: Callable[..., Page]) -> None:
    design, piece = make_design(), piece_at(Stage.STRIPPED)
    start(piece)
    page = signed_in("manager", viewport={"width": width, "height": 1180})
    for address in (
        "/board/",
        "/orders/",
        f"/designs/{design.pk}/",
        f"/designs/{design.pk}/edit/",
        f"/pieces/{piece.pk}/",
        f"/pieces/{piece.pk}/stressing/",
        "/shop/",
        "/guide/",
    ):
        page.goto(address)
        page.wait_for_load_state("networkidle")
        assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0, (
            f"{address} at {width}"
        )
