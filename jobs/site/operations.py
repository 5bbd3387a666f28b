"""How the site runs, as figures: for `/metrics/` and, in words, for the manager's operations page.

A fixed number of queries, each on an index or on the newest few rows: it may be asked every few seconds.
"""

from __future__ import annotations

import logging
import shutil
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import redis
from axes.models import AccessFailureLog
from django.conf import settings
from django.db.models import Count, Min, Q
from django.utils import timezone
from kombu.exceptions import OperationalError

from engineering import leases, study_tasks
from engineering.models import JobStatus
from jobs.models import PinTry
from jobs.site import embedded, health, heartbeat

NEWEST = 20  # among so many finished rows of a kind the last one to finish is looked for
SILENT = (redis.RedisError, OperationalError, OSError)
log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Jobs:
    """The rows of one table of jobs. Times in seconds."""

    kind: str  # "check run"
    kinds: str  # "check runs"
    waiting: int
    running: int
    oldest_wait_s: float | None
    last_finished: datetime | None
    last_took_s: float | None
    broken: int
    broken_last_day: int


@dataclass(frozen=True)
class Operations:
    """Everything at one moment. None where it cannot be told: nothing was there, or the queue does not answer."""

    jobs: list[Jobs]
    queue_answers: bool
    depths: dict[str, int] = field(default_factory=dict)
    beat_age_s: float | None = None
    worker_age_s: float | None = None
    worker_here: bool | None = None  # embedded: whether this process has its worker; None in full mode
    failures_last_hour: int = 0
    failures_last_day: int = 0
    names_last_day: int = 0  # how many sign-in names they were tried on
    pins_last_hour: int = 0  # wrong PINs on the shop's tablets
    pins_last_day: int = 0
    disk_free: int = 0  # [bytes] where the data are
    disk_total: int = 0


def look() -> Operations:
    """DatabaseError where the database does not answer; a queue that does not is a finding."""
    hour, day, names = _sign_in_failures(timezone.now())
    pins_hour, pins_day = _wrong_pins(timezone.now())
    disk = shutil.disk_usage(settings.DATA)
    return Operations(
        jobs=[_jobs(kind) for kind in sorted(leases.tables_of_jobs(), key=lambda kind: kind._meta.model_name or "")],
        worker_here=embedded.running() if health.in_memory() else None,
        failures_last_hour=hour,
        failures_last_day=day,
        names_last_day=names,
        pins_last_hour=pins_hour,
        pins_last_day=pins_day,
        disk_free=disk.free,
        disk_total=disk.total,
        **_of_the_queue(),
    )


def _jobs(kind: Any) -> Jobs:
    rows = kind._default_manager
    open_rows = rows.filter(status__in=(JobStatus.WAITING, JobStatus.RUNNING)).aggregate(
        waiting=Count("pk", filter=Q(status=JobStatus.WAITING)),
        running=Count("pk", filter=Q(status=JobStatus.RUNNING)),
        oldest=Min("created_at", filter=Q(status=JobStatus.WAITING)),
    )
    now = timezone.now()
    recent = Q(finished_at__gte=now - timedelta(days=1))
    recent |= Q(finished_at__isnull=True, created_at__gte=now - timedelta(days=1))
    broken = rows.filter(status=JobStatus.BROKEN).exclude(problem=study_tasks.STOPPED)
    failed = broken.aggregate(ever=Count("pk"), of_late=Count("pk", filter=recent))
    finished, took_s = _last(rows)
    return Jobs(
        kind=str(kind._meta.verbose_name),
        kinds=str(kind._meta.verbose_name_plural),
        waiting=open_rows["waiting"],
        running=open_rows["running"],
        oldest_wait_s=max(0.0, (now - open_rows["oldest"]).total_seconds()) if open_rows["oldest"] else None,
        last_finished=finished,
        last_took_s=took_s,
        broken=failed["ever"],
        broken_last_day=failed["of_late"],
    )


def _last(rows: Any) -> tuple[datetime | None, float | None]:
    """When the last one finished, and how long it took from its claim [s]."""
    done = rows.filter(status=JobStatus.DONE, finished_at__isnull=False).order_by("-pk")
    newest = list(done.values_list("finished_at", "claimed_at")[:NEWEST])
    if not newest:
        return None, None
    finished, claimed = max(newest, key=lambda times: times[0])
    return finished, max(0.0, (finished - claimed).total_seconds()) if claimed else None


def _sign_in_failures(now: datetime) -> tuple[int, int, int]:
    """Wrong passwords of the last hour, of the last day, and on how many names. What is tried while a name is locked is
    not counted.
    """
    day = AccessFailureLog.objects.filter(attempt_time__gte=now - timedelta(days=1))
    counted = day.aggregate(
        hour=Count("pk", filter=Q(attempt_time__gte=now - timedelta(hours=1))),
        day=Count("pk"),
        names=Count("username", distinct=True),
    )
    return counted["hour"], counted["day"], counted["names"]


def _wrong_pins(now: datetime) -> tuple[int, int]:
    day = PinTry.objects.filter(right=False, at__gte=now - timedelta(days=1))
    counted = day.aggregate(hour=Count("pk", filter=Q(at__gte=now - timedelta(hours=1))), day=Count("pk"))
    return counted["hour"], counted["day"]


def _of_the_queue() -> dict[str, Any]:
    try:
        return {
            "beat_age_s": heartbeat.age_s(),
            "worker_age_s": heartbeat.worker_age_s(),
            "depths": {name: heartbeat.waiting(name) for name in settings.QUEUES},
            "queue_answers": True,
        }
    except SILENT as exc:
        log.warning("operations: the queue does not answer: %s", exc)
        return {"queue_answers": False}
