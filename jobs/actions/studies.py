"""Studies of a revision: asked for, and stopped. The work is the workers' (`engineering.study_tasks`)."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from engineering.models import JobStatus, Study
from engineering.study_actions import StudyRefused, start_study, stop_study
from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.errors import BadEntry, NotNow
from jobs.models import Person, Revision

UNDER_WAY = (JobStatus.WAITING, JobStatus.RUNNING)


@one_act
def start(
    revision: Revision,
    *,
    by: Person,
    kind: str,
    settings: dict[str, Any] | None = None,
    request_id: UUID | None = None,
) -> Study:
    """A study that waits for its workers. The one under way is answered where the same was asked for already."""
    need(by, "specify")
    if event := events.seen(request_id, "study-started", by, design=revision.design):
        return Study.objects.get(pk=event.detail["study"])
    try:
        study = start_study(revision.specification, kind, settings)
    except StudyRefused as refusal:
        raise BadEntry(f"{refusal}"[:1].upper() + f"{refusal}"[1:].rstrip(".") + ".", field="settings") from refusal
    events.record(
        "study-started",
        f"Study “{study.kind}” of {revision} asked for",
        by=by,
        design=revision.design,
        detail={"study": study.pk, "kind": study.kind, "revision": revision.number, "engine": study.engine_version},
        request_id=request_id,
    )
    return study


@one_act
def stop(study: Study, *, by: Person, request_id: UUID | None = None) -> Study:
    """Wish it to stop: what waits ends at once, what is being worked within about a second."""
    need(by, "specify")
    revision = Revision.objects.select_related("design__order").get(specification=study.specification_id)
    if not events.seen(request_id, "study-stopped", by, design=revision.design):
        if study.status not in UNDER_WAY:
            raise NotNow("This study has ended already; there is nothing to stop.")
        stop_study(study)
        events.record(
            "study-stopped",
            f"Study “{study.kind}” of {revision} stopped",
            by=by,
            design=revision.design,
            detail={"study": study.pk, "kind": study.kind, "revision": revision.number},
            request_id=request_id,
        )
    study.refresh_from_db()
    return study
