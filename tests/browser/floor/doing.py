"""What every test of the floor does with a page: write something down, and find a door shut."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Any

from playwright.sync_api import Locator, Page, expect

from jobs.models import Event

UNDER_WAY = "form[aria-busy]"


def press(page: Page, button: str) -> None:
    """Press it and wait until the entry is sent and its next page is there."""
    page.locator("main").get_by_role("button", name=button, exact=True).click()
    expect(page.locator(UNDER_WAY)).to_have_count(0)


def write(page: Page, button: str, said: str) -> None:
    """Press it; the book says that it is written down."""
    press(page, button)
    expect(page.locator(".messages")).to_contain_text(said)


def refuse(page: Page, button: str, words: str | re.Pattern[str]) -> None:
    """Press it; the page says why it is not written down, and that what was typed is still there."""
    before = Event.objects.count()
    press(page, button)
    alert = page.locator("main").get_by_role("alert")
    expect(alert).to_contain_text(words)
    expect(alert).to_contain_text("What you typed is still here.")
    assert Event.objects.count() == before


def shut(page: Page, address: str) -> None:
    """Looking at the address is not theirs."""
    answer = page.goto(address)
    assert answer is not None
    assert answer.status == 403, (address, answer.status)
    expect(page.locator("main")).to_contain_text("your account may not")


def posted(page: Page, address: str, **fields: Any) -> int:
    """The status of an entry sent straight to an address, with the page's own token: a door that is not on the page."""
    token = next(cookie["value"] for cookie in page.context.cookies() if cookie["name"] == "csrftoken")
    answer = page.request.post(address, form=fields, headers={"X-CSRFToken": token}, max_redirects=0)
    return answer.status


def refused(page: Page, address: str, **fields: Any) -> None:
    """An entry that is not theirs is turned away, and leaves nothing behind."""
    before = Event.objects.count()
    assert posted(page, address, **fields) == 403, address
    assert Event.objects.count() == before


def nothing_called(page: Page, *names: str) -> None:
    """No button and no link of that name is on the page, open or folded away."""
    unfold(page)
    main = page.locator("main")
    for name in names:
        words = re.compile(re.escape(name))
        expect(main.get_by_role("button", name=words).or_(main.get_by_role("link", name=words))).to_have_count(0)


def unfold(page: Page) -> None:
    page.evaluate("for (const fold of document.querySelectorAll('main details')) fold.open = true")


def look_for(page: Page, words: str) -> None:
    """In the box at the head of every page."""
    page.locator("#cover-q").fill(words)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(words)


def row_of(page: Page, words: str) -> Locator:
    return page.get_by_role("row").filter(has_text=words)


def shot(shown: Page | Locator, name: str) -> None:
    """A picture of a whole page with its folds open, or of a part, for whoever looks: where SCREENSHOTS names a
    folder."""
    if not (folder := os.environ.get("SCREENSHOTS")):
        return
    path = Path(folder) / f"floor-{name}.png"
    if isinstance(shown, Page):
        unfold(shown)
        shown.screenshot(path=path, full_page=True, caret="initial")
    else:
        shown.screenshot(path=path, caret="initial")
