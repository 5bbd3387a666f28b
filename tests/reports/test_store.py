"""Kept files are named by their content, what is missing or altered is noticed, and no number comes twice."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.db import connection

from engineering.models import JobStatus
from jobs.models import Photo
from reports import building
from reports.models import IssuedRecord, SharedAccess, SharingLink, SignedCopy, records_folder
from reports.signed_copies import take_back
from tests.factories import make_design, newest, person, piece_at, release, revise
from tests.reports.issuing import issued
from tests.reports.test_records import ask
from tests.reports.test_signed_copies import engineer, signed_by_engineer, waiting_record

pytestmark = pytest.mark.django_db


def verify() -> tuple[int, str]:
    """Exit status of the command, and all it says."""
    said, code = io.StringIO(), 0
    try:
        call_command("verify_store", stdout=said, stderr=said)
    except SystemExit as left:
        code = int(left.code or 0)
    return code, said.getvalue()


@pytest.fixture
def photo(settings, tmp_path) -> Photo:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    data = b"\xff\xd8 a picture"
    return Photo.objects.create(
        piece=piece_at("formed"),
        by=person(),
        at="2026-11-25T10:00Z",
        file=ContentFile(data, "p.jpg"),
        sha256=hashlib.sha256(data).hexdigest(),
        width=1,
        height=1,
    )


@pytest.fixture
def kept(photo, own_data_folder) -> dict[str, Photo | IssuedRecord | SignedCopy]:
    """One file of each kind: a record, its signed copy, a photo."""
    record = waiting_record()
    copy, _, _ = take_back(record, signed_by_engineer(record, own_data_folder), by=engineer())
    return {"record": record, "signed copy": copy, "photo": photo}


def path_of(row) -> object:
    return Path(row.file.path) if isinstance(row, Photo) else row.path


def test_files_are_named_by_their_content(kept):
    for row in (kept["record"], kept["signed copy"]):
        assert row.file == f"{row.sha256}.pdf"
        assert hashlib.sha256(row.path.read_bytes()).hexdigest() == row.sha256
        assert row.path.stat().st_mode & 0o077 == 0


def test_a_whole_store_is_called_whole(kept):
    code, said = verify()
    assert (code, said.strip()) == (0, "All 3 files are there, each as it was kept.")


@pytest.mark.parametrize("what", ["record", "signed copy", "photo"])
@pytest.mark.parametrize("how", ["missing", "altered", "emptied"])
def test_a_missing_or_altered_file_is_noticed_and_named(kept, what, how):
    path = path_of(kept[what])
    if how == "missing":
        path.unlink()
    else:
        data = bytearray(path.read_bytes())
        data[len(data) // 2] ^= 1
        path.write_bytes(bytes(data) if how == "altered" else b"")
    code, said = verify()
    assert code == 1
    assert f"{'MISSING' if how == 'missing' else 'ALTERED'}: " in said
    assert path.name in said
    assert "1 of 3 files" in said


def test_two_files_that_changed_places_are_both_noticed(kept):
    one, other = kept["record"].path, kept["signed copy"].path
    first, second = one.read_bytes(), other.read_bytes()
    one.write_bytes(second)
    other.write_bytes(first)
    code, said = verify()
    assert code == 1
    assert said.count("ALTERED") == 2


def test_a_file_no_row_names_is_told_and_is_no_fault(kept):
    (records_folder() / "left-over.pdf").write_bytes(b"x")
    code, said = verify()
    assert code == 0
    assert "no row names left-over.pdf" in said


def test_a_worker_that_lost_its_claim_leaves_no_file_behind():
    record = ask(newest(make_design()))
    claimed = building.claim(record.pk)
    IssuedRecord.objects.filter(pk=record.pk).update(claim="somebody else's")
    assert not building.build(claimed)
    assert list(records_folder().iterdir()) == []
    assert IssuedRecord.objects.get(pk=record.pk).sha256 == ""


def test_nothing_that_was_issued_is_deleted_one_by_one_or_by_query(kept):
    for row in (kept["record"], kept["signed copy"]):
        with pytest.raises(TypeError, match="never deleted"):
            row.delete()
    for rows in (IssuedRecord, SignedCopy, SharingLink, SharedAccess):
        with pytest.raises(TypeError, match="never deleted"):
            rows.objects.all().delete()
    assert IssuedRecord.objects.exists()
    assert kept["record"].path.exists()


def test_a_number_is_not_given_again_even_where_its_row_was_torn_out():
    """By somebody in the database itself: the next record still gets a number that never was."""
    first = issued()
    lost = ask(newest(make_design()))
    with connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {IssuedRecord._meta.db_table} WHERE id = %s", [lost.pk])
    after = ask(newest(make_design()))
    assert after.pk > lost.pk > first.pk
    assert after.number not in (lost.number, first.number)


def test_a_broken_one_keeps_its_number_and_the_next_try_gets_another():
    record = ask(newest(make_design()))
    assert building.break_off(building.claim(record.pk), "the paper ran out")
    again = ask(record.revision)
    assert again.number != record.number
    assert IssuedRecord.objects.get(pk=record.pk).status == JobStatus.BROKEN


def test_a_changed_piece_makes_a_new_record_and_the_old_one_stays_as_it_was():
    design = make_design()
    release(design)
    old = issued(newest(design))
    before = old.path.read_bytes()
    revise(design)
    release(design)
    new = issued(newest(design))
    assert new.number != old.number
    old.refresh_from_db()
    assert (old.status, old.path.read_bytes()) == (JobStatus.DONE, before)
    assert verify()[0] == 0
