"""Where photos and attachments lie: in the data folder, or in a bucket that speaks the S3 protocol.

Nobody reads the bucket but the site: what is in it goes out through the view that checks who asks.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from django.core.files.storage import storages
from storages.backends.s3 import S3Storage

from jobs.errors import ShopError

FOLDER = "uploads"  # of the data folder, and in a backup, wherever they lie
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

    def __init__(self, **options: Any) -> None:
        super().__init__(client_config=CALLS, **options)

    def _open(self, name: str, mode: str = "rb") -> Any:
        with _words():
            return super()._open(name, mode)

    def _save(self, name: str, content: Any) -> str:
        with _words():
            return str(super()._save(name, content))

    def delete(self, name: str) -> None:
        with _words():
            super().delete(name)

    def exists(self, name: str) -> bool:
        with _words():
            return bool(super().exists(name))

    def names(self) -> Iterator[str]:
        """Every file under the folder of the settings."""
        begin = f"{self.location}/" if self.location else ""
        with _words():
            for found in self.bucket.objects.filter(Prefix=begin):
                yield found.key.removeprefix(begin)


@contextmanager
def _words() -> Iterator[None]:
    try:
        yield
    except (BotoCoreError, ClientError) as exc:
        raise StoreSilent from exc


def bucket() -> Bucket | None:
    """The bucket, where the settings name one."""
    kept = storages["default"]
    return kept if isinstance(kept, Bucket) else None
