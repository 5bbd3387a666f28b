"""Where photos and attachments lie, and the signed records where the settings say so: in the data folder, or in a
bucket that speaks the S3 protocol.

Nobody reads the bucket but the site: what is in it goes out through the view that checks who asks.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from django.conf import settings
from django.core.files.storage import storages
from storages.backends.s3 import S3Storage

from jobs.errors import ShopError

FOLDER, RECORDS = "uploads", "records"  # of the data folder, and in a backup, wherever they lie
CALLS = Config(
    signature_version="s3v4",
    s3={"addressing_style": "path"},
    connect_timeout=5,
    read_timeout=30,
    retries={"max_attempts": 2},
)


class StoreSilent(ShopError):
    code, http_status = "store-silent", 503
    default = (
        "The store of photos and files does not answer, so this was not written or shown. Try again in a minute; if it "
        "goes on, tell the shop manager."
    )


class Bucket(S3Storage):
    """A bucket whose silence is told in words. A file that is not there is FileNotFoundError, as on a disk."""

    def __init__(self, *, records: bool = False, **options: Any) -> None:
        self.of_records = records
        super().__init__(client_config=CALLS, **options)

    def _open(self, name: str, mode: str = "rb") -> Any:
        with told():
            return super()._open(name, mode)

    def _save(self, name: str, content: Any) -> str:
        with told():
            return str(super()._save(name, content))

    def delete(self, name: str) -> None:
        with told():
            super().delete(name)

    def exists(self, name: str) -> bool:
        with told():
            return bool(super().exists(name))

    def names(self) -> Iterator[str]:
        """Every file under the folder of the settings; of photos and attachments not the records among them."""
        begin = f"{self.location}/" if self.location else ""
        with told():
            for found in self.bucket.objects.filter(Prefix=begin):
                name = found.key.removeprefix(begin)
                if self.of_records or not name.startswith(f"{RECORDS}/"):
                    yield name


@contextmanager
def told() -> Iterator[None]:
    """The silence of the store as a refusal in words, whoever noticed it: reading an opened file asks the store too."""
    try:
        yield
    except (BotoCoreError, ClientError) as exc:
        raise StoreSilent from exc


def bucket() -> Bucket | None:
    """The bucket of photos and attachments, where the settings name one."""
    kept = storages["default"]
    return kept if isinstance(kept, Bucket) else None


def records_bucket() -> Bucket | None:
    """Where the signed records lie, if that is no disk."""
    kept = storages[RECORDS] if RECORDS in settings.STORAGES else None
    return kept if isinstance(kept, Bucket) else None


def outside() -> dict[str, Bucket]:
    """What lies in a bucket, under the name of the folder that it would have on a disk and has in a backup."""
    found = {FOLDER: bucket(), RECORDS: records_bucket()}
    return {folder: held for folder, held in found.items() if held is not None}
