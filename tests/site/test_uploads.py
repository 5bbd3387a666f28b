"""Photos and attachments in a bucket, on a server that speaks the S3 protocol over HTTP: kept, shown only to those
signed in, backed up, and its silence told in words."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.test import Client
from moto.server import ThreadedMotoServer
from PIL import Image

from jobs import photos
from jobs.actions import quality
from jobs.models import Event, Photo, Piece
from jobs.site import env, uploads
from reports import store
from tests.buckets import KEY, NOBODY, SECRET, Store, made_for, move_out, server, use
from tests.factories import person, piece_at

pytestmark = pytest.mark.django_db
__all__ = ["server"]  # the fixture of `bucket`


@pytest.fixture
def bucket(server: ThreadedMotoServer, settings, tmp_path: Path, request: pytest.FixtureRequest) -> Store:
    made = made_for(server, request.node.name)
    settings.DATA = tmp_path
    settings.MEDIA_ROOT = tmp_path / "uploads"
    use(settings, made.address)
    return made


def a_photo(piece: Piece | None = None) -> Photo:
    out = io.BytesIO()
    Image.new("RGB", (8, 8), (9, 90, 200)).save(out, "PNG")
    picture = photos.read_picture(io.BytesIO(out.getvalue()), size=out.tell())
    return quality.add_photo(piece or piece_at("formed"), by=person("crew"), picture=picture)


def signed_in() -> Client:
    client = Client()
    client.force_login(person("crew"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_a_photo_lies_in_the_bucket_and_goes_out_through_the_view(bucket: Store, tmp_path: Path) -> None:
    photo = a_photo()
    assert bucket.keys() == [f"shop/{photo.file.name}"]
    assert not list((tmp_path).rglob("*.jpg"))
    answer = signed_in().get(f"/photos/{photo.pk}.jpg")
    data = b"".join(answer.streaming_content)
    assert answer.status_code == 200
    assert Image.open(io.BytesIO(data)).size == (8, 8)
    assert Client().get(f"/photos/{photo.pk}.jpg").status_code == 302
    grants = bucket.client.get_object_acl(Bucket=bucket.name, Key=bucket.keys()[0])["Grants"]
    assert [grant for grant in grants if grant["Grantee"].get("URI")] == []     # to nobody but its owner


def test_a_photo_that_is_gone_from_the_bucket_is_told_so(bucket: Store) -> None:
    photo = a_photo()
    assert list(store.faults(store.kept_files())) == []
    bucket.client.put_object(Bucket=bucket.name, Key=bucket.keys()[0], Body=b"another")
    assert [fault.problem for fault in store.faults(store.kept_files())] == ["altered"]
    bucket.client.delete_object(Bucket=bucket.name, Key=bucket.keys()[0])
    assert [fault.problem for fault in store.faults(store.kept_files())] == ["missing"]
    assert signed_in().get(f"/photos/{photo.pk}.jpg").status_code == 404


def test_a_silent_store_is_told_in_words_and_nothing_is_written(bucket: Store, settings) -> None:
    kept, piece, before = a_photo(), piece_at("formed"), Event.objects.count()
    use(settings, NOBODY)
    with pytest.raises(uploads.StoreSilent, match="does not answer"):
        a_photo(piece)
    assert list(Photo.objects.all()) == [kept]
    assert Event.objects.filter(verb="photo-added").count() == 1
    assert Event.objects.count() == before
    answer = signed_in().get(f"/photos/{kept.pk}.jpg")
    assert answer.status_code == 503
    assert "does not answer" in answer.content.decode()
    assert [fault.problem for fault in store.faults(store.kept_files())] == ["unreadable"]


@pytest.mark.django_db(transaction=True)
def test_a_backup_brings_the_bucket_along_to_a_disk_and_back(bucket: Store, settings, tmp_path: Path) -> None:
    photo = a_photo()
    with photo.file.open("rb") as file:
        picture = file.read()
    call_command("backup", str(tmp_path / "one.backup"))

    move_out(settings, tmp_path / "on-a-disk", "")
    call_command("restore", str(tmp_path / "one.backup"))
    assert (settings.MEDIA_ROOT / photo.file.name).read_bytes() == picture
    call_command("backup", str(tmp_path / "two.backup"))

    other = Store(bucket.client.meta.endpoint_url, f"{bucket.name}-2")
    move_out(settings, tmp_path / "in-a-bucket", other.address)
    call_command("restore", str(tmp_path / "two.backup"))
    assert other.keys() == [f"shop/{photo.file.name}"]
    assert not settings.MEDIA_ROOT.exists()
    assert list(store.faults(store.kept_files())) == []


@pytest.mark.parametrize("address", [
    "http://bucket/", "s3://", "s3://key:secret@bucket/", "s3://bucket/?acl=public-read",
])
def test_an_address_that_cannot_be_read_stops_the_start(address: str) -> None:
    with pytest.raises(ImproperlyConfigured, match="CAMBERBOOK_UPLOADS") as refused:
        env.uploads(address, key=KEY, secret=SECRET)
    assert "secret@" not in str(refused.value)


def test_a_bucket_without_its_key_stops_the_start() -> None:
    with pytest.raises(ImproperlyConfigured, match="CAMBERBOOK_UPLOADS_KEY"):
        env.uploads("s3://bucket/", key=KEY, secret="")


def test_without_a_bucket_files_lie_in_the_data_folder() -> None:
    assert env.uploads("", key="", secret="")["BACKEND"].endswith("FileSystemStorage")
    assert uploads.bucket() is None
