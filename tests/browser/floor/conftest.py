"""Several people at their parts of one piece, each on a device of their own: `at_work("crew")`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pypdf
import pytest
from django.conf import settings as site_settings
from django.test import Client
from playwright.sync_api import Page

from jobs.models import Person, Role
from reports import building
from reports.models import IssuedRecord, RecordKind
from reports.signing import sign
from tests.browser.devices import OFFICE, TABLET
from tests.factories import person

BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def at_work(device: Callable[..., Page], site: str) -> Callable[..., Page]:
    """A page of somebody of that role, or of the person given: the crew's on a tablet, the others' in the office. The
    session is made beforehand; the form of signing in has tests of its own."""

    def come(who: str | Person) -> Page:
        made = who if isinstance(who, Person) else person(who)
        client = Client()
        client.force_login(made, backend=BACKEND)
        page = device(viewport=TABLET if made.role == Role.CREW else OFFICE)
        session = client.cookies[site_settings.SESSION_COOKIE_NAME].value
        page.context.add_cookies([{"name": site_settings.SESSION_COOKIE_NAME, "value": session, "url": site}])
        return page

    return come


@pytest.fixture
def record_of(
    settings: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[Page, RecordKind], str]]:
    """`record_of(page, kind)`: asked for on the page of a piece's records, built as a worker does, downloaded; its
    text."""
    settings.DATA = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    with ThreadPoolExecutor(1) as aside:  # the browser's event loop runs in this thread, and signing needs its own
        monkeypatch.setattr(building, "sign", lambda *words, **more: aside.submit(sign, *words, **more).result())

        def made(page: Page, kind: RecordKind) -> str:
            page.get_by_role("button", name=str(kind.label), exact=True).click()
            page.wait_for_url("**/records/*/")
            claimed = building.claim(IssuedRecord.objects.latest("pk").pk)
            assert claimed is not None
            assert building.build(claimed)
            with page.expect_download() as coming:
                page.get_by_role("link", name="Download the PDF").click()
            return "\n".join(sheet.extract_text() for sheet in pypdf.PdfReader(coming.value.path()).pages)

        yield made
