"""Signed records in a bucket, on a server that speaks the S3 protocol over HTTP: named by their content, looked at
before they are handed out, backed up, taken along, and the store's silence told in words."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from pathlib import Path

import pytest
from django.core.cache import cache
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from moto.server import ThreadedMotoServer

from engineering.models import JobStatus
from jobs.models import Event, Release, Role
from jobs.site import env, uploads
from reports import building, everything, shelf, store, tasks
from reports.models import IssuedRecord, SharedAccess, SignedCopy, records_folder
from reports.signed_copies import take_back
from tests.buckets import KEY, NOBODY, SECRET, Store, made_for, move_out, server, use
from tests.factories import make_design, newest, person
from tests.reports.issuing import issued, shared_link
from tests.reports.test_records import ask
from tests.reports.test_signed_copies import engineer
from tests.reports.test_signing import engineers_signature
from tests.site.test_uploads import a_photo

pytestmark = pytest.mark.django_db
__all__ = ["server"]  # the fixture of `bucket`
HARMS = ("altered", "missing")
OTHER = b"%PDF altered: 7f3a"


@pytest.fixture
def bucket(server: ThreadedMotoServer, settings, tmp_path: Path, request: pytest.FixtureRequest) -> Store:
    made = made_for(server, request.node.name)
    settings.MEDIA_ROOT = tmp_path / "uploads"
    use(settings, made.address, records=True)
    return made


def key_of(row: IssuedRecord | SignedCopy) -> str:
    return f"shop/records/{row.sha256}.pdf"


def harm(bucket: Store, row: IssuedRecord | SignedCopy, how: str) -> None:
    if how == "missing":
        bucket.drop(key_of(row))
    else:
        bucket.put(key_of(row), OTHER)


def signed_in(role: Role = Role.MANAGER) -> Client:
    client = Client()
    client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
    return client


def kept_copy(bucket: Store, folder: Path) -> SignedCopy:
    record = issued(newest(make_design(verdict="review")))
    copy, release, _ = take_back(record, engineers_signature(bucket.get(key_of(record)), folder), by=engineer())
    assert release is not None
    return copy


def test_a_record_lies_in_the_bucket_under_its_content_and_goes_out_whole(bucket: Store) -> None:
    record = issued()
    assert bucket.keys() == [key_of(record)]
    assert list(records_folder().iterdir()) == []
    data = bucket.get(key_of(record))
    assert (hashlib.sha256(data).hexdigest(), len(data)) == (record.sha256, record.size)
    answer = signed_in().get(reverse("record_file", args=[record.number]))
    assert (answer.status_code, answer.content) == (200, data)
    assert Client().get(reverse("record_file", args=[record.number])).status_code == 302
    grants = bucket.client.get_object_acl(Bucket=bucket.name, Key=key_of(record))["Grants"]
    assert [grant for grant in grants if grant["Grantee"].get("URI")] == []  # to nobody but its owner


@pytest.mark.parametrize("how", HARMS)
def test_a_record_that_is_gone_or_altered_is_said_so_and_never_served(bucket: Store, how: str) -> None:
    record, other = issued(), issued()
    harm(bucket, record, how)
    answer = signed_in().get(reverse("record_file", args=[record.number]))
    assert answer.status_code == 404
    assert OTHER not in answer.content
    assert not Event.objects.filter(verb="record-downloaded").exists()
    assert [(fault.kept.what, fault.problem) for fault in store.faults(store.kept_files())] == [(record.number, how)]
    assert signed_in().get(reverse("record_file", args=[other.number])).status_code == 200


@pytest.mark.parametrize("how", HARMS)
def test_a_shared_link_hands_out_nothing_else(bucket: Store, how: str, monkeypatch: pytest.MonkeyPatch) -> None:
    cache.clear()
    record = issued()
    link, address = shared_link(record), reverse("shared_record", args=[record.number])
    monkeypatch.setattr("reports.sharing.link_of", lambda code: link)
    assert Client().get(address, {"key": "x"}).content == bucket.get(key_of(record))
    harm(bucket, record, how)
    assert Client().get(address, {"key": "x"}).status_code == 404
    outcomes = list(link.accesses.order_by("pk").values_list("outcome", flat=True))
    assert outcomes == [SharedAccess.Given.GIVEN, SharedAccess.Given.NO_FILE]
    assert Event.objects.filter(verb="shared-record-taken").count() == 1


def test_a_silent_store_hands_out_nothing_and_says_why(bucket: Store, settings, monkeypatch) -> None:
    cache.clear()
    record = issued()
    link = shared_link(record)
    monkeypatch.setattr("reports.sharing.link_of", lambda code: link)
    use(settings, NOBODY, records=True)
    answer = signed_in().get(reverse("record_file", args=[record.number]))
    assert answer.status_code == 503
    assert "does not answer" in answer.content.decode()
    shared = Client().get(reverse("shared_record", args=[record.number]), {"key": "x"})
    assert shared.status_code == 503
    assert "does not answer" in shared.content.decode()
    assert link.accesses.get().outcome == SharedAccess.Given.SILENT
    assert not Event.objects.filter(verb__in=("record-downloaded", "shared-record-taken")).exists()
    assert [fault.problem for fault in store.faults(store.kept_files())] == ["unreadable"]


def test_a_record_that_finds_no_store_breaks_off_in_words_and_can_be_asked_for_again(bucket: Store, settings) -> None:
    record = ask(newest(make_design()))
    use(settings, NOBODY, records=True)
    tasks.build_record(record.pk)
    broken = IssuedRecord.objects.get(pk=record.pk)
    assert (broken.status, broken.file, broken.sha256) == (JobStatus.BROKEN, "", "")
    assert "does not answer" in broken.problem
    assert not Event.objects.filter(verb="record-issued").exists()
    use(settings, bucket.address, records=True)
    again = ask(record.revision)
    tasks.build_record(again.pk)
    assert bucket.keys() == [key_of(IssuedRecord.objects.get(pk=again.pk))]


def test_a_signed_copy_that_finds_no_store_is_not_kept(bucket: Store, settings, own_data_folder: Path) -> None:
    record = issued(newest(make_design(verdict="review")))
    data = engineers_signature(bucket.get(key_of(record)), own_data_folder)
    use(settings, NOBODY, records=True)
    with pytest.raises(uploads.StoreSilent):
        take_back(record, data, by=engineer())
    assert not SignedCopy.objects.exists()
    assert not Release.objects.exists()
    assert not Event.objects.filter(verb="signed-copy-kept").exists()


def test_a_signed_copy_lies_there_too_and_is_looked_at(bucket: Store, own_data_folder: Path) -> None:
    copy = kept_copy(bucket, own_data_folder)
    assert sorted(bucket.keys()) == sorted([key_of(copy), key_of(copy.record)])
    address = reverse("signed_file", args=[copy.record.number, copy.pk])
    assert signed_in().get(address).content == bucket.get(key_of(copy))
    harm(bucket, copy, "altered")
    assert signed_in().get(address).status_code == 404
    assert Event.objects.filter(verb="record-downloaded").count() == 1


def test_a_worker_that_lost_its_claim_leaves_nothing_in_the_bucket(bucket: Store) -> None:
    record = ask(newest(make_design()))
    claimed = building.claim(record.pk)
    IssuedRecord.objects.filter(pk=record.pk).update(claim="somebody else's")
    assert not building.build(claimed)
    assert bucket.keys() == []


def test_keeping_it_again_mends_what_was_altered_under_its_name(bucket: Store) -> None:
    name, digest = shelf.keep(b"%PDF of this test")
    bucket.put(f"shop/records/{name}", b"other")
    assert shelf.keep(b"%PDF of this test") == (name, digest)
    assert list(map(bucket.get, bucket.keys())) == [b"%PDF of this test"]


def test_what_no_row_names_is_told(bucket: Store) -> None:
    record = issued()
    bucket.put("shop/records/left-over.pdf", b"x")
    photo = a_photo()
    assert store.strays() == ["left-over.pdf"]
    assert sorted(uploads.outside()["records"].names()) == sorted([record.file, "left-over.pdf"])
    assert list(uploads.outside()["uploads"].names()) == [photo.file.name]  # records are not counted as uploads


def test_everything_takes_them_along_and_names_those_that_are_not_what_they_were(bucket: Store) -> None:
    good, altered, gone = issued(), issued(), issued()
    harm(bucket, altered, "altered")
    harm(bucket, gone, "missing")
    out = io.BytesIO()
    counts = everything.write(out)
    packed = zipfile.ZipFile(out)
    assert packed.read(f"files/records/{good.file_name}") == bucket.get(key_of(good))
    listed = json.loads(packed.read(everything.MANIFEST))["missing"]
    assert listed == counts["missing"]
    assert {row["row"]: row["why"] for row in listed} == {
        f"reports.IssuedRecord {altered.pk}": "Altered",
        f"reports.IssuedRecord {gone.pk}": "FileNotFoundError",
    }
    assert not any(OTHER in packed.read(name) for name in packed.namelist() if name.endswith(".pdf"))


@pytest.mark.django_db(transaction=True)
def test_a_backup_brings_them_to_a_disk_and_back(bucket: Store, settings, tmp_path: Path, own_data_folder) -> None:
    copy, photo = kept_copy(bucket, own_data_folder), a_photo()
    files = {row.file: bucket.get(key_of(row)) for row in (copy.record, copy)}
    call_command("backup", str(tmp_path / "one.backup"))

    move_out(settings, tmp_path / "on-a-disk", "")
    call_command("restore", str(tmp_path / "one.backup"))
    assert {path.name: path.read_bytes() for path in records_folder().iterdir()} == files
    assert list(store.faults(store.kept_files())) == []
    call_command("backup", str(tmp_path / "two.backup"))

    other = Store(bucket.client.meta.endpoint_url, f"{bucket.name}-2")
    move_out(settings, tmp_path / "in-a-bucket", other.address, records=True)
    call_command("restore", str(tmp_path / "two.backup"))
    assert sorted(other.keys()) == sorted([f"shop/{photo.file.name}", *(f"shop/records/{name}" for name in files)])
    assert {name: other.get(f"shop/records/{name}") for name in files} == files
    assert not (settings.DATA / "records").exists() or list((settings.DATA / "records").iterdir()) == []
    assert list(store.faults(store.kept_files())) == []


def test_the_setting_needs_a_bucket_and_is_off_unless_set() -> None:
    with pytest.raises(ImproperlyConfigured, match="CAMBERBOOK_RECORDS_IN_BUCKET"):
        env.kept_files("", key=KEY, secret=SECRET, records=True)
    assert set(env.kept_files("s3://bucket/shop", key=KEY, secret=SECRET, records=False)) == {"default"}
    made = env.kept_files("s3://bucket", key=KEY, secret=SECRET, records=True)
    assert made["records"]["OPTIONS"]["location"] == "records"


def test_without_the_setting_records_lie_in_the_data_folder_beside_a_bucket(bucket: Store, settings) -> None:
    use(settings, bucket.address)
    record = issued()
    assert uploads.records_bucket() is None
    assert bucket.keys() == []
    assert [path.name for path in records_folder().iterdir()] == [record.file]
