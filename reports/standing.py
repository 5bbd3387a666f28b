"""Whether a record still stands. Read from the rows each time: no mark is set on the record that could be forgotten."""

from __future__ import annotations

from engineering.models import JobStatus
from jobs.models import Release
from reports.models import IssuedRecord


def superseded_by(record: IssuedRecord) -> str | None:
    """What replaced the record, in words: a later released revision of the design, or a later record of this one."""
    design = record.revision.design_id
    later = (
        Release.objects.filter(revision__design=design, revision__number__gt=record.revision.number)
        .select_related("revision__design")
        .order_by("-revision__number")
        .first()
    )
    if later is not None:
        newest = _newest_record(later.revision_id)
        return f"revision {later.revision.letter}" + (f", record {newest.number}" if newest else "")
    newer = _newest_record(record.revision_id)
    if newer is not None and newer.pk > record.pk:
        return f"record {newer.number} of the same revision"
    return None


def _newest_record(revision_id: int) -> IssuedRecord | None:
    return IssuedRecord.objects.filter(revision=revision_id, status=JobStatus.DONE).order_by("-pk").first()
