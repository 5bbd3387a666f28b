"""The pages of records under axe, light and dark, with records of every kind on them."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from playwright.sync_api import Page

from jobs.models import Stage
from reports import actions, building
from reports.models import RecordKind
from reports.signing import sign
from tests.browser.test_accessible import look_at
from tests.factories import person, piece_at
from tests.reports.issuing import SITE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_records_pages(
    scheme: str, signed_in: Callable[..., Page], settings: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.DATA = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    aside = ThreadPoolExecutor(1)  # the browser's event loop runs in this thread, and signing needs one of its own
    monkeypatch.setattr(building, "sign", lambda *words, **more: aside.submit(sign, *words, **more).result())
    piece = piece_at(Stage.STRESSED)
    by = person()
    revision = piece.revision
    assert revision is not None
    record = actions.request_record(revision, by=by, site_address=SITE)
    label = actions.request_piece_record(piece, RecordKind.LABEL, by=by, site_address=SITE)
    for one in (record, label):
        claimed = building.claim(one.pk)
        assert claimed is not None
        assert building.build(claimed)
    page = signed_in("manager", scheme=scheme)
    addresses = [
        f"/revisions/{revision.pk}/records/",
        f"/pieces/{piece.pk}/records/",
        f"/records/{record.number}/",
        f"/records/{label.number}/",
        f"/stressings/{piece.stressings.get().pk}/plots/",
    ]
    assert look_at(page, addresses) == []
    if folder := os.environ.get("SCREENSHOTS"):
        for number, address in enumerate(addresses):
            page.goto(address)
            page.screenshot(path=Path(folder) / f"records-{number}-{scheme}.png", full_page=True)
