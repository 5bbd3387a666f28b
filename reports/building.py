"""Building a record's file: the row is claimed, the file set, signed and kept, and the row says so or why not."""

from __future__ import annotations

import hashlib
import os
import secrets
import uuid
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from engineering.models import JobStatus
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.errors import NotNow
from jobs.models import Release, Shop
from reports.design_record import Acceptance, RecordFacts, build_design_record
from reports.models import IssuedRecord, new_file_name, records_folder
from reports.signing import EngineerField, sign

LEASE = timedelta(seconds=120)  # above the time limit of a task
ATTEMPTS = 3
LOST = (
    f"The worker stopped {ATTEMPTS} times before this record was finished. Ask for it again; if that happens once "
    "more, tell whoever looks after the site."
)


def claim(record_id: int) -> IssuedRecord | None:
    """Take the row if it waits; None where another delivery has it, or it is finished."""
    token, now = str(uuid.uuid4()), timezone.now()
    waiting = IssuedRecord.objects.filter(pk=record_id, status=JobStatus.WAITING)
    row = waiting.values("attempts").first()
    if row is None:
        return None
    mine = waiting.filter(attempts=row["attempts"]).update(
        status=JobStatus.RUNNING, claim=token, claimed_at=now, lease_until=now + LEASE, attempts=row["attempts"] + 1
    )
    return IssuedRecord.objects.get(pk=record_id, claim=token) if mine else None


def build(record: IssuedRecord) -> bool:
    """Set, sign and keep the file of a claimed record. False where the claim was lost: the file is taken away again."""
    facts = facts_of(record)
    unsigned = build_design_record(facts)
    signed = sign(
        unsigned.data,
        shop=facts.shop,
        reason=f"Design record {record.number}",
        engineer_field=EngineerField(unsigned.field_page, unsigned.field_box),
    )
    file = records_folder() / new_file_name()
    _keep(file, signed)
    if _finish(record, file=file.name, sha256=hashlib.sha256(signed).hexdigest(), size=len(signed)):
        return True
    file.unlink(missing_ok=True)
    return False


@one_act
def _finish(record: IssuedRecord, **made: Any) -> bool:
    mine = IssuedRecord.objects.filter(pk=record.pk, status=JobStatus.RUNNING, claim=record.claim)
    landed = mine.update(status=JobStatus.DONE, finished_at=timezone.now(), lease_until=None, problem="", **made)
    if landed:
        events.record(
            "record-issued",
            f"{record.number} signed and issued, of {record.revision}",
            by=record.requested_by,
            design=record.revision.design,
            detail={"record": record.pk, "sha256": made["sha256"]},
        )
    return bool(landed)


def break_off(record: IssuedRecord, problem: str) -> bool:
    """Say why there is no file. False where the claim was lost meanwhile."""
    mine = IssuedRecord.objects.filter(pk=record.pk, status=JobStatus.RUNNING, claim=record.claim)
    return bool(mine.update(status=JobStatus.BROKEN, problem=problem, finished_at=timezone.now(), lease_until=None))


def put_back() -> None:
    """Give up the leases that ran out."""
    dead = IssuedRecord.objects.filter(status=JobStatus.RUNNING).filter(
        Q(lease_until__lt=timezone.now()) | Q(lease_until__isnull=True)
    )
    dead.filter(attempts__gte=ATTEMPTS).update(
        status=JobStatus.BROKEN, problem=LOST, claim="", lease_until=None, finished_at=timezone.now()
    )
    dead.filter(attempts__lt=ATTEMPTS).update(status=JobStatus.WAITING, claim="", lease_until=None)


def facts_of(record: IssuedRecord) -> RecordFacts:
    """Everything the file says, from the rows the record names."""
    revision, shop = record.revision, Shop.objects.filter(pk=1).first() or Shop()
    order = revision.design.order
    result = record.check_run.result
    if result is None:
        raise NotNow(f"The checks behind {record.number} have no result.")
    return RecordFacts(
        number=record.number,
        shop=shop.name,
        shop_address=" · ".join(part for part in (shop.address, shop.contact) if part),
        revision=revision.letter,
        revision_note=revision.note,
        order=f"{order.number} {order.client}",
        site=order.site,
        issued=timezone.localtime(record.created_at),
        issued_by=record.requested_by.display_name,
        check_run=record.check_run_id,
        document=revision.specification.document,
        result=result,
        verify_address=record.site_address + reverse("verify_record", args=[record.number]),
        acceptance=_acceptance(record.release),
        paper=shop.document_size,
    )


def _acceptance(release: Release | None) -> Acceptance | None:
    if release is None:
        return None
    return Acceptance(
        name=release.accepted_by.display_name,
        role=release.accepted_as,
        licence=release.licence_number,
        jurisdiction=release.jurisdiction,
        verdict=release.verdict,
        on=timezone.localtime(release.accepted_at).strftime("%Y-%m-%d"),
    )


def _keep(file: Path, data: bytes) -> None:
    """The whole file or none of it, readable by its owner only."""
    fresh = file.with_name(f".{file.name}.{secrets.token_hex(4)}")
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        fresh.replace(file)
    finally:
        fresh.unlink(missing_ok=True)
