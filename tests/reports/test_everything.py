"""Everything of a shop in one file: whole, true to its list, without keys, readable by the standard library alone."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.utils import timezone
from PIL import Image

from jobs import photos
from jobs.actions import attachments, notices, orders, people, quality, tablets
from jobs.attachments import read_upload
from jobs.models import ApiToken, CalendarLink, Event, Order, Person, Piece, ShopTablet
from reports import everything
from reports.models import IssuedRecord, SharingLink
from tests.factories import person, piece_at
from tests.reports.issuing import issued, shared_link

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(settings, tmp_path: Path) -> IssuedRecord:
    """A record, a shared link, a photo, a key, a tablet with its key, and an order that looks like a formula."""
    settings.MEDIA_ROOT = tmp_path / "uploads"
    record = issued()
    shared_link(record)
    manager = person()
    people.issue_token(manager, by=manager, label="program", expires_at=timezone.now() + timedelta(days=9))
    notices.make_calendar_link(by=manager)
    tablets.make_tablet(by=manager, name="Tablet")
    orders.create_order(manager, number="F-1", client="=1+1")
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, "PNG")
    picture = photos.read_picture(io.BytesIO(out.getvalue()), size=out.tell())
    quality.add_photo(piece_at("formed"), by=manager, picture=picture)
    outside = orders.create_order(manager, number="../../out", client="Client")
    attachments.attach(outside, by=manager, upload=read_upload(io.BytesIO(b"a note"), name="note.txt", size=6))
    return record


def opened(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        assert packed.testzip() is None
        return {name: packed.read(name) for name in packed.namelist()}


def made() -> dict[str, bytes]:
    out = io.BytesIO()
    everything.write(out)
    return opened(out.getvalue())


def rows_of(found: dict[str, bytes], table: str) -> list[dict]:
    return [json.loads(line) for line in found[f"tables/{table}.jsonl"].splitlines()]


@pytest.mark.django_db(transaction=True)
def test_every_row_of_every_table_is_in_it_twice(shop: IssuedRecord) -> None:
    found = made()
    for kind in everything.tables():
        there = rows_of(found, kind._meta.label)
        assert [row["id"] for row in there] == list(kind._default_manager.order_by("pk").values_list("pk", flat=True))
        sheet = list(csv.DictReader(io.StringIO(found[f"tables/{kind._meta.label}.csv"].decode("utf-8-sig"))))
        assert [row["id"] for row in sheet] == [str(row["id"]) for row in there]
    (order,) = [row for row in rows_of(found, "jobs.Order") if row["number"] == "F-1"]
    assert order["client"] == "=1+1"
    assert b"F-1,'=1+1" in found["tables/jobs.Order.csv"]
    piece = Piece.objects.select_related("design").first()
    assert piece is not None
    assert {row["id"]: row["design"] for row in rows_of(found, "jobs.Piece")}[piece.pk] == piece.design_id


def test_the_list_is_true_and_whole(shop: IssuedRecord) -> None:
    found = made()
    listed = json.loads(found.pop(everything.MANIFEST))
    assert {entry["file"] for entry in listed["files"]} == set(found)
    for entry in listed["files"]:
        data = found[entry["file"]]
        assert (len(data), hashlib.sha256(data).hexdigest()) == (entry["bytes"], entry["sha256"])
    assert listed["missing"] == []
    (record,) = [entry for entry in listed["files"] if entry.get("row") == f"reports.IssuedRecord {shop.pk}"]
    assert record["sha256"] == shop.sha256
    assert record["file"] == f"files/records/{shop.file_name}"
    assert sum(entry["file"].endswith(".jpg") for entry in listed["files"]) == 1
    (note,) = [name for name in found if name.endswith("-note.txt")]
    assert found[note] == b"a note"
    assert [name for name in found if ".." in name.split("/") or name.startswith("/")] == []
    words = found[everything.WORDS].decode()
    assert "jobs.Piece: pieces" in words
    assert "design -> jobs.Design.id" in words


def test_nothing_that_opens_a_door_is_in_it(shop: IssuedRecord) -> None:
    found = b"\n".join(made().values())
    link, token, calendar = SharingLink.objects.get(), ApiToken.objects.get(), CalendarLink.objects.get()
    secrets = [link.digest, token.digest, calendar.digest, str(ShopTablet.objects.get().key)]
    secrets += [row.password for row in Person.objects.all() if row.has_usable_password()]
    assert len(secrets) >= 4
    assert [secret for secret in secrets if secret.encode() in found] == []
    assert b"PRIVATE KEY" not in found
    assert shop.number.encode() in found        # the look itself finds what is there


def test_a_file_that_lacks_is_named_and_the_others_go_along(shop: IssuedRecord, tmp_path: Path) -> None:
    shop.path.unlink()
    target = tmp_path / "all.zip"
    with pytest.raises(SystemExit) as ended:
        call_command("everything", str(target))
    assert ended.value.code == 1
    found = opened(target.read_bytes())
    (missing,) = json.loads(found[everything.MANIFEST])["missing"]
    assert missing["row"] == f"reports.IssuedRecord {shop.pk}"
    assert any(name.endswith(".jpg") for name in found)


def test_the_command_writes_for_its_owner_alone_and_over_nothing(shop: IssuedRecord, tmp_path: Path) -> None:
    target = tmp_path / "all.zip"
    call_command("everything", str(target))
    assert target.stat().st_mode & 0o777 == 0o600
    assert opened(target.read_bytes())
    before = target.read_bytes()
    with pytest.raises(CommandError, match="already"):
        call_command("everything", str(target))
    assert target.read_bytes() == before
    assert [path.name for path in tmp_path.glob("*.zip*")] == ["all.zip"]
    assert Event.objects.filter(verb="everything-taken", by=None).count() == 1


def test_the_manager_downloads_it_and_the_event_says_so(shop: IssuedRecord) -> None:
    manager, client = person(), Client()
    client.force_login(manager, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.post("/shop/everything/")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/zip"
    found = opened(b"".join(answer.streaming_content))
    assert len(rows_of(found, "jobs.Order")) == Order.objects.count()
    event = Event.objects.get(verb="everything-taken")
    assert (event.by, event.detail["files"]) == (manager, 3)


@pytest.mark.parametrize("role", ["crew", "engineer", "viewer"])
def test_nobody_else_gets_it(shop: IssuedRecord, role: str) -> None:
    client = Client()
    client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
    answer = client.post("/shop/everything/")
    assert answer.status_code == 403
    assert b"PK" not in answer.content[:2]
    assert not Event.objects.filter(verb="everything-taken").exists()
