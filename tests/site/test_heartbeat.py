"""The sweeps go on when the clock is set, and do not pile up when nobody empties the queue."""

import time
from datetime import timedelta

import pytest
from celery import Celery

from jobs.site import heartbeat
from jobs.site.celery import app


@pytest.fixture
def scheduler(monkeypatch: pytest.MonkeyPatch) -> heartbeat.Scheduler:
    """A scheduler with one sweep a second on an application of its own, and what it sent."""
    own = Celery("of this test", broker="memory://", set_as_current=False)
    own.conf.beat_schedule = {"sweep": {"task": "sweep", "schedule": 1}}
    made = heartbeat.Scheduler(own, lazy=False)
    made.sent = []
    monkeypatch.setattr(heartbeat, "mark", lambda: None)
    monkeypatch.setattr(heartbeat, "waiting", lambda queue: 0)
    monkeypatch.setattr(heartbeat.beat.Scheduler, "apply_async", lambda self, entry, **_: self.sent.append(entry.name))
    return made


def sweeps_of(scheduler: heartbeat.Scheduler, seconds: float) -> int:
    before, end = len([name for name in scheduler.sent if name == "sweep"]), time.monotonic() + seconds
    while time.monotonic() < end:
        time.sleep(min(0.05, max(0.0, scheduler.tick())))
    return len([name for name in scheduler.sent if name == "sweep"]) - before


def test_a_clock_set_back_does_not_stop_the_sweeps(scheduler: heartbeat.Scheduler) -> None:
    """As after an hour's step back: each entry was last sent an hour from now."""
    assert sweeps_of(scheduler, 1.5) >= 1
    for entry in scheduler.schedule.values():
        entry.last_run_at = entry.default_now() + timedelta(hours=1)
    scheduler._heap = None
    assert sweeps_of(scheduler, 1.5) == 0       # Celery's own way, for as long as the clock is behind
    scheduler.offset += 3600                    # what the step looks like
    assert sweeps_of(scheduler, 2.5) >= 1


def test_what_nobody_fetches_does_not_pile_up(
    scheduler: heartbeat.Scheduler, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(heartbeat, "waiting", lambda queue: heartbeat.MOST_SWEEPS)
    assert sweeps_of(scheduler, 1.5) == 0


def test_a_queue_that_is_not_there_yet_is_empty_and_one_with_messages_is_counted() -> None:
    with Celery("of this test", broker="memory://", set_as_current=False).connection_or_acquire() as connection:
        connection.default_channel.queue_declare("counted here", passive=False)
    assert heartbeat.waiting("no such queue at all") == 0


def test_no_sweep_can_grow_stale() -> None:
    """A worker whose clock is ahead would drop each of them."""
    assert not any("expires" in entry.get("options", {}) for entry in app.conf.beat_schedule.values())
