"""What if, as a person meets it: two revisions read side by side, their plots over one another; a space searched."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy

import pytest
from playwright.sync_api import Page, expect

from engineering.models import Study
from engineering.study_actions import start_study
from jobs.models import Design
from tests.browser.test_accessible import violations
from tests.browser.test_design_help import kept, work
from tests.factories import document, make_design, newest, revise
from tests.jobs.test_comparison import checked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TABLET = {"width": 820, "height": 1180}


def three_revisions() -> Design:
    design = make_design(verdict=None)
    checked(newest(design))
    for value in (80, 120):
        loads = deepcopy(document()["loads"])
        loads[0]["value"] = value
        checked(revise(design, verdict=None, loads=loads, supports=document()["supports"]))
    for row in design.revisions.order_by("number")[:2]:
        work(start_study(row.specification, "re-tightening"))
    return design


@pytest.mark.parametrize(("scheme", "viewport"), [("light", None), ("dark", TABLET)])
def test_two_revisions_are_chosen_and_read_side_by_side(
    scheme: str, viewport: dict[str, int] | None, signed_in: Callable[..., Page]
) -> None:
    design = three_revisions()
    page = signed_in("viewer", scheme=scheme, viewport=viewport)
    page.goto(f"/designs/{design.pk}/")
    page.get_by_role("link", name="What if: two side by side").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What if: C-104 revision B and C-104 revision C")
    page.get_by_label("Left").select_option(label="C-104 revision A")
    page.get_by_label("Right").select_option(label="C-104 revision B")
    page.get_by_role("button", name="Put side by side").click()
    row = page.get_by_role("row", name="Load use · Value")
    expect(row.get_by_role("cell").nth(0)).to_contain_text("40")
    expect(row.get_by_role("cell").nth(1)).to_contain_text("80")
    expect(page.get_by_role("row", name="live-load deflection")).to_be_visible()
    expect(page.locator(".plot svg").first).to_be_visible(timeout=20_000)
    expect(page.locator(".plots")).to_contain_text("C-104 revision B: crown")
    page.get_by_text("Figures that move").first.click()
    expect(page.get_by_role("rowheader", name="load_test.peak", exact=True)).to_have_count(0)
    kept(page, f"what-if-{scheme}")
    assert violations(page) == []
    page.get_by_role("link", name="Tightening again").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("What if: tightening again")
    expect(page.locator(".plot svg").first).to_be_visible(timeout=20_000)
    kept(page, f"what-if-studies-{scheme}")
    assert violations(page) == []


@pytest.mark.parametrize(("scheme", "viewport"), [("light", None), ("dark", TABLET)])
def test_a_space_is_chosen_searched_and_stopped(
    scheme: str, viewport: dict[str, int] | None, signed_in: Callable[..., Page]
) -> None:
    design = make_design()
    page = signed_in("manager", scheme=scheme, viewport=viewport)
    page.goto(f"/designs/{design.pk}/help/")
    page.get_by_role("link", name="Choose what is searched").click()
    page.get_by_label("Rods, at most").fill("0")
    kept(page, f"space-{scheme}")
    assert violations(page) == []
    page.get_by_label("Rods, at least").fill("2")
    page.get_by_role("button", name="Find rods among these").click()
    expect(page.get_by_label("Rods, at least")).to_have_value("2")
    page.get_by_label("Rods, at most").fill("3")
    page.get_by_role("button", name="Find rods among these").click()
    expect(page.locator("#find-rods")).to_contain_text("waiting for its turn")
    assert Study.objects.get().settings["numbers"] == [2, 3]
    page.get_by_role("button", name="Stop find rods").click()
    expect(page.locator("#find-rods")).to_contain_text("Stopped, as was wished.", timeout=20_000)
