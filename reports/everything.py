"""Everything a shop owns in one ZIP file that is read without this program: tables as CSV and JSON lines, kept files
under names a person knows, a list of all with sizes and SHA-256, and a page of words.

What opens doors stays out: passwords, PINs, keys and what is kept of them, the signing key, the log of signing in.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from functools import partial
from typing import IO, Any, cast

from django.db import models
from django.utils import timezone

from engineering.models import JobStatus
from jobs import exports
from jobs.models import ApiToken, Attachment, CalendarLink, Photo, PinTry, Shop
from jobs.site.backup import archive, rows
from jobs.site.uploads import StoreSilent
from reports import shelf
from reports.models import IssuedRecord, SignedCopy

OPENS_DOORS = (ApiToken, CalendarLink, PinTry)
SECRET_FIELDS = {"password", "pin_hash", "digest", "key", "claim", "user_permissions", "groups"}
MANIFEST, WORDS = "manifest.json", "README.txt"
IN_MEMORY = 16 * 1024 * 1024
PORTION = 1 << 20


def write(target: IO[bytes]) -> dict[str, Any]:
    """Write the ZIP; `rows`, `files`, and `missing`: what a row names and is not there."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as packed:
        book = _Book(packed)
        with archive.one_moment():
            book.add(WORDS, _words().encode())
            for kind in tables():
                book.add_table(kind)
            for name in exports.LISTS:
                book.add(f"lists/{name}.csv", exports.as_csv(exports.cells_of(name)))
            files = list(_files())
        for folder, name, of_row, opened in files:
            book.add_file(folder, name, of_row, opened)
        packed.writestr(MANIFEST, json.dumps({"made_at": timezone.now().isoformat(), "files": book.entries,
                                              "missing": book.missing}, indent=1, ensure_ascii=False))
    return {"rows": book.rows, "files": book.files, "missing": book.missing}


def tables() -> list[type[models.Model]]:
    return [kind for kind in rows.tables() if kind not in OPENS_DOORS]


def columns(kind: type[models.Model]) -> list[Any]:
    """The columns that go along, the number of the row first."""
    plain = [field for field in kind._meta.concrete_fields if field.name not in SECRET_FIELDS]
    many = [field for field in kind._meta.many_to_many if field.name not in SECRET_FIELDS]
    return [*sorted(plain, key=lambda field: not field.primary_key), *many]


def _files() -> Iterator[tuple[str, str, str, Any]]:
    """(folder and name in the ZIP, the row it belongs to, how to open it)."""
    for record in IssuedRecord.objects.filter(status=JobStatus.DONE).select_related("revision__design", "piece"):
        yield "records", record.file_name, f"reports.IssuedRecord {record.pk}", partial(shelf.as_kept, record)
    for copy in SignedCopy.objects.select_related("record__revision__design", "record__piece"):
        name = copy.file_name.removesuffix(".pdf")
        yield "records", f"{name}-{copy.pk}.pdf", f"reports.SignedCopy {copy.pk}", partial(shelf.as_kept, copy)
    for photo in Photo.objects.filter(removed_at=None).select_related("piece__design"):
        name = f"{photo.piece.design.mark}-{photo.piece.serial}-photo-{photo.pk}.jpg"
        yield "photos", name, f"jobs.Photo {photo.pk}", partial(photo.file.open, "rb")
    for attachment in Attachment.objects.select_related("order"):
        name = f"{attachment.order.number}-{attachment.pk}-{attachment.name}"
        yield "attachments", name, f"jobs.Attachment {attachment.pk}", partial(attachment.file.open, "rb")


class _Book:
    """The ZIP being written, and the list of what is in it."""

    def __init__(self, packed: zipfile.ZipFile) -> None:
        self.packed, self.rows, self.files = packed, 0, 0
        self.entries: list[dict[str, Any]] = []
        self.missing: list[dict[str, str]] = []

    def add(self, name: str, data: bytes) -> None:
        self._copy(name, io.BytesIO(data), zipfile.ZIP_DEFLATED)

    def add_table(self, kind: type[models.Model]) -> None:
        name, found = kind._meta.label, columns(kind)
        heads = [field.name for field in found]
        with tempfile.SpooledTemporaryFile(IN_MEMORY) as lines, tempfile.SpooledTemporaryFile(IN_MEMORY) as sheet:
            sheet.write(exports.as_csv([tuple(heads)]))
            for row in kind._default_manager.order_by("pk").iterator(chunk_size=200):
                values = {field.name: _value(field, row) for field in found}
                lines.write(json.dumps(values, default=rows.plain_text, ensure_ascii=False).encode() + b"\n")
                sheet.write(_csv_line(values.values()))
                self.rows += 1
            for ending, data in (("jsonl", lines), ("csv", sheet)):
                data.seek(0)
                self._copy(f"tables/{name}.{ending}", cast(IO[bytes], data), zipfile.ZIP_DEFLATED)

    def add_file(self, folder: str, name: str, of_row: str, opened: Any) -> None:
        """A file of the shop. What cannot be read, or is a record but not the one issued, is listed as missing with the
        reason, and the others still go along.
        """
        name = f"files/{folder}/" + "".join(sign if sign.isalnum() or sign in ".-_ " else "_" for sign in name)
        try:
            source = opened()
        except (OSError, StoreSilent) as exc:
            self.missing.append({"file": name, "row": of_row, "why": type(exc).__name__})
            return
        with source:
            self._copy(name, source, zipfile.ZIP_STORED)
        self.entries[-1]["row"] = of_row
        self.files += 1

    def _copy(self, name: str, source: IO[bytes], how: int) -> None:
        entry = zipfile.ZipInfo(name, timezone.localtime().timetuple()[:6])
        entry.compress_type, entry.external_attr = how, 0o600 << 16
        digest, size = hashlib.sha256(), 0
        with self.packed.open(entry, "w", force_zip64=True) as out:
            while portion := source.read(PORTION):
                digest.update(portion)
                size += len(portion)
                out.write(portion)
        self.entries.append({"file": name, "bytes": size, "sha256": digest.hexdigest()})


def _value(field: Any, row: models.Model) -> Any:
    """A number for a row of another table, a list of them for many, the name of a file, else the value itself."""
    if field.many_to_many:
        return sorted(other.pk for other in field.value_from_object(row))
    value = field.value_from_object(row)
    return value.name if isinstance(field, models.FileField) else value


def _csv_line(values: Iterable[Any]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerow([exports.no_formula(_cell(value)) for value in values])
    return out.getvalue().encode()


def _cell(value: Any) -> Any:
    if isinstance(value, list | dict):
        return json.dumps(value, default=rows.plain_text)
    return value if value is None or isinstance(value, str | int | float) else rows.plain_text(value)


def _words() -> str:
    shop = Shop.objects.filter(pk=1).first() or Shop()
    lines = [
        f"Everything of {shop.name}, as of {timezone.localtime():%Y-%m-%d %H:%M %Z}.",
        "",
        "tables/   each table twice: .jsonl has one JSON object a line, exact; .csv is for a spreadsheet, in UTF-8.",
        "          In .csv a text that a spreadsheet would take for a formula has an apostrophe before it.",
        "lists/    the same for reading: orders, pieces, readings and so on, by the names the shop uses.",
        "files/    records as PDF, under their number, photos, attachments. manifest.json says whose each is.",
        f"{MANIFEST}  size and SHA-256 of everything here, and what is missing; `sha256sum` shows the same.",
        "",
        "Amounts are in inches, pounds, psi and days; the ending of a column's name says which: _in, _lbf, _psi,",
        "_lbf_ft, _days, _f (Fahrenheit). Times are in UTC where they end in +00:00.",
        "A column that points to a row of another table holds that row's id; below, where each points.",
        "",
        "Not in here: passwords, PINs, keys and addresses that open something, the signing key, the log of signing in.",
        "The figures serve a review by a licensed engineer and are none themselves.",
        "",
    ]
    for kind in tables():
        lines.append(f"{kind._meta.label}: {kind._meta.verbose_name_plural}")
        for field in columns(kind):
            other = getattr(field, "related_model", None)
            lines.append(f"    {field.name}" + (f" -> {other._meta.label}.id" if other else ""))
    return "\n".join(lines) + "\n"
