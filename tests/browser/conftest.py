"""A real Chromium, named by CHROMIUM, with nothing of its own going out to the network; a live site;
people who sign in.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.signals import request_finished, request_started
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from jobs.models import Person
from tests.browser.devices import OFFICE
from tests.factories import PASSWORD, person

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


PATIENCE_MS = 60_000  # no test asserts a time: a machine that does much else answers all the same
expect.set_options(timeout=PATIENCE_MS / 2)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # Playwright's loop runs in the thread of the tests
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=os.environ["CHROMIUM"], args=list(QUIET))
        yield opened
        opened.close()


@pytest.fixture
def site(transactional_db: None, live_server: object) -> Iterator[str]:
    """The address. The test is over only when no request is: one still at work would hold rows of the database that is
    emptied next, each waiting for the other."""
    at_work, lock = [0], threading.Condition()

    def count(change: int) -> Callable[..., None]:
        def counted(**_: object) -> None:
            with lock:
                at_work[0] += change
                lock.notify_all()

        return counted

    began, ended = count(1), count(-1)
    request_started.connect(began)
    request_finished.connect(ended)
    yield str(live_server.url)  # type: ignore[attr-defined]  # pytest-django's live server
    with lock:
        lock.wait_for(lambda: at_work[0] <= 0, timeout=30)
    request_started.disconnect(began)
    request_finished.disconnect(ended)


@pytest.fixture
def device(browser: Browser, site: str) -> Iterator[Callable[..., Page]]:
    """`device()`: a page of a fresh device, nobody signed in. A script's fault on any of them fails the test."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def fresh(*, viewport: dict[str, int] | None = None, scheme: str = "light") -> Page:
        context = browser.new_context(viewport=viewport or OFFICE, color_scheme=scheme, base_url=site)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(f"script: {error}"))
        page.on(
            "console",
            lambda message: faults.append(message.text) if "Content Security Policy" in message.text else None,
        )
        return page

    yield fresh
    for context in contexts:
        context.close()
    assert faults == []


@pytest.fixture
def signed_in(device: Callable[..., Page]) -> Callable[..., Page]:
    """`signed_in("crew")`: a page of a fresh device, signed in by the form."""

    def sign_in(who: str | Person = "manager", **of_device: Any) -> Page:
        made = who if isinstance(who, Person) else person(who)
        page = device(**of_device)
        page.goto("/sign-in/")
        page.get_by_label("Sign-in name").fill(made.username)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("**/board/")
        return page

    return sign_in
