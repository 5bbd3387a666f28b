"""Files that people hang on an order: what they are is told by their content, never by their name.

A PDF, or text in UTF-8, is kept as it came and only ever handed out as a download; a picture is written anew.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from dataclasses import dataclass
from typing import BinaryIO

from jobs.errors import BadEntry
from jobs.models import Attachment
from jobs.photos import MOST_BYTES, read_picture
from jobs.words import say

Kind = Attachment.Kind
MOST_NAME = 120
ENDING = re.compile(r"\.[A-Za-z0-9]{1,5}$")
LONGEST_SIDE = 4_000  # [pixels]: the lettering of a drawing that was photographed is still read
PDF_BEGINS, PDF_ENDS, END_WITHIN = b"%PDF-", b"%%EOF", 2_048  # ISO 32000-1, 7.5.2 and 7.5.5; many end with more
PICTURE_BEGINS = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF")  # of JPEG, PNG, WebP
CONTROLS_OF_TEXT = "\t\n\r\f"
TYPES = {
    Kind.PDF: "application/pdf",
    Kind.PICTURE: "image/jpeg",
    Kind.TABLE: "text/csv; charset=utf-8",
    Kind.TEXT: "text/plain; charset=utf-8",
}


@dataclass(frozen=True)
class Upload:
    """A file that may be kept."""

    name: str
    kind: Attachment.Kind
    data: bytes

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()


def read_upload(file: BinaryIO, *, name: str, size: int | None) -> Upload:
    """The file of an upload; BadEntry (field `file`) where it is too large, empty, or of no kind that is kept here."""
    if size is not None and size > MOST_BYTES:
        raise BadEntry(
            say("The file is larger than {most} MB. Send a smaller one.", most=MOST_BYTES // 2**20), field="file"
        )
    data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise BadEntry(
            say("The file is larger than {most} MB. Send a smaller one.", most=MOST_BYTES // 2**20), field="file"
        )
    if not data.strip():
        raise BadEntry(say("The file is empty. Choose another."), field="file")
    kind = _kind(data, name)
    if kind == Kind.PICTURE:
        file.seek(0)
        data = read_picture(file, size=size, field="file", longest=LONGEST_SIDE).data
    return Upload(plain_name(name, kind), kind, data)


def _kind(data: bytes, name: str) -> Attachment.Kind:
    if data.startswith(PDF_BEGINS) and PDF_ENDS in data[-END_WITHIN:]:
        return Kind.PDF
    if data.startswith(PICTURE_BEGINS):
        return Kind.PICTURE
    if _is_text(data):
        return Kind.TABLE if name.lower().endswith(".csv") else Kind.TEXT
    raise BadEntry(
        say(
            "A file here is a PDF, a picture (JPEG, PNG, WebP), or text or CSV in UTF-8. Save this one as one of them."
        ),
        field="file",
    )


def _is_text(data: bytes) -> bool:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    return not any(unicodedata.category(letter) == "Cc" and letter not in CONTROLS_OF_TEXT for letter in text)


def plain_name(name: str, kind: Attachment.Kind) -> str:
    """A name without folders, without letters that cannot be seen, and with the ending of what the file is."""
    last = name.replace("\\", "/").rpartition("/")[2]
    seen = "".join(letter for letter in last if unicodedata.category(letter)[0] != "C").strip(" .")
    stem, ending = ENDING.sub("", seen), f".{kind.value}"
    return (stem[: MOST_NAME - len(ending)].strip(" .") or "file") + ending
