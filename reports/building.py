"""Building a record's file: the row is claimed, the file set, signed and kept, and the row says so or why not."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from typing import Any

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from engineering.core.contract.canonical import canonical_json
from engineering.models import JobStatus
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.errors import NotNow
from jobs.models import Release, Shop
from reports import shelf
from reports.design_record import build_design_record
from reports.entries import floor_of
from reports.evidence import RESULT, ROWS, SPECIFICATION
from reports.floor_records import build_floor_record, load_test_record, pour_ticket, stressing_record
from reports.form_drawing import build_form_drawing
from reports.handover import build_label, handover_record
from reports.models import IssuedRecord, RecordKind
from reports.opening import Acceptance, RecordFacts, RecordPdf
from reports.signing import EngineerField, sign
from reports.sources import sources_of

LEASE = timedelta(seconds=120)  # above the time limit of a task
ATTEMPTS = 3
BUILDERS: dict[RecordKind, Callable[[RecordFacts], RecordPdf]] = {
    RecordKind.DESIGN: lambda facts: build_design_record(facts),
    RecordKind.FORM: build_form_drawing,
    RecordKind.POUR: partial(build_floor_record, contents=pour_ticket),
    RecordKind.STRESSING: partial(build_floor_record, contents=stressing_record),
    RecordKind.LOAD_TEST: partial(build_floor_record, contents=load_test_record),
    RecordKind.HANDOVER: partial(build_floor_record, contents=handover_record),
    RecordKind.LABEL: build_label,
}
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
    unsigned = BUILDERS[RecordKind(record.kind)](facts)
    field = None if unsigned.field_page is None else EngineerField(unsigned.field_page, unsigned.field_box)
    signed = sign(
        unsigned.data,
        shop=facts.shop,
        reason=f"{facts.kind} {record.number}",
        engineer_field=field,
        evidence=_evidence(facts),
    )
    name, digest = shelf.keep(signed)
    if _finish(record, file=name, sha256=digest, size=len(signed)):
        return True
    shelf.drop(name)  # no two signatures are the same, so no other row names this file
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
            piece=record.piece,
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


def _evidence(facts: RecordFacts) -> dict[str, bytes]:
    return {
        SPECIFICATION: canonical_json(facts.document),
        RESULT: canonical_json(facts.result),
        ROWS: json.dumps(list(facts.sources), indent=1).encode(),
    }


def facts_of(record: IssuedRecord) -> RecordFacts:
    """Everything the file says, from the rows the record names. NotNow where one of them is not what it was."""
    revision, shop = record.revision, Shop.objects.filter(pk=1).first() or Shop()
    order = revision.design.order
    result = record.check_run.result
    if result is None:
        raise NotNow(f"The checks behind {record.number} have no result.")
    floor = floor_of(record.piece, record.kind) if record.piece else None
    sources = sources_of(revision, record.check_run, floor.rows if floor else ())
    if record.sources and sources != record.sources:
        raise NotNow(f"What {record.number} was to tell of has changed since it was asked for. Ask for it again.")
    return RecordFacts(
        number=record.number,
        kind=record.get_kind_display(),
        piece=str(record.piece) if record.piece else "",
        floor=floor,
        sources=tuple(sources),
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
