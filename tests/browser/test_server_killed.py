"""The server is killed while a tablet sends, once before and once after it wrote the entry, and started again: each
entry is in the book once. Against the real command, with its own database.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Error, Page, Route, expect

from tests.browser.test_journey import SIGN_IN, free_port
from tests.site.processes import Process, manage, until

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]


class Shop:
    """The demo on one port and one data folder, to be killed and started again."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port, self.process = folder, free_port(), None
        self.start()

    def start(self) -> None:
        log = self.folder / f"log-{len(list(self.folder.iterdir()))}"
        self.process: Process | None = Process(
            manage("demo", "--port", str(self.port)), log=log, CAMBERBOOK_DATA=str(self.folder / "data")
        )
        until(lambda: "Ctrl-C stops it" in self.process.said(), "served", self.process)  # type: ignore[union-attr]
        found = {role: (name, word) for role, name, word in SIGN_IN.findall(self.process.said())}
        self.crew = found.get("Crew") or self.crew

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    yield made
    made.kill()


def signed_in(browser: Browser, shop: Shop) -> Page:
    context = browser.new_context(
        base_url=f"http://127.0.0.1:{shop.port}",
        viewport={"width": 820, "height": 1180},
        service_workers="block",  # what goes past a service worker is not seen by `route`
    )
    page = context.new_page()
    page.goto("/sign-in/")
    page.get_by_label("Sign-in name").fill(shop.crew[0])
    page.get_by_label("Password").fill(shop.crew[1])
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/board/")
    return page


def pieces_on_the_board(page: Page) -> list[str]:
    links = "[...document.querySelectorAll('a[href^=\"/pieces/\"]')].map((a) => a.getAttribute('href'))"
    return list(dict.fromkeys(page.evaluate(links)))


def at_a_piece(browser: Browser, shop: Shop) -> tuple[Page, str]:
    page = signed_in(browser, shop)
    for address in pieces_on_the_board(page):
        page.goto(f"{address}non-conformance/")
        page.get_by_label("What is not as it should be").fill("probe")
        if page.goto(address) and page.get_by_text("Something is wrong with it").count():
            return page, address
    raise AssertionError("the demo has no piece on the floor")


def send(page: Page, address: str, words: str, on_post: Callable[[Route], Any]) -> None:
    page.goto(f"{address}non-conformance/")

    def on_any(route: Route) -> None:
        if route.request.method == "POST":
            on_post(route)
        else:
            route.continue_()

    page.context.route("**/non-conformance/", on_any)
    page.get_by_label("What is not as it should be").fill(words)
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator(".note.kept")).to_be_focused(timeout=60_000)
    page.context.unroute_all()


KEPT = """() => new Promise((done, failed) => {
    const asked = indexedDB.open("camberbook", 1);
    asked.onerror = () => failed(asked.error);
    asked.onsuccess = () => {
        const counted = asked.result.transaction("entries").objectStore("entries").count();
        counted.onsuccess = () => { asked.result.close(); done(counted.result); };
    };
})"""


def none_kept(page: Page) -> bool:
    """A page that has nothing left to send may draw itself anew meanwhile: then it is asked again."""
    try:
        return bool(page.evaluate(KEPT) == 0)
    except Error:
        return False


def sent_at_last(page: Page) -> None:
    """Nothing is left in the tablet's own store: the page's line of what waits comes only after it was read."""
    page.reload()
    until(lambda: none_kept(page), "empty queue")
    expect(page.locator("#queue .queue-waits")).to_have_count(0)


def test_a_server_killed_in_the_middle_of_sending_loses_nothing_and_doubles_nothing(
    shop: Shop, browser: Browser
) -> None:
    page, address = at_a_piece(browser, shop)

    def killed_before(route: Route) -> None:
        shop.kill()
        route.continue_()

    written: list[int] = []

    def killed_after(route: Route) -> None:
        if not written:  # the tablet tries again by itself, and finds nobody
            written.append(route.fetch(max_redirects=0).status)
            shop.kill()
        route.abort()

    send(page, address, "a chip, killed before it was written", killed_before)
    expect(page.locator("#queue .queue-waits")).to_contain_text("1 entry waits")
    shop.start()
    sent_at_last(page)
    send(page, address, "a chip, killed after it was written", killed_after)
    assert written == [200]
    shop.start()
    sent_at_last(page)
    page.goto("/non-conformances/")
    for words in ("a chip, killed before it was written", "a chip, killed after it was written"):
        expect(page.get_by_role("cell", name=re.compile(words))).to_have_count(1)
