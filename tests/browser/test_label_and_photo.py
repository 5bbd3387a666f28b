"""With the tablet at the piece: a photo by its camera's field, and the square code of the label, read off the printed
sheet by another program and followed.
"""

from __future__ import annotations

import io
import os
import subprocess
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from jobs.models import Event, Photo, Stage
from reports import actions, building
from reports.models import RecordKind
from reports.signing import sign
from tests.browser.devices import TABLET
from tests.browser.without_network import kept, offline, online, until, waits
from tests.factories import person, piece_at

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def taken(colour: str, size: tuple[int, int] = (640, 480)) -> bytes:
    """A picture as a camera gives it, with a note of its own inside."""
    made, noted = io.BytesIO(), Image.Exif()
    noted[0x010F] = "Camera of a person"
    Image.new("RGB", size, colour).save(made, "JPEG", exif=noted)
    return made.getvalue()


def choose(page: Page, content: bytes, name: str = "IMG_0001.jpg", kind: str = "image/jpeg") -> None:
    page.locator("#id_photo").set_input_files({"name": name, "mimeType": kind, "buffer": content})


def test_a_photo_of_the_tablets_camera_is_kept_without_what_the_camera_noted(
    signed_in: Callable[..., Page], settings: object, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    piece, page = piece_at(Stage.FORMED), signed_in("crew", viewport=TABLET)
    page.goto(f"/pieces/{piece.pk}/photo/")
    field = page.get_by_role("button", name="Photo", exact=True)
    expect(field).to_have_attribute("capture", "environment")  # the camera at the back, at once
    expect(field).to_have_attribute("accept", "image/jpeg,image/png,image/webp")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    choose(page, taken("#884422"))
    page.get_by_label("Note").fill("pocket R2 before the pour")
    page.locator("form[data-entry] button.main").click()
    page.get_by_role("link", name="Photo ").first.wait_for()
    row = Photo.objects.get(piece=piece)
    assert row.note == "pocket R2 before the pour"
    shown = page.request.get(f"/photos/{row.pk}.jpg")
    assert shown.headers["content-type"] == "image/jpeg"
    with Image.open(io.BytesIO(shown.body())) as picture:
        assert picture.size == (640, 480)
        assert not picture.getexif()


def test_what_is_no_picture_is_refused_and_the_words_stay(signed_in: Callable[..., Page]) -> None:
    piece, page = piece_at(Stage.FORMED), signed_in("crew", viewport=TABLET)
    page.goto(f"/pieces/{piece.pk}/photo/")
    choose(page, b"#!/bin/sh\nexit 1\n")
    page.get_by_label("Note").fill("left end")
    page.locator("form[data-entry] button.main").click()
    expect(page.locator("[aria-invalid=true], .note.error").first).to_be_visible()
    expect(page.get_by_label("Note")).to_have_value("left end")
    assert not Photo.objects.exists()
    assert not Event.objects.filter(piece=piece, verb__contains="photo").exists()


def test_a_photo_taken_offline_waits_and_arrives_once(
    signed_in: Callable[..., Page], settings: object, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    piece, page = piece_at(Stage.FORMED), signed_in("crew", viewport=TABLET)
    kept(page)
    page.goto(f"/pieces/{piece.pk}/non-conformance/")
    offline(page)
    page.get_by_label("What is not as it should be").fill("a sleeve is bent")
    choose(page, taken("#226644"))
    page.get_by_role("button", name="Write it down").click()
    expect(waits(page)).to_contain_text("1 entry waits")
    assert not Photo.objects.exists()
    online(page)
    until(page, Photo.objects.exists, "photo")
    expect(waits(page)).to_have_count(0)
    row = Photo.objects.get()
    assert (row.piece, row.non_conformance.what) == (piece, "a sleeve is bent")
    page.reload()
    assert Photo.objects.count() == 1


@pytest.mark.poppler
@pytest.mark.square_code
def test_the_square_code_of_the_printed_label_opens_the_piece(
    signed_in: Callable[..., Page],
    site: str,
    settings: object,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    settings.DATA = tmp_path  # type: ignore[attr-defined]
    aside = ThreadPoolExecutor(1)  # the browser's event loop runs in this thread, and signing needs one of its own
    monkeypatch.setattr(building, "sign", lambda *words, **more: aside.submit(sign, *words, **more).result())
    piece_at(Stage.CURING)
    piece = piece_at(Stage.CURING)
    label = actions.request_piece_record(piece, RecordKind.LABEL, by=person(), site_address=site)
    claimed = building.claim(label.pk)
    assert claimed is not None
    assert building.build(claimed)
    page = signed_in("crew", viewport=TABLET)
    sheet = page.request.get(f"/records/{label.number}/file/")
    assert sheet.ok, sheet.status
    (tmp_path / "sheet.pdf").write_bytes(sheet.body())
    subprocess.run(
        ["pdftoppm", "-r", "150", "-png", "-f", "1", "-l", "1", "sheet.pdf", "sheet"], cwd=tmp_path, check=True
    )
    printed = next(tmp_path.glob("sheet*.png"))
    read = subprocess.run(
        [os.environ["ZBARIMG"], "--raw", "-q", str(printed)], capture_output=True, text=True, check=True
    ).stdout.split()
    assert len(read) == 2  # two labels on the sheet
    assert set(read) == {f"{site}/verify/{label.number}/"}
    page.goto(read[0])
    page.get_by_role("link", name=f"Open {piece} in the book").click()
    page.wait_for_url(f"**/pieces/{piece.pk}/")
    expect(page.get_by_role("heading", level=1)).to_contain_text(str(piece))


def test_to_a_stranger_the_label_tells_what_it_is_and_opens_nothing(
    signed_in: Callable[..., Page], site: str, settings: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.DATA = tmp_path  # type: ignore[attr-defined]
    aside = ThreadPoolExecutor(1)
    monkeypatch.setattr(building, "sign", lambda *words, **more: aside.submit(sign, *words, **more).result())
    piece = piece_at(Stage.CURING)
    label = actions.request_piece_record(piece, RecordKind.LABEL, by=person(), site_address=site)
    claimed = building.claim(label.pk)
    assert claimed is not None
    assert building.build(claimed)
    page = signed_in("crew", viewport=TABLET)
    page.context.clear_cookies()
    page.goto(f"/verify/{label.number}/")
    expect(page.get_by_role("heading", name=str(label.number))).to_be_visible()
    expect(page.get_by_role("link", name="in the book")).to_have_count(0)
    page.goto(f"/pieces/{piece.pk}/")
    expect(page.get_by_label("Sign-in name")).to_be_visible()
