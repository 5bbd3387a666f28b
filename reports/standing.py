"""Whether a record still stands. Read from the rows each time: no mark is set on the record that could be forgotten."""

from __future__ import annotations

from engineering.models import JobStatus
from jobs.models import Release
from reports.models import IssuedRecord


def superseded_by(record: IssuedRecord) -> str | None:
    """What replaced the record, in words: a later released revision of the design, or a later record of the same thing.

    A record of one piece tells of what was done to it; a later revision of the drawing does not undo that.
    """
    if record.piece_id is None and (later := _later_release(record)):
        newest = _newest_like(record, revision=later.revision_id)
        return f"revision {later.revision.letter}" + (f", record {newest.number}" if newest else "")
    newer = _newest_like(record, revision=record.revision_id)
    if newer is not None and newer.pk > record.pk:
        return f"record {newer.number} of the same {'piece' if record.piece_id else 'revision'}"
    return None


def _later_release(record: IssuedRecord) -> Release | None:
    later = Release.objects.filter(
        revision__design=record.revision.design_id, revision__number__gt=record.revision.number
    )
    return later.select_related("revision__design").order_by("-revision__number").first()


def _newest_like(record: IssuedRecord, *, revision: int) -> IssuedRecord | None:
    """The newest finished record of the same kind: of the piece where it is of a piece, else of that revision."""
    alike = IssuedRecord.objects.filter(kind=record.kind, status=JobStatus.DONE)
    alike = alike.filter(piece=record.piece_id) if record.piece_id else alike.filter(revision=revision)
    return alike.order_by("-pk").first()
