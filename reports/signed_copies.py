"""A design record that comes back with an engineer's signature: looked at, kept, and where gates allow, the release.

What is checked: the record's own bytes are its unchanged beginning, the shop's signature stands, only the field left
for the engineer was filled, that signature is whole and covers the file, and it was not made with a key of the shop.
Whose certificate it is, is written down and shown; whether that person is licensed is for people to judge.
"""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation.status import SignatureCoverageLevel

from jobs.access import need
from jobs.actions import designs, events
from jobs.actions.transactions import one_act
from jobs.errors import BadEntry, ShopError
from jobs.models import Design, Person, Release, Role
from reports import shelf
from reports.models import IssuedRecord, SignedCopy
from reports.signing import ENGINEER_FIELD, shop_certificates
from reports.verification import NotReadable, read_facts, status_of


@dataclass(frozen=True)
class EngineersSignature:
    """Of whom the certificate says it is, and when the signature says it was made."""

    signer: str
    issuer: str
    certificate: str
    signed_at: datetime | None


def read_signature(record: IssuedRecord, data: bytes) -> EngineersSignature:
    """BadEntry with words for the page where the file is not the record with an engineer's whole signature added."""
    try:
        facts = read_facts(data)
    except NotReadable as exc:
        raise BadEntry(str(exc), field="file") from exc
    same = len(data) > record.size and hashlib.sha256(data[: record.size]).hexdigest() == record.sha256
    faults = (
        (not same, f"This is not {record.number} with something added. Sign the file as it was downloaded."),
        (not facts.bytes_intact or not facts.signed_by_the_shop, "The shop's signature in this file does not stand."),
        (not facts.only_permitted_changes, "More was changed in this file than the field left for the engineer."),
        (facts.other_signatures != 1, "This file carries no engineer's signature, or more than one."),
        (not facts.others_intact, "The engineer's signature in this file does not fit it."),
    )
    for wrong, words in faults:
        if wrong:
            raise BadEntry(words, field="file")
    return _signature(data)


def _signature(data: bytes) -> EngineersSignature:
    reader = PdfFileReader(io.BytesIO(data), strict=False)
    found = [s for s in reader.embedded_regular_signatures if s.field_name == ENGINEER_FIELD]
    if len(found) != 1:
        raise BadEntry("The signature does not stand in the field left for the engineer.", field="file")
    status = status_of(found[0])
    if status.coverage != SignatureCoverageLevel.ENTIRE_FILE:
        raise BadEntry("Something was added to this file after the engineer signed it.", field="file")
    certificate = status.signing_cert
    if certificate.sha256 in {own.sha256 for own in shop_certificates()}:
        raise BadEntry("This was signed with the shop's own key. An engineer signs with their own.", field="file")
    return EngineersSignature(
        certificate.subject.human_friendly[:300],
        certificate.issuer.human_friendly[:300],
        certificate.sha256.hex(),
        status.signer_reported_dt,
    )


def take_back(
    record: IssuedRecord, data: bytes, *, by: Person, request_id: UUID | None = None
) -> tuple[SignedCopy, Release | None, ShopError | None]:
    """Keep the copy; where an engineer brings it, release the revision on it. The copy is kept even where gates forbid.

    Returns the copy, the release it became (or None) and why it became none (or None).
    """
    need(by, "release")
    copy = keep_signed_copy(record, data, read_signature(record, data), by=by, request_id=request_id)
    if by.role != Role.ENGINEER or Release.objects.filter(revision=record.revision).exists():
        return copy, None, None
    if record.specification_hash != record.revision.specification.sha256:
        return copy, None, None
    note = f"By the signature in {record.number}: {copy.signer}, certificate {copy.certificate}."
    try:
        return copy, designs.release(record.revision, by=by, note=note, signed_copy=copy.sha256), None
    except ShopError as refused:
        return copy, None, refused


@one_act
def keep_signed_copy(
    record: IssuedRecord, data: bytes, signature: EngineersSignature, *, by: Person, request_id: UUID | None = None
) -> SignedCopy:
    """The row and the file; the one there is where the same file comes twice."""
    need(by, "release")
    design = record.revision.design
    Design.objects.select_for_update().get(pk=design.pk)
    digest = hashlib.sha256(data).hexdigest()
    if there := SignedCopy.objects.filter(sha256=digest).first():
        return there
    name, _ = shelf.keep(data)
    copy = SignedCopy.objects.create(
        record=record,
        file=name,
        sha256=digest,
        size=len(data),
        signer=signature.signer,
        issuer=signature.issuer,
        certificate=signature.certificate,
        signed_at=signature.signed_at,
        uploaded_by=by,
    )
    events.record(
        "signed-copy-kept",
        f"{record.number} came back signed with the certificate of {signature.signer}",
        by=by,
        design=design,
        detail={
            "record": record.pk,
            "sha256": digest,
            "certificate": signature.certificate,
            "signer": signature.signer,
        },
        request_id=request_id,
    )
    return copy
