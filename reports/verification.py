"""What a given PDF is: bytes in, separate facts out. No fact stands for another, and none is called a verdict.

The bytes come from strangers. They are looked at before they are parsed: size, kind, and how much they unpack to.
"""

import hashlib
import io
import logging
import re
import zlib
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.diff_analysis import ModificationLevel
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature
from pyhanko.sign.validation.status import PdfSignatureStatus, SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext

from engineering.models import JobStatus
from reports import standing
from reports.models import IssuedRecord, SignedCopy
from reports.signing import SHOP_FIELD, shop_certificates

log = logging.getLogger(__name__)
LARGEST = 5 * 1024 * 1024  # of an uploaded file [bytes]; a record is a tenth of that
LARGEST_UNPACKED = 40 * 1024 * 1024
MOST_STREAMS = 5_000
MOST_SIGNATURES = 8
NO_TIME = "no time is known"
PORTION = 64 * 1024  # [bytes]
STREAM = re.compile(rb"stream\r?\n")
PACKED_TWICE = re.compile(rb"/(Flate|LZW|RunLength)Decode\s*/(Flate|LZW|RunLength)Decode")
PERMITTED = (ModificationLevel.NONE, ModificationLevel.LTA_UPDATES, ModificationLevel.FORM_FILLING)


class NotReadable(Exception):
    """The file could not be looked at, and the message says why, for the page."""


@dataclass(frozen=True)
class PdfFacts:
    """Separate facts about one file. Where there is no signature of a shop in it, the first four are False."""

    carries_a_shop_signature: bool  # there is a signature in the field of that name, whoever made it
    bytes_intact: bool  # the signed bytes are as they were signed
    covers_whole_file: bool  # nothing was appended after the shop's signature
    only_permitted_changes: bool  # what was appended, if anything, only fills in the fields left for it
    signed_by_the_shop: bool  # a certificate of this shop, valid at the time the signature states
    signed_at: datetime | None  # as the signature itself states
    time_known_by: str  # how that time is known, in words
    other_signatures: int  # by others, after the shop's; who they are is not judged here
    others_intact: bool  # those too are as they were signed
    is_the_one_on_record: bool  # its SHA-256 is that of a record of this shop
    begins_with_one_on_record: bool  # the record's own bytes are there, whole, with something appended
    number: str | None  # of that record
    superseded_by: str | None  # what replaced that record, in words
    kept_signed_copy: bool = False  # it is, byte for byte, a copy an engineer signed and the shop keeps


def read_facts(data: bytes) -> PdfFacts:
    """Raises NotReadable with words for the page; never anything else for bytes of any kind."""
    look_before_parsing(data)
    on_record, exactly = _on_record(data)
    shop, others = _signatures(data)
    return PdfFacts(
        **_facts_of(shop),
        other_signatures=len(others),
        others_intact=all(other.intact and other.valid for other in others),
        is_the_one_on_record=exactly,
        begins_with_one_on_record=on_record is not None,
        number=on_record.number if on_record else None,
        superseded_by=standing.superseded_by(on_record) if on_record else None,
        kept_signed_copy=SignedCopy.objects.filter(sha256=hashlib.sha256(data).hexdigest()).exists(),
    )


def _facts_of(shop: PdfSignatureStatus | None) -> dict[str, Any]:
    """Those of the shop's signature. What was appended, or who signed, says nothing of bytes that were changed."""
    if shop is None:
        names = ("carries_a_shop_signature", "bytes_intact", "covers_whole_file", "only_permitted_changes")
        return {**dict.fromkeys((*names, "signed_by_the_shop"), False), "signed_at": None, "time_known_by": NO_TIME}
    intact = bool(shop.intact and shop.valid)
    return {
        "carries_a_shop_signature": True,
        "bytes_intact": intact,
        "covers_whole_file": intact and shop.coverage == SignatureCoverageLevel.ENTIRE_FILE,
        "only_permitted_changes": intact and shop.modification_level in PERMITTED and shop.docmdp_ok is not False,
        "signed_by_the_shop": intact and bool(shop.trusted),
        "signed_at": shop.signer_reported_dt,
        "time_known_by": _time_known_by(shop),
    }


def _time_known_by(shop: PdfSignatureStatus) -> str:
    """A timestamp counts as far as it is itself intact; whether its maker is to be trusted is not judged here."""
    stamp = shop.timestamp_validity
    if stamp is None:
        return "by the clock of the machine that signed, and nothing else"
    if not (stamp.intact and stamp.valid):
        return "by a timestamp that does NOT fit the signature"
    maker = stamp.signing_cert.subject.human_friendly
    return f"by a timestamp of {maker}, {stamp.timestamp:%Y-%m-%d %H:%M %Z}; whether that one is to be trusted is yours"


def look_before_parsing(data: bytes) -> None:
    """Refuse what is too large, is no PDF, or unpacks to more than a record ever could."""
    if not data:
        raise NotReadable("The file is empty.")
    if len(data) > LARGEST:
        raise NotReadable(
            f"The file is larger than {LARGEST // 2**20} MB. Our records are far smaller, so this is none of them."
        )
    if b"%PDF-" not in data[:1024]:
        raise NotReadable("This is not a PDF. Choose the PDF file of the record itself, not a photo or a scan of it.")
    if PACKED_TWICE.search(data):
        raise NotReadable("This PDF is packed in a way that our records never are, so it was not opened.")
    unpacked = 0
    for count, match in enumerate(STREAM.finditer(data)):
        unpacked += _unpacked_size(data, match.end(), LARGEST_UNPACKED - unpacked + 1)
        if unpacked > LARGEST_UNPACKED or count > MOST_STREAMS:
            raise NotReadable("This PDF unpacks to far more than a record of ours, so it was not opened.")


def _unpacked_size(data: bytes, start: int, most: int) -> int:
    """Size of what is packed from `start` on, not looking further than `most`; nothing is copied whole."""
    unpacker, size, view = zlib.decompressobj(), 0, memoryview(data)
    try:
        for at in range(start, len(data), PORTION):
            size += len(unpacker.decompress(view[at : at + PORTION], most - size))
            if unpacker.eof or size >= most:
                break
    except zlib.error:
        pass
    return size


def _on_record(data: bytes) -> tuple[IssuedRecord | None, bool]:
    """The record whose bytes these are, or begin with; and whether there is nothing after them."""
    issued = IssuedRecord.objects.filter(status=JobStatus.DONE)
    exact = issued.filter(sha256=hashlib.sha256(data).hexdigest()).select_related("revision__design").first()
    if exact:
        return exact, True
    # An update appended to a PDF starts after the end-of-file mark of what it updates.
    for end in [m.end() for m in re.finditer(rb"%%EOF\r?\n?", data)][-2 * MOST_SIGNATURES :]:
        digest = hashlib.sha256(data[:end]).hexdigest()
        record = issued.filter(sha256=digest).select_related("revision__design").first()
        if record:
            return record, False
    return None, False


def _signatures(data: bytes) -> tuple[PdfSignatureStatus | None, list[PdfSignatureStatus]]:
    """The status of the shop's signature, and of those others made later."""
    try:
        reader = PdfFileReader(io.BytesIO(data), strict=False)
        if reader.encrypted:
            raise NotReadable("This PDF is locked with a password. Our records never are.")
        found = list(reader.embedded_regular_signatures)
        if len(found) > MOST_SIGNATURES:
            raise NotReadable("This PDF carries more signatures than can be looked at here.")
        statuses = [(signature.field_name, status_of(signature)) for signature in found]
    except NotReadable:
        raise
    except RecursionError as exc:
        raise NotReadable("This PDF is built in circles and was not read further.") from exc
    except Exception as exc:  # bytes from strangers: the parser may fail in any way, and the page must still answer
        log.info("A PDF given for verification could not be parsed: %s: %s", type(exc).__name__, exc)
        raise NotReadable("This PDF is damaged: it could not be read to its end.") from exc
    shop = [status for name, status in statuses if name == SHOP_FIELD]
    return (shop[0] if len(shop) == 1 else None), [status for name, status in statuses if name != SHOP_FIELD]


def status_of(signature: EmbeddedPdfSignature) -> PdfSignatureStatus:
    """Only this shop's certificates are trusted, and nothing is fetched from anywhere."""
    stated = signature.self_reported_timestamp
    context = ValidationContext(trust_roots=shop_certificates(), allow_fetching=False, moment=stated)
    return validate_pdf_signature(signature, context)
