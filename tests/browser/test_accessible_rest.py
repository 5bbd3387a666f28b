"""axe over every page that no list of `test_accessible.py`, `test_records_pages.py` or `test_plots.py` names.

Nothing is listed here by hand: the addresses come from the URL patterns, and one that answers the manager with a whole
page is looked at, light and dark. An address that answers with neither a page, a part, a file nor the way to its page
fails until the rows it needs are made below.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Page

from jobs.actions import production
from jobs.actions.shop import edit_shop
from jobs.models import Stage
from reports import building
from reports.signing import sign
from tests.browser.test_accessible import AT_REST, COLOURS, violations
from tests.factories import person, piece_at, plan_load_test
from tests.production.test_mix_and_cure import version
from tests.production.test_stock import make_lot
from tests.security.site_map import Place, Rows, places, rows_of_a_shop
from tests.security.test_page_permissions import TABLE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LISTS = [Path(__file__).with_name(f"test_{name}.py").read_text() for name in ("accessible", "records_pages", "plots")]
SHOWN = (200, 204, 302)  # a page, a part or a file; a part with nothing new; the way to the page
NOT_THERE = {  # answered in words here, for want of what they are of: 404 or 503
    "photo",  # a file
    "signed_file",  # a file
    "calendar_feed",  # a file
    "first_account",  # only in an empty shop: test_accessible.py
    "health",  # no page, and it tells of workers, of which there are none here
    "change_over",  # only on a tablet of the shop: test_accessible.py
    "shared",  # for whoever has the code: test_sharing.py
    "shared_piece",
    "shared_record",
    "trust",  # only where the shop has an authority of its own: tests/site/test_serve_tls.py, without axe
    "authority_file",
    "field_help",  # a part, of one field: test_field_help.py
    "what_if_studies",  # only once a study is finished: test_what_if.py
    "design_help_visits",  # lead on to the editor, from an answer that is there: test_design_help.py
    "design_help_draft",
}


def is_listed(place: Place) -> bool:
    """One of the lists has an address of this kind."""
    pattern = re.sub(r"<[^>]+>", r'[^/"]+', place.path)
    return any(re.search(rf'["]/{pattern}["?]', text) for text in LISTS)


def answered(client: Client, place: Place, rows: list[Rows]) -> tuple[str, Any]:
    """The address with the first rows that it shows its page for, or else its last answer."""
    for known in rows:
        address = place.address(known)
        answer = client.get(address)
        if answer.status_code in SHOWN:
            break
    return address, answer


@pytest.fixture
def rows(settings: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[Rows]:
    """A shop's rows; and the same with a piece at another stage, for pages that are of that stage alone."""
    settings.DATA = settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    with ThreadPoolExecutor(1) as aside:  # the browser's event loop runs in this thread, and signing needs its own
        monkeypatch.setattr(building, "sign", lambda *words, **more: aside.submit(sign, *words, **more).result())
        more = {"shop/lots/<pk>": make_lot().pk, "pieces/<version_pk>": version().pk}
        first = rows_of_a_shop() | more
    tight = piece_at(Stage.STRESSED, load_test_required=True)
    plan_load_test(tight)
    others = [piece_at(Stage.FORMED), piece_at(Stage.CURING), tight]
    edit_shop(by=person(), beds=["North", "South"])  # the schedule fetches the table of them
    production.lay_on_bed(others[1], by=person(), bed="North")
    gates = {Stage.FORMED: Stage.POURED, Stage.CURING: Stage.STRIPPED, Stage.STRESSED: Stage.LOAD_TESTED}
    return [first, *(first | {"pieces/<pk>": row.pk, "pieces/<to_stage>": gates[row.stage].value} for row in others)]


def test_every_page_that_no_list_names(rows: list[Rows], signed_in: Callable[..., Page]) -> None:
    manager = person()
    client = Client()
    client.force_login(manager, backend="django.contrib.auth.backends.ModelBackend")
    found, wrong, seen = [], [], []
    page = signed_in(manager)
    for place in places():
        if "manager" not in TABLE[place.name][0] or is_listed(place):
            continue
        address, answer = answered(client, place, rows)
        if answer.status_code not in SHOWN and place.name not in NOT_THERE:
            wrong.append(f"{place.name}: {answer.status_code} at {address}")
        html = answer.headers.get("Content-Type", "").startswith("text/html") and not answer.streaming
        if answer.status_code == 200 and html and b"<html" in answer.content:
            seen.append(place.name)
            found += looked_at(page, address)
    assert wrong == []
    assert found == []
    assert {"order_files", "piece_files", "today", "search", "non_conformance", "lift_off"} <= set(seen)


def looked_at(page: Page, address: str) -> list[str]:
    page.goto(address)
    if page.locator("[hx-get], [data-about], [data-preview]").count():
        page.wait_for_load_state("networkidle")
    page.evaluate("for (const fold of document.querySelectorAll('main details')) fold.open = true")  # no menu over it
    found = violations(page)
    page.emulate_media(color_scheme="dark")
    page.evaluate(AT_REST)
    found += violations(page, COLOURS)
    page.emulate_media(color_scheme="light")
    return found
