"""What a person does with records."""

from __future__ import annotations

from uuid import UUID

from engineering.models import JobStatus
from engineering.queries import latest_run
from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.errors import NotNow
from jobs.models import Design, Person, Release, Revision
from reports.models import IssuedRecord, RecordKind
from reports.tasks import build_record


@one_act
def request_record(
    revision: Revision, *, by: Person, site_address: str, request_id: UUID | None = None
) -> IssuedRecord:
    """A record of the revision's newest checks, waiting to be built; the one there is where nothing changed since.

    NotNow where the checks have not finished with the engine that runs now.
    """
    need(by, "specify")
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
    same = IssuedRecord.objects.filter(kind=RecordKind.DESIGN, revision=revision, check_run=run, release=release)
    if there := same.exclude(status=JobStatus.BROKEN).order_by("-pk").first():
        return there
    record = IssuedRecord.objects.create(
        revision=revision,
        check_run=run,
        release=release,
        specification_hash=revision.specification.sha256,
        engine_version=run.engine_version,
        site_address=site_address,
        requested_by=by,
    )
    events.record(
        "record-requested",
        f"{record.number} asked for, of {revision}",
        by=by,
        design=revision.design,
        detail={"record": record.pk, "check_run": run.pk, "revision": revision.number},
        request_id=request_id,
    )
    build_record.delay_on_commit(record.pk)  # type: ignore[attr-defined]  # the app's task class has it
    return record


@one_act
def note_download(record: IssuedRecord, *, by: Person) -> None:
    """The file went to somebody: written down before the first byte goes."""
    need(by, "view")
    events.record(
        "record-downloaded",
        f"{record.number} downloaded",
        by=by,
        design=record.revision.design,
        detail={"record": record.pk, "sha256": record.sha256},
    )
