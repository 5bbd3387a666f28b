"""Who works on a job's row, and until when. The row is the job: waiting → running → done or broken.

A worker claims a row by a filtered update that writes its own token and a lease. It may write a result only while the
row still carries that token, so a worker that was thought dead cannot land a late result. What outlives its lease goes
back to waiting; after `ATTEMPTS` tries it is broken, with a plain reason.
"""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun, JobStatus

LEASE = timedelta(seconds=120)  # above the time limit of a task (CELERY_TASK_TIME_LIMIT, 90 s)
ATTEMPTS = 3
LOST = (
    f"The worker stopped {ATTEMPTS} times before these checks were finished. Run them again; if that happens "
    f"once more, tell whoever looks after the site."
)
OTHER_ENGINE = "The engine was updated while these checks waited. Run them again with the new one."


def claim(run_id: int) -> CheckRun | None:
    """Take the row if it waits and is for this engine; None where another delivery has it, or it is finished."""
    token, now = str(uuid.uuid4()), timezone.now()
    waiting = CheckRun.objects.filter(pk=run_id, status=JobStatus.WAITING, engine_version=ENGINE_VERSION)
    run = waiting.values("attempts").first()
    if run is None:
        return None
    mine = waiting.filter(attempts=run["attempts"]).update(
        status=JobStatus.RUNNING, claim=token, claimed_at=now, lease_until=now + LEASE, attempts=run["attempts"] + 1
    )
    return CheckRun.objects.select_related("specification").get(pk=run_id, claim=token) if mine else None


def finish(run: CheckRun, result: dict[str, Any]) -> bool:
    """Write the whole result to the claimed row. False where the claim was lost meanwhile: nothing is written.

    Raises, with the row as it was, for a result the table does not take: no verdict, or a number that is not finite.
    """
    return _land(run, status=JobStatus.DONE, verdict=result["verdict"], result=result, problem="")


def break_off(run: CheckRun, problem: str) -> bool:
    """Say why there is no result. False where the claim was lost meanwhile."""
    return _land(run, status=JobStatus.BROKEN, verdict="", result=None, problem=problem)


def _land(run: CheckRun, **fields: Any) -> bool:
    mine = CheckRun.objects.filter(pk=run.pk, status=JobStatus.RUNNING, claim=run.claim)
    with transaction.atomic():
        return bool(mine.update(finished_at=timezone.now(), lease_until=None, **fields))


def put_back() -> None:
    """Give up the leases that ran out, and what waits for an engine that is no longer this one."""
    now = timezone.now()
    dead = CheckRun.objects.filter(status=JobStatus.RUNNING).filter(
        Q(lease_until__lt=now) | Q(lease_until__isnull=True)
    )
    dead.filter(attempts__gte=ATTEMPTS).update(
        status=JobStatus.BROKEN, problem=LOST, claim="", lease_until=None, finished_at=now
    )
    dead.filter(attempts__lt=ATTEMPTS).update(status=JobStatus.WAITING, claim="", lease_until=None)
    stranded = CheckRun.objects.filter(status=JobStatus.WAITING).exclude(engine_version=ENGINE_VERSION)
    stranded.update(status=JobStatus.BROKEN, problem=OTHER_ENGINE, finished_at=now)


def waiting_ids() -> list[int]:
    return list(CheckRun.objects.filter(status=JobStatus.WAITING).order_by("pk").values_list("pk", flat=True))
