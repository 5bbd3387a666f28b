"""Are the kept files those that the rows name? Records and copies by content, photos and attachments by the hash in
their row.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager as ContextManager
from dataclasses import dataclass
from functools import partial
from pathlib import PurePosixPath
from typing import Any

from engineering.models import JobStatus
from jobs.models import Attachment, Photo
from jobs.site.uploads import StoreSilent, told
from reports import shelf
from reports.models import IssuedRecord, SignedCopy

PORTION = 1 << 20  # [bytes]


@dataclass(frozen=True)
class Kept:
    """A file as its row names it."""

    what: str
    name: str
    opened: Callable[[], ContextManager[Any]]
    sha256: str


@dataclass(frozen=True)
class StoreFault:
    """A file that is not there, or not what was kept."""

    kept: Kept
    problem: str  # missing, altered, unreadable

    def line(self) -> str:
        return f"{self.problem.upper()}: {self.kept.what}, {self.kept.name}, SHA-256 {self.kept.sha256}"


def kept_files() -> Iterator[Kept]:
    """Every file that a row names, in the order of the rows."""
    for record in IssuedRecord.objects.filter(status=JobStatus.DONE).order_by("pk").iterator():
        yield _record(record.number, record)
    for copy in SignedCopy.objects.select_related("record").order_by("pk").iterator():
        yield _record(f"signed copy of {copy.record.number}", copy)
    for photo in Photo.objects.filter(removed_at=None).order_by("pk").iterator():
        yield _upload(f"photo {photo.pk}", photo.file, photo.sha256)
    for attachment in Attachment.objects.order_by("pk").iterator():
        yield _upload(f"attachment {attachment.pk}", attachment.file, attachment.sha256)


def _record(what: str, row: IssuedRecord | SignedCopy) -> Kept:
    return Kept(what, row.file, partial(shelf.opened, row.file), row.sha256)


def _upload(what: str, file: Any, sha256: str) -> Kept:
    """In the data folder or in a bucket, wherever the settings say."""
    return Kept(what, PurePosixPath(file.name).name, lambda: file.storage.open(file.name, "rb"), sha256)


def faults(kept: Iterator[Kept]) -> Iterator[StoreFault]:
    """A fault for each file that is not as it was kept. One file is in memory at a time, a portion of it."""
    for file in kept:
        try:
            found = sha256_of(file.opened)
        except FileNotFoundError:
            yield StoreFault(file, "missing")
        except (OSError, StoreSilent):
            yield StoreFault(file, "unreadable")
        else:
            if found != file.sha256:
                yield StoreFault(file, "altered")


def sha256_of(opened: Callable[[], ContextManager[Any]]) -> str:
    """SHA-256 of a file's bytes, read in portions."""
    digest = hashlib.sha256()
    with opened() as file, told():
        while portion := file.read(PORTION):
            digest.update(portion)
    return digest.hexdigest()


def strays() -> list[str]:
    """Files among the records that no row names: left by a worker that was killed, or put there by somebody."""
    named = {*IssuedRecord.objects.values_list("file", flat=True), *SignedCopy.objects.values_list("file", flat=True)}
    return sorted(name for name in shelf.names() if name not in named)
