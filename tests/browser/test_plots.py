"""The design's page: its plots answer to finger and keyboard with the stored values, its verdicts fit their place."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from engineering import leases
from engineering.core.pipeline import run_checks
from engineering.queries import latest_run
from jobs.models import Design
from reports.words import number_text
from tests.browser.test_accessible import violations
from tests.factories import make_design, newest
from tests.reports.documents import example
from tests.reports.whole_piece import whole_piece

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def checked_design() -> Design:
    """A design whose result is the engine's own."""
    document = example("01-counter-cored")
    design = make_design(document=document, verdict=None)
    run = latest_run(newest(design).specification)
    assert run is not None
    claimed = leases.claim(run.pk)
    assert claimed is not None
    assert leases.finish(claimed, run_checks(document))
    return design


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_values_under_keys_and_finger(scheme: str, signed_in: Callable[..., Page]) -> None:
    design = checked_design()
    page = signed_in("viewer", scheme=scheme)
    page.goto(f"/designs/{design.pk}/")
    plot = page.locator("#plot-stress-transfer")
    field = plot.get_by_role("slider")
    expect(field).to_have_attribute("aria-valuenow", "1")
    field.focus()
    page.keyboard.press("End")
    last = plot.locator("tbody tr").last
    values = plot.locator(".plot-values")
    expect(values).to_contain_text(last.locator("td").first.text_content() or "no value")
    page.keyboard.press("Home")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(field).to_have_attribute("aria-valuenow", "4")
    expect(field).to_have_attribute("aria-valuetext", values.text_content() or "")
    expect(plot.locator("circle.plot-point")).to_have_count(4)
    curve = page.locator("#plot-load-to-failure")
    curve.locator(".plot-field").scroll_into_view_if_needed()
    box = curve.locator("svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(curve.locator(".plot-values")).to_contain_text("predicted")
    assert violations(page) == []
    if folder := os.environ.get("SCREENSHOTS"):
        page.locator("section", has=plot).screenshot(path=Path(folder) / f"plots-{scheme}.png")


@pytest.mark.parametrize("size", [1280, 820])
def test_what_was_measured_answers_to_finger_and_keys(size: int, signed_in: Callable[..., Page]) -> None:
    piece = whole_piece("01-counter-cored")
    page = signed_in("viewer", viewport={"width": size, "height": 1100})
    page.goto(f"/pieces/{piece.pk}/records/")
    page.get_by_role("link", name="Plots of what was measured").click()
    tests = [number_text(test.mean_psi) for test in piece.pour.strength_tests.order_by("at")]
    plot = page.locator(f"#piece-{piece.pk}-strength")
    plot.get_by_role("slider").focus()
    page.keyboard.press("Home")
    expect(plot.locator(".plot-values")).to_contain_text(tests[0])
    page.keyboard.press("ArrowRight")
    expect(plot.locator(".plot-values")).to_contain_text(tests[1])
    load = page.locator(f"#load-{piece.pk}-load-to-failure")
    load.locator(".plot-field").scroll_into_view_if_needed()
    expect(load.get_by_role("slider")).to_have_count(1)
    box = load.locator("svg circle").last.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(load.locator(".plot-values")).to_contain_text("measured")
    assert page.locator(".plot").count() == page.locator(".plot table").count() >= 4
    assert violations(page) == []
    if folder := os.environ.get("SCREENSHOTS"):
        page.screenshot(path=Path(folder) / f"piece-plots-{size}.png", full_page=True)


@pytest.mark.parametrize("width", [1280, 820, 390])
def test_every_verdict_fits_its_place(width: int, signed_in: Callable[..., Page]) -> None:
    """The longest word of a verdict stays in its own frame and off the name beside it."""
    design = checked_design()
    page = signed_in("viewer", viewport={"width": width, "height": 900})
    page.goto(f"/designs/{design.pk}/")
    verdicts = page.locator(".checks .verdict:visible")
    expect(verdicts.filter(has_text="does not apply").first).to_be_visible()
    over = "all => all.filter(one => one.scrollWidth > one.clientWidth).map(one => one.innerText)"
    assert verdicts.evaluate_all(over) == []
