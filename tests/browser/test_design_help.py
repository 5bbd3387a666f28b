"""Design help as a person meets it: the verdict follows what is typed; a study is started, watched, read, opened."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from engineering import study_tasks
from engineering.models import CheckRun, JobStatus, Study
from engineering.study_actions import start_study
from jobs.models import Design
from tests.browser.test_accessible import violations
from tests.core import pieces
from tests.factories import make_design, newest

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SMALL = {"numbers": [2, 3], "heights_in": [1.125, 1.25], "spreads": [0.8], "shares": [0.4, 0.6], "restress": [[]]}


def work(study: Study) -> None:
    """What the workers do."""
    for part_id in study.parts.values_list("pk", flat=True):
        study_tasks.perform_study_part(part_id)
    study.refresh_from_db()
    assert study.status == JobStatus.DONE, study.problem


def helped() -> Design:
    design = make_design()
    for kind in ("advice", "find-rods", "region", "re-tightening", "tolerance"):
        asked = {"find-rods": SMALL, "tolerance": {"samples": 20}}.get(kind)
        work(start_study(newest(design).specification, kind, asked))
    return design


def kept(page: Page, name: str) -> None:
    """A picture for whoever looks, where PICTURES names a folder."""
    if folder := os.environ.get("PICTURES"):
        page.screenshot(path=str(Path(folder) / f"{name}.png"), full_page=True)


def test_the_verdict_follows_what_is_typed_and_nothing_is_stored(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page, runs = signed_in("engineer"), CheckRun.objects.count()
    page.goto(f"/designs/{design.pk}/edit/")
    box = page.locator("#verdict-preview")
    expect(box).to_contain_text("worst ratio", timeout=20_000)
    before = box.locator("dl").inner_text()
    load = page.locator("[name='loads[0].value']")
    load.fill("400")
    expect(box).to_contain_text("live-load deflection", timeout=20_000)
    assert box.locator("dl").inner_text() != before
    expect(page.locator("#preview-helps li").first).to_be_visible(timeout=20_000)
    kept(page, "editor")
    assert violations(page) == []
    load.fill("40 cubits")
    expect(box).to_have_class("outdated", timeout=20_000)
    assert CheckRun.objects.count() == runs


def test_a_study_is_started_watched_and_shown_by_itself(signed_in: Callable[..., Page]) -> None:
    design = make_design()
    page = signed_in("manager")
    page.goto(f"/designs/{design.pk}/help/")
    page.get_by_role("button", name="Tightening again").click()
    expect(page.locator("#re-tightening")).to_contain_text("waiting for its turn")
    work(Study.objects.get())
    expect(page.locator("#re-tightening")).to_contain_text("Service needs", timeout=20_000)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_of_helps_is_readable_by_all_and_a_design_opens_from_it(
    scheme: str, signed_in: Callable[..., Page]
) -> None:
    design = helped()
    page = signed_in("manager", scheme=scheme)
    page.goto(f"/designs/{design.pk}/help/")
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    kept(page, f"design-help-{scheme}")
    assert violations(page) == []
    page.get_by_role("link", name="Open as a draft").first.click()
    expect(page.locator("[name='rods[0].grade']")).to_be_visible()
    expect(page.locator("#verdict-preview")).to_contain_text("worst ratio", timeout=20_000)


def test_the_ages_to_tighten_again_at_open_as_a_draft_and_become_the_next_revision(
    signed_in: Callable[..., Page],
) -> None:
    soft = pieces.document()
    soft["rods"][0].update(grade="F1554-36", jacking_force=3500)
    design = make_design(document=soft)
    study = start_study(newest(design).specification, "re-tightening")
    work(study)
    page = signed_in("engineer")
    page.goto(f"/designs/{design.pk}/help/")
    page.get_by_role("link", name="Open with these ages as a draft").click()
    ages = page.locator("[name='stressing.restress']")
    assert newest(design).number == 1, "opening a draft saves nothing"
    assert [float(age) for age in ages.input_value().split(",")] == [visit["age"] for visit in study.result["visits"]]
    page.get_by_label("What changed, and why").fill("tightened again, as planned")
    page.get_by_role("button", name="Save as the next revision").click()
    page.wait_for_url(f"**/designs/{design.pk}/")
    assert newest(design).number == 2
    assert newest(design).specification.document["stressing"]["restress"]
