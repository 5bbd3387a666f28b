"""Who works on a job's row, and until when. The row is the job: waiting → running → done or broken.

A worker claims a row by a filtered update that writes its own token and a lease. It may write a result only while the
row still carries that token, so a worker that was thought dead cannot land a late result. The lease is short and the
worker renews it while it lives (`held`), so a dead worker's row is free again within `LEASE`, however long the job
itself takes. What outlives its lease goes back to waiting; after `ATTEMPTS` tries it is broken, with a plain reason.

Leases are written and read by the database's clock alone: workers whose own clocks differ agree on them.
"""

from __future__ import annotations

import logging
import threading
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

from django.apps import apps
from django.db import DatabaseError, connection, models, transaction
from django.db.models import F, Q, QuerySet
from django.db.models.functions import Now
from django.utils import timezone

from engineering import job_log
from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun, JobStatus

LEASE = timedelta(seconds=15)
RENEW_EVERY_S = 4.0  # three renewals may fail before a lease runs out
LONGEST_S = 120.0  # above the time limit of a task (CELERY_TASK_TIME_LIMIT): a job that hangs for good is let go
ATTEMPTS = 3
AT_ONCE = 200  # waiting rows a sweep sends again: what is sent twice costs a look, so a long queue stays a queue
FIELDS = {"status", "attempts", "problem", "claim", "claimed_at", "lease_until", "finished_at"}
LOST = (
    f"The worker stopped {ATTEMPTS} times before these checks were finished. Run them again; if that happens "
    f"once more, tell whoever looks after the site."
)
OTHER_ENGINE = "The engine was updated while these checks waited. Run them again with the new one."
log = logging.getLogger(__name__)


def claim(run_id: int) -> CheckRun | None:
    """Take the row if it waits and is for this engine; None where another delivery has it, or it is finished."""
    token = take(CheckRun.objects.filter(pk=run_id, engine_version=ENGINE_VERSION))
    return CheckRun.objects.select_related("specification").get(pk=run_id, claim=token) if token else None


def take(rows: QuerySet[Any]) -> str | None:
    """Claim the one row of any table of jobs (`FIELDS`), if it waits. The claim's token, or None."""
    token, waiting = str(uuid.uuid4()), rows.filter(status=JobStatus.WAITING)
    row = waiting.values("attempts").first()
    if row is None:
        return None
    mine = waiting.filter(attempts=row["attempts"]).update(
        status=JobStatus.RUNNING,
        claim=token,
        claimed_at=timezone.now(),
        lease_until=Now() + LEASE,
        attempts=row["attempts"] + 1,
    )
    return token if mine else None


@contextmanager
def held(row: Any, *, longest_s: float = LONGEST_S) -> Iterator[None]:
    """Keep the claim on a job's row while the block runs and this process lives, for `longest_s` at most.

    A thread renews the lease; it needs the interpreter only for moments, so a busy engine does not starve it.
    """
    renew(row)
    done = threading.Event()
    thread = threading.Thread(target=_renewing, args=(row, done, longest_s), name=f"lease of {row.pk}", daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join(RENEW_EVERY_S)


def _renewing(row: Any, done: threading.Event, longest_s: float) -> None:
    give_up = time.monotonic() + longest_s
    try:
        while not done.wait(RENEW_EVERY_S) and time.monotonic() < give_up:
            try:
                if not renew(row):
                    return  # finished, or another worker's by now
            except DatabaseError as exc:
                log.warning("The lease of %r was not renewed: %s", row, exc)
                connection.close()
    finally:
        connection.close()


def renew(row: Any) -> bool:
    """True while the claim is still this worker's."""
    return bool(_mine(row).update(lease_until=Now() + LEASE))


def finish(run: CheckRun, result: dict[str, Any]) -> bool:
    """Write the whole result to the claimed row. False where the claim was lost meanwhile: nothing is written.

    Raises, with the row as it was, for a result the table does not take: no verdict, or a number that is not finite.
    """
    return land(run, status=JobStatus.DONE, verdict=result["verdict"], result=result, problem="")


def break_off(run: CheckRun, problem: str) -> bool:
    """Say why there is no result. False where the claim was lost meanwhile."""
    return land(run, status=JobStatus.BROKEN, verdict="", result=None, problem=problem)


def land(row: Any, **fields: Any) -> bool:
    """End a claimed job of any table with `fields`. False where the claim was lost meanwhile: nothing is written."""
    with transaction.atomic():
        landed = bool(_mine(row).update(finished_at=timezone.now(), lease_until=None, **fields))
    if landed:
        job_log.ended(row, fields["status"])
    return landed


def _mine(row: Any) -> QuerySet[Any]:
    return type(row)._default_manager.filter(pk=row.pk, status=JobStatus.RUNNING, claim=row.claim)


def put_back() -> None:
    """Give up the check runs' leases that ran out, and what waits for an engine that is no longer this one."""
    put_back_rows(CheckRun.objects.all(), lost=LOST)
    stranded = CheckRun.objects.filter(status=JobStatus.WAITING).exclude(engine_version=ENGINE_VERSION)
    stranded.update(status=JobStatus.BROKEN, problem=OTHER_ENGINE, finished_at=timezone.now())


def put_back_rows(rows: QuerySet[Any], *, lost: str) -> None:
    """Running rows of any table of jobs whose lease ran out wait again, or are broken, with the reason `lost`.

    A lease that ends later than any could (the clock was set back since) has run out too; a worker that lives renews it
    by the new clock.
    """
    impossible = Q(lease_until__gt=Now() + 2 * LEASE)
    dead = rows.filter(status=JobStatus.RUNNING).filter(
        Q(lease_until__lt=Now()) | Q(lease_until__isnull=True) | impossible
    )
    dead.filter(attempts__gte=ATTEMPTS).update(
        status=JobStatus.BROKEN, problem=lost, claim="", lease_until=None, finished_at=timezone.now()
    )
    dead.filter(attempts__lt=ATTEMPTS).update(status=JobStatus.WAITING, claim="", lease_until=None)


def end_all() -> int:
    """End every lease of every table of jobs; how many. Only for a process that alone owns the database, at its start:
    whoever held them is gone.
    """
    return sum(
        kind._default_manager.filter(status=JobStatus.RUNNING, lease_until__isnull=False).update(lease_until=None)
        for kind in tables_of_jobs()
    )


def tables_of_jobs() -> list[type[models.Model]]:
    return [kind for kind in apps.get_models() if {field.name for field in kind._meta.get_fields()} >= FIELDS]


def waiting_ids(rows: QuerySet[Any] | None = None) -> list[int]:
    """The rows that wait, oldest first, `AT_ONCE` at most."""
    rows = CheckRun.objects.all() if rows is None else rows
    return list(rows.filter(status=JobStatus.WAITING).order_by("pk").values_list("pk", flat=True)[:AT_ONCE])


def oldest_wait_s(rows: QuerySet[Any]) -> float | None:
    """Seconds since the oldest waiting row was asked for; None where none waits."""
    first = rows.filter(status=JobStatus.WAITING).order_by("created_at").values_list(F("created_at"), flat=True).first()
    return None if first is None else max(0.0, (timezone.now() - first).total_seconds())
