"""Curing beds and the files of orders and pieces, over the API: same acts, refusals and events as the pages."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from rest_framework.test import APIClient

from jobs.actions import orders, shop
from jobs.models import Attachment, AttachmentRemoval, Event, Person, Piece, Role, Stage
from tests.factories import make_attachment, make_order, person, piece_at, token

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def client(who: str | Person = Role.CREW) -> APIClient:
    made = APIClient()
    made.force_login(who if isinstance(who, Person) else person(who))
    return made


def upload(data: bytes, name: str = "a.pdf", who: str | Person = Role.CREW, **sent: Any) -> Any:
    file = SimpleUploadedFile(name, data, content_type="application/octet-stream")
    return client(who).post("/api/attachments/", {"file": file, **sent}, format="multipart")


def refused(answer: Any, status: int, words: str) -> None:
    assert answer.status_code == status, answer.content
    assert words in answer.json()["message"]


def nothing_kept(folder: Path) -> bool:
    kept = Attachment.objects.exists() or Event.objects.filter(verb="attachment-kept").exists()
    return not kept and not any(path.is_file() for path in folder.rglob("*"))


# ---- beds ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def named() -> None:
    shop.edit_shop(by=person(), beds=["North", "South"])


def lay(piece: Piece, bed: str, who: str | Person = Role.CREW, **sent: Any) -> Any:
    return client(who).post(f"/api/pieces/{piece.pk}/bed/", {"bed": bed, **sent}, format="json")


def bed_of(piece: Piece) -> str:
    return Piece.objects.get(pk=piece.pk).bed


def test_a_piece_is_laid_on_a_bed_once_for_one_tap_and_taken_off_it(named: None) -> None:
    piece, who, tap = piece_at(Stage.CURING), person(Role.CREW), str(uuid4())
    for _ in range(2):
        answer = lay(piece, "North", who, request_id=tap)
        assert (answer.status_code, answer.json()["bed"]) == (200, "North")
    assert Event.objects.filter(verb="bed-taken", piece=piece, by=who).count() == 1
    listed = client(Role.VIEWER).get("/api/beds/").json()
    assert listed == [{"name": "North", "piece": piece.pk}, {"name": "South", "piece": None}]
    assert lay(piece, "").json()["bed"] == ""
    assert [row["piece"] for row in client(Role.VIEWER).get("/api/beds/").json()] == [None, None]


def test_a_bed_that_is_taken_or_has_no_name_is_refused_and_nothing_moves(named: None) -> None:
    one, other = piece_at(Stage.FORMED), piece_at(Stage.FORMED)
    lay(one, "North")
    refused(lay(other, "North"), 409, f"North is taken: {one} lies on it")
    refused(lay(other, "West"), 422, "no bed of that name")
    refused(lay(piece_at(Stage.STRIPPED), "South"), 409, "lies on no curing bed")
    assert lay(other, None).status_code == 400  # type: ignore[arg-type]  # what is no text
    refused(lay(other, "South", Role.ENGINEER), 403, "This is for")
    assert (bed_of(one), bed_of(other)) == ("North", "")
    assert Event.objects.filter(verb="bed-taken").count() == 1


# ---- files -----------------------------------------------------------------------------------------------------------


def test_a_file_is_kept_with_a_piece_by_its_content_and_comes_back_as_it_was() -> None:
    piece, who, tap = piece_at(Stage.FORMED), person(Role.CREW), str(uuid4())
    made = upload(PDF, "../letter.html", who, piece=piece.pk, note="of the mason", request_id=tap)
    assert made.status_code == 201, made.content
    told = made.json()
    assert (told["name"], told["kind"], told["size"]) == ("letter.pdf", "pdf", len(PDF))
    assert (told["order"], told["piece"], told["removal"]) == (piece.design.order_id, piece.pk, None)
    again = upload(PDF, "../letter.html", who, piece=piece.pk, note="of the mason", request_id=tap)
    assert again.json()["id"] == told["id"]
    assert Attachment.objects.count() == Event.objects.filter(verb="attachment-kept").count() == 1
    reader = client(Role.VIEWER)
    file = reader.get(f"/api/attachments/{told['id']}/file/")
    assert (file.status_code, file.content, file["Content-Type"]) == (200, PDF, "application/pdf")
    assert file["Content-Disposition"] == 'attachment; filename="letter.pdf"'
    assert file["X-Content-Type-Options"] == "nosniff"
    for query, found in ((f"piece={piece.pk}", 1), (f"order={piece.design.order_id}", 1), (f"piece={piece.pk + 1}", 0)):
        assert len(reader.get(f"/api/attachments/?{query}").json()["results"]) == found


def test_a_picture_is_written_anew_over_the_api_too() -> None:
    out, exif = io.BytesIO(), Image.Exif()
    exif[0x010F] = "the maker of the camera"
    Image.new("RGB", (60, 40), "gray").save(out, "JPEG", exif=exif)
    made = upload(out.getvalue() + b"<script>hidden()</script>", "a.jpg", order=make_order().pk)
    assert made.json()["kind"] == "jpg"
    kept = client().get(f"/api/attachments/{made.json()['id']}/file/").content
    assert b"hidden" not in kept
    assert b"camera" not in kept


@pytest.mark.parametrize("data", [b"MZ\x90\x00 a program", b"PK\x03\x04 packed\x00", b"\x89PNG\r\n\x1a\n none", b""])
def test_what_a_page_would_not_keep_the_api_does_not_keep(data: bytes, folder: Path) -> None:
    answer = upload(data, "plan.pdf", order=make_order().pk)
    assert answer.status_code == 422
    assert "file" in answer.json()["fields"]
    assert nothing_kept(folder)


def test_a_file_too_large_is_refused(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    monkeypatch.setattr("jobs.attachments.MOST_BYTES", 1_000)
    refused(upload(PDF + b"x" * 1_000, order=make_order().pk), 422, "larger")
    assert nothing_kept(folder)


def test_whose_file_it_is_has_to_be_said_and_the_order_has_to_be_open(folder: Path) -> None:
    order, piece = make_order(), piece_at(Stage.ORDERED)
    refused(upload(PDF), 422, "which order or which piece")
    refused(upload(PDF, order=10**9), 404, "")
    refused(upload(PDF, order=order.pk, piece=piece.pk), 422, "another order")
    refused(upload(PDF, who=Role.VIEWER, order=order.pk), 403, "This is for")
    assert upload(PDF, order="one").status_code == 400
    assert client().post("/api/attachments/", {"order": order.pk}, format="multipart").status_code == 400
    assert client().post("/api/attachments/", {"order": order.pk, "file": "x"}, format="json").status_code == 415
    orders.archive_order(order, by=person())
    refused(upload(PDF, order=order.pk), 409, "put away")
    assert nothing_kept(folder)


def test_more_parts_than_the_site_takes_are_told_in_words(settings: Any, folder: Path) -> None:
    settings.DATA_UPLOAD_MAX_NUMBER_FIELDS = 3
    sent = {f"part{number}": "x" for number in range(5)}
    refused(upload(PDF, order=make_order().pk, **sent), 400, "too many parts")
    assert nothing_kept(folder)


def test_a_key_keeps_and_fetches_a_file_and_one_that_only_reads_keeps_none(folder: Path) -> None:
    order, owner = make_order(), person(Role.CREW)
    file = SimpleUploadedFile("a.pdf", PDF)
    reads = APIClient(HTTP_AUTHORIZATION=f"Token {token(owner, read_only=True)}")
    answer = reads.post("/api/attachments/", {"file": file, "order": order.pk}, format="multipart")
    refused(answer, 403, "This key only reads.")
    assert nothing_kept(folder)
    file.seek(0)
    writes = APIClient(HTTP_AUTHORIZATION=f"Token {token(owner)}")
    made = writes.post("/api/attachments/", {"file": file, "order": order.pk}, format="multipart")
    assert made.status_code == 201
    assert reads.get(f"/api/attachments/{made.json()['id']}/file/").content == PDF


def test_taken_off_by_whoever_kept_it_or_the_office_it_is_the_offices_to_see() -> None:
    crew = person(Role.CREW)
    row = make_attachment(make_order(), by=crew)
    address = f"/api/attachments/{row.pk}/"
    for who in (Role.CREW, Role.ENGINEER):
        refused(client(who).post(f"{address}take-off/", {"reason": "wrong one"}, format="json"), 403, "This is for")
    refused(client(crew).post(f"{address}take-off/", {"reason": " "}, format="json"), 400, "")
    assert not AttachmentRemoval.objects.exists()
    gone = client(crew).post(f"{address}take-off/", {"reason": "wrong one"}, format="json")
    assert gone.json()["removal"]["note"] == "wrong one"
    for path in (address, f"{address}file/"):
        assert client(crew).get(path).status_code == 404
        assert client(Role.MANAGER).get(path).status_code == 200
    assert client(crew).get("/api/attachments/").json()["results"] == []
    assert len(client(Role.MANAGER).get("/api/attachments/").json()["results"]) == 1
    again = client(Role.MANAGER).post(f"{address}take-off/", {"reason": "again"}, format="json")
    refused(again, 409, "already")
    assert Event.objects.filter(verb="attachment-taken-off").count() == 1


def test_a_file_that_is_no_longer_the_one_kept_is_not_handed_out() -> None:
    row = make_attachment(make_order())
    Path(row.file.path).write_bytes(b"something else")
    refused(client().get(f"/api/attachments/{row.pk}/file/"), 404, "no longer the one")
