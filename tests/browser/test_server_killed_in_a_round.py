"""The server is killed while the readings of a stressing come to it: from a round that was begun without the network,
and from one that is read over it. Nothing is lost, nothing is there twice, and the order is that of the taps.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.browser.test_server_killed import Shop, pieces_on_the_board, sent_at_last, shop, signed_in

pytestmark = [pytest.mark.browser, pytest.mark.timeout(900)]
__all__ = ["shop"]  # the fixture


def at_a_round(browser: Browser, shop: Shop) -> tuple[Page, str]:
    """The page on which a round can begin, of the first piece of the demo that is ready for it."""
    page = signed_in(browser, shop)
    for address in pieces_on_the_board(page):
        page.goto(f"{address}stressing/")
        if page.get_by_role("button", name="Begin").count():
            return page, address
    raise AssertionError("the demo has no piece to be stressed")


def begin(page: Page) -> None:
    page.get_by_label("Torque wrench").select_option(index=1)
    page.get_by_label("Smallest step the stretch gauge shows").fill("0.0005 in")
    page.get_by_role("button", name="Begin").click()


def turns(page: Page) -> list[dict[str, Any]]:
    return list(json.loads(page.locator("#plan").get_attribute("data-plan") or "")["turns"])


def fill(page: Page, turn: dict[str, Any]) -> None:
    """One reading, on its target."""
    expect(page.locator("#turn")).to_have_text(turn["title"])
    page.get_by_label("Nobody stands in the line").check()
    page.get_by_label("Torque read").fill(f"{turn['bands']['torque_lbf_ft']['aim']:.4f}")
    page.get_by_label("Stretch measured").fill(f"{turn['bands']['elongation_in']['aim']:.5f}")
    page.get_by_role("button", name="Write down rod").click()


def killed_before(shop: Shop) -> Callable[[Route], None]:
    """The server dies with the entry on its way."""

    def kill(route: Route) -> None:
        shop.kill()
        route.continue_()

    return kill


def killed_after(shop: Shop) -> Callable[[Route], None]:
    """The server has written the entry and dies before its answer is there."""

    def kill(route: Route) -> None:
        route.fetch(max_redirects=0)
        shop.kill()
        route.abort()

    return kill


def on_post(page: Page, number: int, kill: Callable[[Route], None]) -> list[int]:
    """`kill` at the so-many-th entry that is sent; what follows finds nobody. Gives the number of the last one that was
    dealt with to its end."""
    seen, done = [0], [0]

    def any_(route: Route) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        seen[0] += 1
        mine = seen[0]
        if mine == number:
            kill(route)
        elif mine < number:
            route.continue_()
        else:
            route.abort()
        done[0] = mine

    page.context.route("**/stressing/**", any_)
    return done


def rows_of(shop: Shop, address: str) -> list[tuple[str, int]]:
    """Rod and step of every reading of the piece in the book, in the order in which they were written."""
    piece = int(address.strip("/").rpartition("/")[2])
    with sqlite3.connect(f"file:{shop.folder / 'data' / 'camberbook.sqlite3'}?mode=ro", uri=True) as book:
        found = book.execute(
            "SELECT rod, step FROM jobs_stressingreading r JOIN jobs_stressing s ON s.id = r.stressing_id"
            " WHERE s.piece_id = ? ORDER BY r.id",
            (piece,),
        ).fetchall()
    return [(str(rod), int(step)) for rod, step in found]


def events_of(shop: Shop, address: str) -> list[str]:
    piece = int(address.strip("/").rpartition("/")[2])
    with sqlite3.connect(f"file:{shop.folder / 'data' / 'camberbook.sqlite3'}?mode=ro", uri=True) as book:
        found = book.execute(
            "SELECT verb FROM jobs_event WHERE piece_id = ? AND verb IN"
            " ('stressing-started', 'rod-read', 'fact-kept', 'refusal-dismissed') ORDER BY sequence",
            (piece,),
        ).fetchall()
    return [str(verb) for (verb,) in found]


@pytest.mark.parametrize("kill", [killed_before, killed_after])
@pytest.mark.parametrize("at", [1, 3])
def test_killed_while_a_round_that_was_begun_offline_is_sent(
    shop: Shop, browser: Browser, kill: Callable[[Shop], Callable[[Route], None]], at: int
) -> None:
    page, address = at_a_round(browser, shop)
    plan = turns(page)
    page.context.set_offline(True)
    begin(page)
    for turn in plan[:3]:
        fill(page, turn)
    expect(page.locator("#queue .queue-waits")).to_contain_text("4 entries wait")
    assert rows_of(shop, address) == []
    seen = on_post(page, at, kill(shop))
    page.context.set_offline(False)
    expect(page.locator("#queue .queue-waits")).to_contain_text(f"{5 - at} entries wait", timeout=60_000)
    while seen[0] < at:
        page.wait_for_timeout(100)
    page.context.unroute_all(behavior="wait")
    shop.start()
    sent_at_last(page)
    wanted = [(turn["rod"], turn["step"]) for turn in plan[:3]]
    assert rows_of(shop, address) == wanted
    assert events_of(shop, address) == ["stressing-started", *["rod-read"] * 3]
    page.goto(f"{address}stressing/")
    expect(page.locator("#turn")).to_have_text(plan[3]["title"])


@pytest.mark.parametrize("kill", [killed_before, killed_after])
def test_killed_while_a_round_is_read_over_the_network(
    shop: Shop, browser: Browser, kill: Callable[[Shop], Callable[[Route], None]]
) -> None:
    page, address = at_a_round(browser, shop)
    plan = turns(page)
    begin(page)
    fill(page, plan[0])
    expect(page.locator("#turn")).to_have_text(plan[1]["title"])
    on_post(page, 1, kill(shop))
    fill(page, plan[1])
    expect(page.locator(".note.kept")).to_be_visible(timeout=60_000)
    fill(page, plan[2])  # the crew goes on with the page as it is
    expect(page.locator("#queue .queue-waits")).to_contain_text("2 entries wait", timeout=60_000)
    page.context.unroute_all(behavior="wait")
    shop.start()
    sent_at_last(page)
    assert rows_of(shop, address) == [(turn["rod"], turn["step"]) for turn in plan[:3]]
    assert events_of(shop, address) == ["stressing-started", *["rod-read"] * 3]
    page.goto(f"{address}stressing/")
    expect(page.locator("#turn")).to_have_text(plan[3]["title"])
