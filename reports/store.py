"""Are the kept files those that the rows name? Records and copies by content, photos and attachments by the hash in
their row.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from engineering.models import JobStatus
from jobs.models import Attachment, Photo
from reports.models import IssuedRecord, SignedCopy, records_folder

PORTION = 1 << 20  # [bytes]
UNFINISHED = "."  # a file begins with a dot while it is being written


@dataclass(frozen=True)
class Kept:
    """A file as its row names it."""

    what: str
    path: Path
    sha256: str


@dataclass(frozen=True)
class StoreFault:
    """A file that is not there, or not what was kept."""

    kept: Kept
    problem: str  # missing, altered, unreadable

    def line(self) -> str:
        return f"{self.problem.upper()}: {self.kept.what}, {self.kept.path.name}, SHA-256 {self.kept.sha256}"


def kept_files() -> Iterator[Kept]:
    """Every file that a row names, in the order of the rows."""
    for record in IssuedRecord.objects.filter(status=JobStatus.DONE).order_by("pk").iterator():
        yield Kept(record.number, record.path, record.sha256)
    for copy in SignedCopy.objects.select_related("record").order_by("pk").iterator():
        yield Kept(f"signed copy of {copy.record.number}", copy.path, copy.sha256)
    for photo in Photo.objects.filter(removed_at=None).order_by("pk").iterator():
        yield Kept(f"photo {photo.pk}", Path(photo.file.path), photo.sha256)
    for attachment in Attachment.objects.order_by("pk").iterator():
        yield Kept(f"attachment {attachment.pk}", Path(attachment.file.path), attachment.sha256)


def faults(kept: Iterator[Kept]) -> Iterator[StoreFault]:
    """A fault for each file that is not as it was kept. One file is in memory at a time, a portion of it."""
    for file in kept:
        try:
            found = sha256_of(file.path)
        except FileNotFoundError:
            yield StoreFault(file, "missing")
        except OSError:
            yield StoreFault(file, "unreadable")
        else:
            if found != file.sha256:
                yield StoreFault(file, "altered")


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's bytes, read in portions."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while portion := file.read(PORTION):
            digest.update(portion)
    return digest.hexdigest()


def strays() -> list[Path]:
    """Files in the records folder that no row names: left by a worker that was killed, or put there by somebody."""
    named = {*IssuedRecord.objects.values_list("file", flat=True), *SignedCopy.objects.values_list("file", flat=True)}
    there = (path for path in records_folder().iterdir() if path.is_file() and not path.name.startswith(UNFINISHED))
    return sorted(path for path in there if path.name not in named)
