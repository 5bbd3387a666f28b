"""A tablet's network off and on, and what a test waits for meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect

from jobs.models import Person
from tests.factories import PASSWORD


def kept(page: Page) -> None:
    """Until the tablet has its pages."""
    expect(page.locator("body")).to_have_attribute("data-pages-kept", "yes", timeout=60_000)


def offline(page: Page) -> None:
    page.context.set_offline(True)


def online(page: Page) -> None:
    page.context.set_offline(False)


def waits(page: Page) -> Any:
    return page.locator("#queue .queue-waits")


def one_waits(page: Page) -> None:
    """One entry is kept and nothing is on its way: before that, the network coming back would still carry it, as a tap
    that somebody waits for."""
    expect(page.locator(".note.kept")).to_be_visible()
    expect(waits(page)).to_contain_text("1 entry waits")


def until(page: Page, look: Callable[[], object], what: str) -> None:
    """Wait, with the page at work, until `look` gives something."""
    for _ in range(300):
        if look():
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"no {what}")


def sign_in_again(page: Page, who: Person) -> None:
    page.get_by_label("Sign-in name").fill(who.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def read_offline(page: Page, torque: str, stretch: str) -> None:
    page.get_by_label("Nobody stands in the line").check()
    page.get_by_label("Torque read").fill(torque)
    page.get_by_label("Stretch measured").fill(stretch)
    page.get_by_role("button", name="Write down rod").click()
