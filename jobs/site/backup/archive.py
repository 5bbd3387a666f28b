"""What is in a backup: a tar of `head.json`, `rows/APP.TABLE.jsonl`, `files/…`, and at its end `sums.json` with the
SHA-256 of all the others. It can be opened without Camberbook.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import secrets
import shutil
import stat
import tarfile
import tempfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import Any, BinaryIO, cast

from django.apps import apps
from django.core.files import File
from django.core.serializers.base import DeserializationError
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from jobs import event_chain
from jobs.site import uploads
from jobs.site.backup import rows, sealed

FORMAT = "camberbook-backup/1"
HEAD, SUMS, ROWS, FILES = "head.json", "sums.json", "rows", "files"
IN_MEMORY = 16 * 1024 * 1024
UNREADABLE = (
    tarfile.TarError, zlib.error, EOFError, OSError, ValueError, LookupError, DeserializationError, DatabaseError,
    uploads.StoreSilent,
)


class NotRestored(Exception):
    """Why nothing was restored; the text is for the screen."""


def write(target: Path, *, data: Path, key: str) -> dict[str, int]:
    """Write a backup; how many rows and files. The target appears whole or not at all, readable by its owner only."""
    fresh = target.with_name(f".{target.name}.{secrets.token_hex(4)}")
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as out:
            sink = sealed.Sealer(out, key) if key else out
            with tarfile.open(fileobj=cast(BinaryIO, sink), mode="w|gz", format=tarfile.PAX_FORMAT) as tar:
                counts = _fill(tar, data)
            if sink is not out:
                sink.close()
            out.flush()
            os.fsync(out.fileno())
        os.link(fresh, target)      # fails, whole, if there is one of that name
        return counts
    finally:
        fresh.unlink(missing_ok=True)


def _fill(tar: tarfile.TarFile, data: Path) -> dict[str, int]:
    sums: dict[str, str] = {}
    with one_moment():
        head = {"format": FORMAT, "made_at": timezone.now().isoformat(), "from": rows.engine(), "schema": rows.schema()}
        _add(tar, sums, HEAD, io.BytesIO(json.dumps(head, indent=1).encode()))
        count = 0
        for kind in rows.tables():
            with tempfile.SpooledTemporaryFile(IN_MEMORY) as lines:
                for line in rows.written(kind):
                    lines.write(line)
                    count += 1
                _add(tar, sums, f"{ROWS}/{kind._meta.label}.jsonl", cast(BinaryIO, lines))
    # A file is there before the row that names it, so all that the rows name are found now.
    found = list(kept_files(data))
    outside = [(folder, held, name) for folder, held in uploads.outside().items() for name in sorted(held.names())]
    for file in found:
        with file.open("rb") as source:
            _add(tar, sums, f"{FILES}/{file.relative_to(data).as_posix()}", source)
    for folder, held, name in outside:
        with held.open(name) as source:
            _add(tar, sums, f"{FILES}/{folder}/{name}", source)
    _add(tar, {}, SUMS, io.BytesIO(json.dumps(sums, indent=1).encode()))
    return {"rows": count, "files": len(found) + len(outside)}


@contextmanager
def one_moment() -> Iterator[None]:
    """All tables as of one moment, however many write. Inside somebody's transaction it is theirs to choose."""
    line: Any = connection
    ours = not connection.in_atomic_block
    if connection.vendor == "sqlite":
        line.transaction_mode = "DEFERRED"    # reads beside those who write; the site's own are IMMEDIATE
    try:
        with transaction.atomic():
            if connection.vendor == "postgresql" and ours:
                with connection.cursor() as cursor:
                    cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield
    finally:
        if connection.vendor == "sqlite":
            line.transaction_mode = connection.settings_dict["OPTIONS"].get("transaction_mode")


def kept_files(data: Path) -> Iterator[Path]:
    """The files in the folders of the data folder (records, signing, uploads), but none that is half written. What lies
    in the data folder itself stays behind: the database, and keys of this installation.
    """
    for folder in sorted(path for path in data.iterdir() if path.is_dir()):
        for path in sorted(folder.rglob("*")):
            if path.is_file() and not path.is_symlink() and not path.name.startswith("."):
                yield path


def _add(tar: tarfile.TarFile, sums: dict[str, str], name: str, source: BinaryIO) -> None:
    source.seek(0)
    sums[name] = hashlib.file_digest(source, "sha256").hexdigest()  # type: ignore[arg-type]  # a spooled file will do
    entry = tarfile.TarInfo(name)
    entry.size, entry.mode, entry.mtime = source.seek(0, io.SEEK_END), 0o600, int(timezone.now().timestamp())
    source.seek(0)
    tar.addfile(entry, source)


def restore(source: Path, *, data: Path, key: str) -> dict[str, int]:
    """Put everything back into an empty shop, or change nothing. NotRestored or sealed.NotOpened say why not."""
    if what := rows.anything_there():
        raise NotRestored(f"This shop is not empty: it has {what}. A backup goes only into an empty one: "
                          "set CAMBERBOOK_DATA to a new folder, or DATABASE_URL to a new database.")
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=data) as beside, source.open("rb") as raw:
        waiting = Path(beside)
        try:
            with transaction.atomic():
                counts = _take(raw, waiting, key)
                rows.continue_numbering()
                if faults := list(event_chain.faults()):
                    raise NotRestored(f"The event log in the backup does not fit together: {faults[0]}")
                _move_in(waiting, data)
        except UNREADABLE as exc:
            raise NotRestored(f"The backup cannot be read to its end ({exc}). Nothing was restored.") from exc
    return counts


def _take(raw: BinaryIO, waiting: Path, key: str) -> dict[str, int]:
    seen: dict[str, str] = {}
    counts, sums = {"rows": 0, "files": 0}, None
    with connection.constraint_checks_disabled(), tarfile.open(fileobj=sealed.opened(raw, key), mode="r|gz") as tar:
        for entry in tar:
            stream = tar.extractfile(entry) if entry.isreg() else None
            if stream is None:
                raise NotRestored(f"The backup holds {entry.name}, which is no plain file.")
            if entry.name == SUMS:
                sums = json.load(stream)
            else:
                _take_one(entry.name, Summing(stream), waiting, seen, counts)
    connection.check_constraints()
    if sums is None or sums != seen:
        raise NotRestored("The backup is not whole: what it holds is not what its list of sums says.")
    return counts


class Summing(io.RawIOBase):
    """Reads through and keeps the SHA-256."""

    def __init__(self, source: Any) -> None:
        self.source, self.sum = source, hashlib.sha256()

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        data = self.source.read(len(buffer))
        buffer[: len(data)] = data
        self.sum.update(data)
        return len(data)


def _take_one(name: str, stream: Summing, waiting: Path, seen: dict[str, str], counts: dict[str, int]) -> None:
    lines, (folder, _, rest) = io.BufferedReader(stream), name.partition("/")
    if not seen and name != HEAD:
        raise NotRestored("This is no backup of Camberbook.")
    if name == HEAD:
        _fits(json.load(lines))
    elif folder == ROWS:
        apps.get_model(rest.removesuffix(".jsonl"))         # LookupError: no such table
        counts["rows"] += rows.read(lines)
    elif folder == FILES:
        _lay_down(waiting, rest, lines)
        counts["files"] += 1
    else:
        raise NotRestored(f"The backup holds {name}, which this version does not know.")
    seen[name] = stream.sum.hexdigest()


def _fits(head: dict[str, Any]) -> None:
    if head.get("format") != FORMAT:
        raise NotRestored(f"The backup's format is {head.get('format')!r}; this version reads {FORMAT}.")
    if head["schema"] != rows.schema():
        raise NotRestored("The backup is from another version of Camberbook: its tables are not those of this one. "
                          "Restore it with that version, then update.")


def _lay_down(waiting: Path, name: str, lines: BinaryIO) -> None:
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or len(path.parts) < 2:
        raise NotRestored(f"The backup holds {name}, which leads out of the data folder.")
    target = waiting.joinpath(*path.parts)
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        shutil.copyfileobj(lines, out)
        out.flush()
        os.fsync(out.fileno())


def _move_in(waiting: Path, data: Path) -> None:
    """Each file to its place; one of that name may be there only if it is the same."""
    found = [path for path in sorted(waiting.rglob("*")) if path.is_file()]
    for path in found:
        target = data / path.relative_to(waiting)
        if target.exists() and target.read_bytes() != path.read_bytes():
            raise NotRestored(f"{target} is there already and is another file than the backup's.")
    outside = uploads.outside()
    for path in found:
        name = path.relative_to(waiting)
        if (bucket := outside.get(name.parts[0])) is not None:
            _put(bucket, name.relative_to(name.parts[0]).as_posix(), path)
            continue
        target = data / name
        target.parent.mkdir(mode=stat.S_IRWXU, parents=True, exist_ok=True)
        path.replace(target)


def _put(bucket: uploads.Bucket, name: str, path: Path) -> None:
    """Into the bucket, under its own name; one of that name may be there only if it is the same."""
    if bucket.exists(name):
        with bucket.open(name) as there:
            if there.read() == path.read_bytes():
                return
        raise NotRestored(f"{name} is in the bucket already and is another file than the backup's.")
    with path.open("rb") as source:
        bucket.save(name, File(source))
