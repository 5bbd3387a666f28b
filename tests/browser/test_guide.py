"""The guide followed to the letter: what it says to press is pressed, what it says to type is typed, what it says is
seen is there. With GUIDE_PICTURES=1 its pictures are taken anew on the way.
"""

from __future__ import annotations

import io
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from engineering import study_tasks, tasks
from engineering.models import CheckRun, JobStatus, StudyPart
from jobs.models import Design, Piece, Release, Stage
from tests.browser.test_accessible import violations

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.timeout(300)]
PICTURES = Path(__file__).resolve().parents[2] / "jobs/static/jobs/guide"
SIZE = {"width": 1100, "height": 760}
LARGEST = 120_000  # bytes of a picture
READ = """() => [...document.querySelectorAll(".steps .press, .steps .enter, .steps .see, .steps img")].map((one) => ({
  kind: one.classList[0] || "picture",
  text: (one.querySelector("kbd") || one).textContent.replace(/\\s+/g, " ").trim(),
  ...one.dataset,
}))"""


def work_everything() -> None:
    """What the workers do."""
    for pk in CheckRun.objects.filter(status=JobStatus.WAITING).values_list("pk", flat=True):
        tasks.perform_check_run(pk)
    for pk in StudyPart.objects.filter(status=JobStatus.WAITING).values_list("pk", flat=True):
        study_tasks.perform_study_part(pk)


def press(page: Page, words: str) -> None:
    """A button or a link whose name begins so; in the page itself before the bar at its top."""
    name = re.compile(r"^" + r"\s*".join(re.escape(word) for word in re.findall(r"[^\s:]+|:", words)), re.I)
    control = page.get_by_role("button", name=name).or_(page.get_by_role("link", name=name))
    inside = page.get_by_role("main").locator(control)
    expect(control.first).to_be_visible(timeout=20_000)
    (inside if inside.count() else control).first.click()
    page.wait_for_load_state()


def picture(page: Page, name: str, shot: str) -> None:
    page.locator(shot).first.evaluate("(it) => window.scrollTo(0, it.getBoundingClientRect().top + scrollY - 24)")
    page.wait_for_timeout(400)  # fonts and plots settle; nothing is asserted of it
    drawn = Image.open(io.BytesIO(page.screenshot()))
    if os.environ.get("GUIDE_PICTURES"):
        drawn.convert("RGB").quantize(24).save(PICTURES / f"{name}.png", optimize=True)
    assert drawn.size == (SIZE["width"], SIZE["height"])


def follow(page: Page, step: dict[str, Any]) -> None:
    if step["kind"] == "press":
        press(page, step["text"])
        work_everything()
    elif step["kind"] == "enter":
        field = page.locator(f"[name='{step['name']}']") if "name" in step else page.get_by_label(step["label"])
        field.first.fill(step["text"])
    elif step["kind"] == "see":
        expect(page.locator(step["in"])).to_contain_text(re.compile(re.escape(step["text"]), re.I), timeout=20_000)
    else:
        picture(page, step["picture"], step["shot"])


def test_the_guide_leads_from_a_wish_to_a_released_piece(signed_in: Callable[..., Page]) -> None:
    page = signed_in("manager", viewport=SIZE)
    page.goto("/guide/from-wish-to-release/")
    steps = page.evaluate(READ)
    assert [step["kind"] for step in steps].count("press") >= 12
    page.goto("/board/")
    for step in steps:
        follow(page, step)
    design = Design.objects.get(mark="CB-1")
    released = Release.objects.get()
    assert (released.revision.design, released.revision.number, released.verdict) == (design, 2, "pass")
    assert Piece.objects.get(design=design).stage == Stage.RELEASED
    first = design.revisions.get(number=1)
    assert CheckRun.objects.get(specification=first.specification).verdict == "fail"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_guide_can_be_read_by_all_and_its_pictures_are_there_and_small(
    scheme: str, signed_in: Callable[..., Page]
) -> None:
    page = signed_in("viewer", scheme=scheme, viewport={"width": 820, "height": 1180})
    page.goto("/guide/from-wish-to-release/")
    look = "() => [...document.querySelectorAll('.steps img')].map((i) => [i.dataset.picture, i.naturalWidth])"
    shown = page.evaluate(look)
    assert shown == [[f"wish-{n}", SIZE["width"]] for n in range(1, 5)]
    for name, _ in shown:
        assert (PICTURES / f"{name}.png").stat().st_size < LARGEST
    assert violations(page) == []
