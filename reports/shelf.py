"""Where the signed files lie, named by their content: in the data folder, or in a bucket that speaks the S3 protocol.

Whatever is read is looked at before it is handed out: a file that is not there, or not the one that was kept, is told
as that and never served.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from contextlib import AbstractContextManager as ContextManager
from typing import Any, Protocol

from django.core.files.base import ContentFile

from jobs.site.private_files import write_whole
from jobs.site.uploads import records_bucket, told
from reports.models import file_name_of, records_folder

UNFINISHED = "."  # a file begins with a dot while it is being written


class Named(Protocol):
    """A row that names a kept file."""

    file: Any
    sha256: Any


class Altered(OSError):
    """The file is there and is not what was kept."""


def keep(data: bytes) -> tuple[str, str]:
    """Keep the bytes; the name and the SHA-256 they are found by. The whole file or none of it.

    OSError or StoreSilent where it could not be kept. A file of that name can only be the same one, or one that was
    altered meanwhile: it is written over.
    """
    digest = hashlib.sha256(data).hexdigest()
    name, bucket = file_name_of(digest), records_bucket()
    if bucket is not None:
        bucket.save(name, ContentFile(data))
    else:
        write_whole(records_folder() / name, data)
    return name, digest


def drop(name: str) -> None:
    """Take away a file that no row names."""
    bucket = records_bucket()
    if bucket is not None:
        bucket.delete(name)
    else:
        (records_folder() / name).unlink(missing_ok=True)


def opened(name: str) -> ContextManager[Any]:
    """The file for reading in portions, not looked at yet. OSError or StoreSilent where it cannot be read."""
    bucket = records_bucket()
    if bucket is not None:
        return bucket.open(name, "rb")
    return (records_folder() / name).open("rb")


def whole(row: Named) -> bytes:
    """The bytes that the row names. FileNotFoundError where they are gone, Altered where they are others, OSError or
    StoreSilent where they cannot be read now.
    """
    with opened(row.file) as file, told():
        data: bytes = file.read()
    if hashlib.sha256(data).hexdigest() != row.sha256:
        raise Altered(f"{row.file} is not what was kept under that name")
    return data


def as_kept(row: Named) -> io.BytesIO:
    """The bytes of `whole`, to be read in portions."""
    return io.BytesIO(whole(row))


def names() -> Iterator[str]:
    """Every finished file that lies there."""
    bucket = records_bucket()
    if bucket is not None:
        yield from bucket.names()
        return
    for path in records_folder().iterdir():
        if path.is_file() and not path.name.startswith(UNFINISHED):
            yield path.name
