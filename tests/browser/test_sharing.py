"""The manager makes a link, the inspector opens it on a device of their own, the manager sees it and takes it back."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from django.core.cache import cache
from playwright.sync_api import Browser, Page, expect

from jobs.models import Stage
from reports import building
from reports.models import RecordKind
from reports.signing import sign
from tests.browser.test_accessible import look_at
from tests.factories import piece_at
from tests.reports.test_piece_records import checked_design, made

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SIZES = {"1280": {"width": 1280, "height": 900}, "820": {"width": 820, "height": 1180}}


def shot(page: Page, name: str) -> None:
    if folder := os.environ.get("SCREENSHOTS"):
        page.screenshot(path=Path(folder) / f"sharing-{name}.png", full_page=True)


@pytest.mark.parametrize("size", sorted(SIZES))
def test_a_link_from_making_to_revoking(
    size: str,
    signed_in: Callable[..., Page],
    browser: Browser,
    site: str,
    settings: object,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    settings.DATA = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    cache.clear()
    aside = ThreadPoolExecutor(1)  # the browser's event loop runs in this thread, and signing needs one of its own
    monkeypatch.setattr(building, "sign", lambda *words, **more: aside.submit(sign, *words, **more).result())
    piece = piece_at(Stage.POURED, checked_design())
    ticket = made(piece, RecordKind.POUR)
    page = signed_in("manager", viewport=SIZES[size])
    page.goto(f"/orders/{piece.design.order_id}/")
    page.get_by_role("link", name="Share", exact=True).click()
    assert look_at(page, [page.url]) == []
    page.get_by_label("For whom").fill("the inspector")
    page.get_by_label(str(piece)).first.check()
    page.get_by_label(ticket.number).check()
    page.get_by_role("button", name="Make the link").click()
    code = page.locator("#code").inner_text()
    expect(page.locator(".square-code")).to_be_visible()
    shot(page, f"made-{size}")
    page.emulate_media(media="print")
    expect(page.locator(".share-card")).to_be_visible()
    expect(page.get_by_role("button", name="Make the link")).to_be_hidden()
    shot(page, f"card-{size}")
    page.emulate_media(media="screen")

    outside = browser.new_context(viewport=SIZES[size], base_url=site).new_page()
    outside.goto("/shared/")
    outside.get_by_role("textbox", name="Code").fill(code.lower().replace("-", " "))
    outside.keyboard.press("Enter")
    expect(outside.get_by_role("heading", level=1)).to_contain_text("the inspector")
    assert look_at(outside, [outside.url]) == []
    shot(outside, f"overview-{size}")
    with outside.expect_download() as download:
        outside.get_by_role("link", name="Download").click()
    assert Path(download.value.path()).read_bytes() == ticket.path.read_bytes()
    outside.get_by_role("link", name=f"Look at {piece}").click()
    expect(outside.get_by_role("heading", level=1)).to_contain_text(str(piece))
    assert look_at(outside, [outside.url]) == []
    shot(outside, f"piece-{size}")
    assert outside.get_by_role("navigation", name="Main").count() == 0

    page.get_by_role("link", name="the inspector").click()
    expect(page.get_by_role("cell", name=f"record {ticket.number}")).to_be_visible()
    assert look_at(page, [page.url]) == []
    shot(page, f"log-{size}")
    page.get_by_role("button", name="Revoke").click()
    expect(page.get_by_text("opens nothing any more")).to_be_visible()
    outside.reload()
    expect(outside.get_by_text("took this link back")).to_be_visible()
    shot(outside, f"refused-{size}")
    outside.context.close()
