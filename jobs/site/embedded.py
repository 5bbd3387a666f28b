"""A Celery worker and its beat as threads of this process, on a queue in memory. The database rows are the jobs."""

import threading
from typing import Any

from celery import beat
from celery.worker import WorkController
from django.conf import settings

from jobs.site.celery import app

_started: list["Embedded"] = []


def running() -> bool:
    """True while this process has a worker and its thread lives."""
    return bool(_started) and _started[-1].alive()


class _Worker(WorkController):
    """Celery's worker without its command line: no signal handlers, no forks."""

    ready: threading.Event

    def on_consumer_ready(self, consumer: object) -> None:
        self.ready.set()


class Embedded:
    """Start, look, stop. `stop` lets running tasks finish."""

    def __init__(self, *, threads: int = 2) -> None:
        self.worker = _Worker(
            app=app, pool_cls="threads", concurrency=threads, queues=list(settings.QUEUES), hostname="embedded@local",
            without_gossip=True, without_mingle=True, without_heartbeat=True, loglevel="WARNING", quiet=True,
        )
        self.worker.ready = threading.Event()
        self.thread = threading.Thread(target=self.worker.start, name="worker", daemon=True)
        self.beat: Any = beat.EmbeddedService(app, thread=True, scheduler_cls=app.conf.beat_scheduler)

    def start(self, *, wait_s: float = 20) -> None:
        """Return once the worker takes tasks; RuntimeError if it does not within `wait_s`."""
        self.thread.start()
        if not self.worker.ready.wait(wait_s):
            raise RuntimeError(f"the worker was not ready within {wait_s:g} seconds")
        _started.append(self)
        for entry in app.conf.beat_schedule.values():       # at once, for what the last process left waiting
            app.send_task(entry["task"])
        self.beat.start()

    def alive(self) -> bool:
        return self.thread.is_alive()

    def stop(self) -> None:
        """Let running tasks finish, and end both threads. Does no harm if `start` did not get that far."""
        if self.beat.is_alive():
            self.beat.stop()
        if self.thread.is_alive():
            self.worker.stop()
            self.thread.join(30)
