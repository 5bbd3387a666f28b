"""Standard pieces as a person meets them: limits given, watched, approved; a piece within, and one past a limit."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from engineering.models import CheckRun
from jobs.actions import standards
from jobs.models import Design, StandardPiece
from tests.browser.test_accessible import violations
from tests.browser.test_design_help import kept
from tests.factories import make_order, newest, person
from tests.jobs.test_standards import template, worked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.timeout(300)]
TABLET = {"width": 820, "height": 1180}


@pytest.mark.parametrize(("scheme", "viewport"), [("light", None), ("dark", TABLET)])
def test_from_limits_to_a_piece_within_them_and_one_past_them(
    scheme: str, viewport: dict[str, int] | None, signed_in: Callable[..., Page]
) -> None:
    design, order = template(), make_order()
    manager = signed_in("manager", scheme=scheme, viewport=viewport)
    manager.goto(f"/designs/{design.pk}/")
    manager.get_by_role("link", name="Make a standard piece of it").click()
    manager.get_by_label("Name").fill("Cored counter")
    manager.get_by_label("Length, from").fill("94")
    manager.get_by_label("Length, to").fill("8' 4\"")
    manager.get_by_label("Values checked of each").fill("2")
    kept(manager, f"standard-make-{scheme}")
    assert violations(manager) == []
    manager.get_by_role("button", name="Check these limits").click()
    expect(manager.locator(".running")).to_contain_text("The limits are being checked")
    row = worked(StandardPiece.objects.get())
    expect(manager.locator("main")).to_contain_text("2 of 2 points pass", timeout=20_000)

    engineer = signed_in("engineer", scheme=scheme, viewport=viewport)
    engineer.goto(f"/standard-pieces/{row.pk}/")
    engineer.get_by_role("button", name="Approve these limits").click()
    expect(engineer.locator("main")).to_contain_text("is approved")

    manager.goto(f"/orders/{order.pk}/designs/new/")
    manager.get_by_role("link", name="Cored counter").click()
    manager.get_by_label("Mark").fill("S-1")
    manager.get_by_label("Length").fill("9 ft")
    manager.get_by_role("button", name="Make the design").click()
    expect(manager.get_by_role("alert")).to_contain_text("the length, 108 in, is not within 94 in to 100 in")
    assert not Design.objects.filter(mark="S-1").exists()
    kept(manager, f"standard-past-{scheme}")
    assert violations(manager) == []
    manager.get_by_label("Length").fill("8 ft")
    manager.get_by_role("button", name="Make the design").click()
    expect(manager.get_by_role("heading", level=1)).to_contain_text("S-1")
    expect(manager.locator("main")).to_contain_text("within the limits approved on")
    expect(manager.get_by_role("button", name="Release revision A")).to_have_count(0)  # its own checks come first
    made = Design.objects.get(mark="S-1")
    assert CheckRun.objects.get(specification=newest(made).specification).status == "waiting"


def test_past_a_limit_it_opens_in_the_editor_as_a_design_of_its_own(signed_in: Callable[..., Page]) -> None:



    row = standards.approve(worked(standards.make(
        newest(template()), by=person(), name="Cored counter", steps=2,
        limits=[{"measure": "length", "low": 94, "high": 100}],
    )), by=person("engineer"))  # fmt: skip
    order = make_order()
    page = signed_in("manager")
    page.goto(f"/standard-pieces/{row.pk}/?order={order.pk}")
    page.get_by_label("Mark").fill("S-9")
    page.get_by_label("Length").fill("9 ft")
    page.get_by_role("button", name="Open in the editor").click()
    expect(page.locator("[name='length']")).to_have_value("108.0")
    expect(page.locator("#verdict-preview")).to_contain_text("worst ratio", timeout=20_000)
    page.get_by_role("button", name="+ Add a load").click()
    expect(page.locator("[name='length']")).to_have_value("108.0")
    expect(page.locator("[name='loads[3].label']")).to_be_visible(timeout=20_000)
    page.get_by_role("button", name="Remove Load 4").click()
    expect(page.locator("[name='loads[3].label']")).to_have_count(0)
    page.get_by_role("button", name="Save the design").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("S-9")
    assert Design.objects.get(mark="S-9").order == order
