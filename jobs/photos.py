"""Pictures that tablets send: read, turned upright, made no larger than needed, and written anew.

Writing anew drops whatever else was in the file: places and names of the camera, and anything that is no picture.
"""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass
from typing import BinaryIO

from PIL import Image, ImageOps, UnidentifiedImageError

from jobs.errors import BadEntry
from jobs.words import say

MOST_BYTES = 15 * 1024 * 1024
MOST_PIXELS = 60_000_000
LONGEST_SIDE = 2_000
KINDS = ("JPEG", "PNG", "WEBP")


@dataclass(frozen=True)
class Picture:
    """A JPEG, ready to be kept."""

    data: bytes
    width: int
    height: int

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()


def read_picture(file: BinaryIO, *, size: int | None, field: str = "photo", longest: int = LONGEST_SIDE) -> Picture:
    """The picture in an upload, its longest side at most `longest` pixels; BadEntry at `field` where it is none, or too
    large.
    """
    if size is not None and size > MOST_BYTES:
        raise BadEntry(
            say("The photo is larger than {most} MB. Take it smaller.", most=MOST_BYTES // 2**20), field=field
        )
    try:
        with Image.open(file, formats=KINDS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise BadEntry(say("The photo has more pixels than can be kept. Take it smaller."), field=field)
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as exc:
        raise BadEntry(say("That file is not a photo this book can read. Send a JPEG or PNG."), field=field) from exc
    upright.thumbnail((longest, longest))
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=85)
    return Picture(out.getvalue(), upright.width, upright.height)
