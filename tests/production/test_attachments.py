"""Files of orders and pieces: kind by content, who may add, see and take off, and that nothing of them can run."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from jobs.actions import attachments, orders
from jobs.attachments import Kind, plain_name, read_upload
from jobs.errors import BadEntry, NotAllowed, NotNow
from jobs.models import Attachment, AttachmentRemoval, Event, Role, Stage
from reports.store import faults, kept_files
from tests.factories import make_attachment, make_order, person, piece_at

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"


@pytest.fixture(autouse=True)
def folder(settings: object, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    return tmp_path


def picture(form: str = "PNG", **options: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "gray").save(out, form, **options)
    return out.getvalue()


def read(data: bytes, name: str = "a.bin", size: int | None = None) -> object:
    return read_upload(io.BytesIO(data), name=name, size=size)


def signed_in(role: str) -> Client:
    client = Client()
    client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
    return client


# ---- what is taken ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "name", "kind", "kept_as"),
    [
        (PDF, "site plan.PDF", Kind.PDF, "site plan.pdf"),
        (PDF, "plan.html", Kind.PDF, "plan.pdf"),
        (b"a,b\n1,2\n", "rods.csv", Kind.TABLE, "rods.csv"),
        (b"<script>alert(1)</script>", "page.html", Kind.TEXT, "page.txt"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>", "drawing.svg", Kind.TEXT, "drawing.txt"),
        ("Höhe 3 ft".encode(), "note", Kind.TEXT, "note.txt"),
        (picture(), "view.exe", Kind.PICTURE, "view.jpg"),
        (picture("WEBP"), "view.webp", Kind.PICTURE, "view.jpg"),
    ],
)
def test_what_a_file_is_is_told_by_its_content(data: bytes, name: str, kind: Kind, kept_as: str) -> None:
    got = read(data, name)
    assert (got.kind, got.name) == (kind, kept_as)


def test_a_picture_is_written_anew_without_what_was_hidden_in_it() -> None:
    exif = Image.Exif()
    exif[0x010F] = "the maker of the camera"
    data = picture("JPEG", exif=exif) + b"<script>hidden()</script>"
    kept = read(data, "a.jpg").data
    assert b"hidden" not in kept
    assert b"camera" not in kept
    assert Image.open(io.BytesIO(kept)).size == (60, 40)


@pytest.mark.parametrize(
    "data",
    [
        b"MZ\x90\x00\x03 a program",
        b"PK\x03\x04 a packed folder\x00",
        b"%PDF-1.7 broken off in the middle of it\x00",
        b"\x00%PDF-1.7 %%EOF",
        b"\xff\xfeh\x00i\x00",
        b"\x1b[31mred",
        b"RIFF\x24\x00\x00\x00WAVEfmt ",
        b"\x89PNG\r\n\x1a\n and no picture",
        b"",
        b" \n ",
    ],
)
def test_what_is_none_of_them_is_refused(data: bytes) -> None:
    with pytest.raises(BadEntry) as refused:
        read(data)
    assert refused.value.field == "file"


def test_too_large_is_refused_whatever_the_size_is_said_to_be(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("jobs.attachments.MOST_BYTES", 1_000)
    with pytest.raises(BadEntry, match="larger"):
        read(PDF, size=1_001)
    with pytest.raises(BadEntry, match="larger"):
        read(b"x" * 1_001, size=10)


@pytest.mark.parametrize(
    ("name", "kept_as"),
    [
        ("../../etc/passwd", "passwd.txt"),
        ("C:\\Windows\\run.bat", "run.txt"),
        ("..", "file.txt"),
        ("", "file.txt"),
        (".htaccess", "htaccess.txt"),
        ("a\r\nSet-Cookie: b.txt", "aSet-Cookie: b.txt"),
        ("paid\u202etxt.exe", "paidtxt.txt"),
        ("x" * 400 + ".txt", "x" * 116 + ".txt"),
        ("v1.2 plan", "v1.2 plan.txt"),
    ],
)
def test_a_name_is_no_path(name: str, kept_as: str) -> None:
    assert plain_name(name, Kind.TEXT) == kept_as


def test_the_file_lies_in_its_folder_under_a_name_of_ours(folder: Path) -> None:
    row = make_attachment(make_order(), name="../../../evil.sh")
    path = Path(row.file.path).resolve()
    assert path.is_relative_to(folder.resolve() / "attachments")
    assert "evil" not in path.name
    assert path.suffix == ".txt"
    assert path.stat().st_mode & 0o077 == 0


# ---- the acts --------------------------------------------------------------------------------------------------------


def test_a_file_is_kept_with_its_event_once_for_one_tap() -> None:
    order, crew = make_order(), person(Role.CREW)
    upload, tap = read(b"hello", "a.txt"), "6c0b1d4e-6d5b-4b6a-9a38-000000000001"
    made = attachments.attach(order, by=crew, upload=upload, request_id=tap)
    assert attachments.attach(order, by=crew, upload=upload, request_id=tap) == made
    event = Event.objects.get(verb="attachment-kept")
    assert (event.order, event.by, event.detail["sha256"]) == (order, crew, upload.sha256)
    with pytest.raises(NotNow, match="very same"):
        attachments.attach(order, by=crew, upload=upload)
    assert Attachment.objects.count() == 1


def test_a_viewer_adds_nothing_and_nothing_goes_to_a_stranger_s_piece_or_an_order_put_away() -> None:
    order, piece = make_order(), piece_at(Stage.ORDERED)
    before = Event.objects.count()
    with pytest.raises(NotAllowed):
        make_attachment(order, by=person(Role.VIEWER))
    with pytest.raises(BadEntry, match="another order"):
        make_attachment(order, piece=piece)
    assert (Attachment.objects.count(), Event.objects.count()) == (0, before)
    orders.archive_order(order, by=person())
    with pytest.raises(NotNow, match="put away"):
        make_attachment(order)
    assert Attachment.objects.count() == 0


def test_taking_off_is_an_entry_of_its_own_by_whoever_kept_it_or_the_office() -> None:
    crew, order = person(Role.CREW), make_order()
    own, other = make_attachment(order, by=crew), make_attachment(make_order())
    for who in (person(Role.CREW), person(Role.ENGINEER), person(Role.VIEWER)):
        with pytest.raises(NotAllowed):
            attachments.take_off(own, by=who, reason="wrong one")
    with pytest.raises(BadEntry, match="reason"):
        attachments.take_off(own, by=crew, reason=" ")
    assert not AttachmentRemoval.objects.exists()
    attachments.take_off(own, by=crew, reason="wrong one")
    attachments.take_off(other, by=person(), reason="old")
    with pytest.raises(NotNow, match="already"):
        attachments.take_off(Attachment.objects.get(pk=own.pk), by=crew, reason="again")
    assert Event.objects.filter(verb="attachment-taken-off").count() == 2
    assert Attachment.objects.count() == 2
    assert Path(own.file.path).exists()
    make_attachment(order)  # the same file may come again


def test_the_store_tells_of_a_lost_and_an_altered_attachment() -> None:
    lost, altered = make_attachment(make_order()), make_attachment(make_order())
    assert list(faults(kept_files())) == []
    Path(lost.file.path).unlink()
    Path(altered.file.path).write_bytes(b"other")
    assert [(f.kept.what, f.problem) for f in faults(kept_files())] == [
        (f"attachment {lost.pk}", "missing"),
        (f"attachment {altered.pk}", "altered"),
    ]


# ---- the pages -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["manager", "crew", "engineer", "viewer"])
def test_it_is_handed_out_as_a_download_that_cannot_run(role: str) -> None:
    row = make_attachment(make_order(), name='page" onload="x.html')
    answer = signed_in(role).get(reverse("attachment", args=[row.pk]))
    assert answer.status_code == 200
    assert answer["Content-Disposition"].startswith("attachment;")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Type"] == "text/plain; charset=utf-8"
    assert answer.content == b"The lift is 1.1 m wide."


def test_nobody_gets_nothing_and_no_such_file_is_a_404() -> None:
    row = make_attachment(make_order())
    assert Client().get(reverse("attachment", args=[row.pk])).status_code == 302
    assert signed_in("crew").get(reverse("attachment", args=[row.pk + 1])).status_code == 404


def test_a_file_that_is_no_longer_what_was_kept_is_not_handed_out() -> None:
    row = make_attachment(make_order())
    Path(row.file.path).write_bytes(b"other")
    answer = signed_in("manager").get(reverse("attachment", args=[row.pk]))
    assert answer.status_code == 404
    assert b"other" not in answer.content
    Path(row.file.path).unlink()
    assert signed_in("manager").get(reverse("attachment", args=[row.pk])).status_code == 404


def test_a_file_is_sent_by_the_page_seen_on_the_order_and_taken_off() -> None:
    piece = piece_at(Stage.ORDERED)
    order, client = piece.design.order, signed_in("crew")
    sent = {"file": SimpleUploadedFile("wall.png", picture(), "text/html"), "note": "north wall"}
    answer = client.post(reverse("piece_files", args=[piece.pk]), sent, follow=True)
    assert "wall.jpg is kept." in answer.content.decode()
    row = Attachment.objects.get()
    assert (row.order, row.piece, row.kind, row.note) == (order, piece, Kind.PICTURE, "north wall")
    for page in (reverse("order", args=[order.pk]), reverse("order_files", args=[order.pk])):
        assert "wall.jpg" in signed_in("viewer").get(page).content.decode()
    answer = client.post(reverse("attachment_take_off", args=[row.pk]), {"reason": "blurred"}, follow=True)
    assert "It is taken off." in answer.content.decode()
    assert "wall.jpg" not in signed_in("viewer").get(reverse("order_files", args=[order.pk])).content.decode()
    assert signed_in("viewer").get(reverse("attachment", args=[row.pk])).status_code == 404
    assert "blurred" in signed_in("manager").get(reverse("order_files", args=[order.pk])).content.decode()
    assert signed_in("manager").get(reverse("attachment", args=[row.pk])).status_code == 200


def test_a_refused_file_is_told_at_its_field_and_the_note_stays() -> None:
    order = make_order()
    sent = {"file": SimpleUploadedFile("a.pdf", b"MZ\x00"), "note": "keep these words"}
    answer = signed_in("manager").post(reverse("order_files", args=[order.pk]), sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Save this one as one of them" in page
    assert "keep these words" in page
    assert not Attachment.objects.exists()
    assert not Event.objects.filter(verb="attachment-kept").exists()


def test_the_pages_take_as_many_queries_for_one_file_as_for_many(django_assert_max_num_queries: object) -> None:
    order = make_order()
    for number in range(14):
        data = read(f"file {number}".encode(), f"{number}.txt")
        attachments.attach(order, by=person(), upload=data)
    client = signed_in("manager")
    for name, most in (("order", 14), ("order_files", 8)):
        client.get(reverse(name, args=[order.pk]))
        with django_assert_max_num_queries(most):  # type: ignore[operator]
            client.get(reverse(name, args=[order.pk]))
