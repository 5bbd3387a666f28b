"""What a person does with records."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from engineering.models import CheckRun, JobStatus
from engineering.queries import latest_run
from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.errors import NotNow
from jobs.models import Design, Person, Piece, Release, Revision
from reports.entries import Floor, floor_of
from reports.models import IssuedRecord, RecordKind, SignedCopy
from reports.sources import sources_of
from reports.tasks import build_record

PERMISSION = {
    RecordKind.DESIGN: "specify",
    RecordKind.FORM: "specify",
    RecordKind.POUR: "produce",
    RecordKind.STRESSING: "produce",
    RecordKind.LOAD_TEST: "produce",
    RecordKind.HANDOVER: "order",
    RecordKind.LABEL: "produce",
}


@one_act
def request_record(
    revision: Revision,
    *,
    by: Person,
    site_address: str,
    kind: RecordKind = RecordKind.DESIGN,
    request_id: UUID | None = None,
) -> IssuedRecord:
    """A record of the revision's newest checks, waiting to be built; the one there is where nothing changed since.

    NotNow where the checks have not finished with the engine that runs now.
    """
    need(by, PERMISSION[kind])
    if event := events.seen(request_id, "record-requested", by, design=revision.design):
        return IssuedRecord.objects.get(pk=event.detail["record"])
    Design.objects.select_for_update().get(pk=revision.design_id)
    run = latest_run(revision.specification)
    if run is None or not run.is_current:
        raise NotNow(
            f"The checks of {revision} have not finished with the present engine, so there is nothing to record yet. "
            "Wait for them, or run them again."
        )
    release = Release.objects.filter(revision=revision).first()
    sources = sources_of(revision, run, ())
    return _asked(
        revision, run, release, kind=kind, piece=None, sources=sources, by=by, site=site_address, tap=request_id
    )


@one_act
def request_piece_record(
    piece: Piece, kind: RecordKind, *, by: Person, site_address: str, request_id: UUID | None = None
) -> IssuedRecord:
    """A record of what was done to one piece so far; the one there is where nothing was written down since.

    It tells of the checks the piece's revision was released on. NotNow where there is nothing of that kind to tell.
    """
    need(by, PERMISSION[kind])
    if event := events.seen(request_id, "record-requested", by, piece=piece):
        return IssuedRecord.objects.get(pk=event.detail["record"])
    Design.objects.select_for_update().get(pk=piece.design_id)
    piece = Piece.objects.select_related("design__order", "revision__specification", "pour").get(pk=piece.pk)
    release = Release.objects.filter(revision=piece.revision).select_related("check_run").first()
    if piece.revision is None or release is None:
        raise NotNow(f"{piece} is not bound to a released revision yet, so there is nothing to record.")
    floor = floor_of(piece, kind)
    if missing := _missing(kind, floor):
        raise NotNow(f"{missing} of {piece}, so there is nothing to record yet.")
    run = release.check_run
    sources = sources_of(piece.revision, run, floor.rows)
    return _asked(
        piece.revision, run, release, kind=kind, piece=piece, sources=sources, by=by, site=site_address, tap=request_id
    )


def _missing(kind: RecordKind, floor: Floor) -> str:
    if kind == RecordKind.STRESSING and not any(one.finished for one in floor.rounds):
        return "No stressing is finished"
    if kind == RecordKind.LOAD_TEST and not floor.load_tests:
        return "No load test is written down"
    if kind == RecordKind.HANDOVER and floor.pour is None:
        return "No pour is written down"
    return ""


def _asked(
    revision: Revision,
    run: CheckRun,
    release: Release | None,
    *,
    kind: RecordKind,
    piece: Piece | None,
    sources: list[dict[str, Any]],
    by: Person,
    site: str,
    tap: UUID | None,
) -> IssuedRecord:
    same = IssuedRecord.objects.filter(kind=kind, revision=revision, piece=piece, check_run=run, release=release)
    for there in same.exclude(status=JobStatus.BROKEN).order_by("-pk")[:1]:
        if piece is None or there.sources == sources:
            return there
    record = IssuedRecord.objects.create(
        kind=kind,
        revision=revision,
        piece=piece,
        sources=sources,
        check_run=run,
        release=release,
        specification_hash=revision.specification.sha256,
        engine_version=run.engine_version,
        site_address=site,
        requested_by=by,
    )
    events.record(
        "record-requested",
        f"{record.number} asked for, of {piece or revision}",
        by=by,
        design=revision.design,
        piece=piece,
        detail={"record": record.pk, "kind": kind, "check_run": run.pk, "revision": revision.number},
        request_id=tap,
    )
    build_record.delay_on_commit(record.pk)  # type: ignore[attr-defined]  # the app's task class has it
    return record


@one_act
def note_download(record: IssuedRecord, *, by: Person, copy: SignedCopy | None = None) -> None:
    """The file went to somebody: written down before the first byte goes."""
    need(by, "view")
    events.record(
        "record-downloaded",
        f"{record.number} downloaded" + (", signed copy" if copy else ""),
        by=by,
        design=record.revision.design,
        piece=record.piece,
        detail={"record": record.pk, "sha256": copy.sha256 if copy else record.sha256},
    )


@one_act
def note_drawing_taken(revision: Revision, *, by: Person, turned: bool) -> None:
    """A drawing file went to somebody who may cut by it."""
    need(by, "view")
    events.record(
        "drawing-taken",
        f"Drawing file of {revision} taken" + (", turned over" if turned else ""),
        by=by,
        design=revision.design,
        detail={"revision": revision.number, "turned": turned, "sha256": revision.specification.sha256},
    )
