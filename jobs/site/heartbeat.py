"""When beat last ticked. With Redis, beat is another process and leaves the time there; otherwise it is in this one."""

import logging
import time
from typing import Any

import redis
from celery import beat
from django.conf import settings
from kombu.exceptions import ChannelError

KEY = "camberbook:beat"
FRESH_S = 60
JUMP_S = 2.0    # a clock that drifts is not one that was set
SWEEPS = "sweeps"
MOST_SWEEPS = 12
log = logging.getLogger(__name__)
WORKER_KEY = "camberbook:worker"
WORKER_KEPT_S = 24 * 3600    # how long it is still told when a worker was last seen
WORKER_FRESH_S = 60
_here: list[float] = []
_worker_here: list[float] = []


def client() -> redis.Redis:
    """A Redis client that gives up soon: no page waits for the queue."""
    return redis.Redis.from_url(settings.REDIS_URL, socket_connect_timeout=0.5, socket_timeout=2)


def mark() -> None:
    _here[:] = [time.monotonic()]
    if settings.REDIS_URL:
        try:
            client().set(KEY, "ticked", ex=FRESH_S)
        except redis.RedisError as exc:
            log.warning("beat cannot leave its sign in Redis: %s", exc)


def age_s() -> float | None:
    """Seconds since the last tick, or None if there was none of late. RedisError if Redis does not answer.

    Told by how long Redis still keeps the sign, so no two clocks have to agree.
    """
    if settings.REDIS_URL:
        left_ms = client().pttl(KEY)
        return None if left_ms < 0 else FRESH_S - left_ms / 1000
    return time.monotonic() - _here[0] if _here else None


def mark_worker() -> None:
    """Leave a worker's sign of life, at most every two seconds for each process."""
    if _worker_here and time.monotonic() - _worker_here[0] < 2:
        return
    _worker_here[:] = [time.monotonic()]
    if settings.REDIS_URL:
        try:
            client().set(WORKER_KEY, "at work", ex=WORKER_KEPT_S)
        except redis.RedisError as exc:
            log.warning("A worker cannot leave its sign in Redis: %s", exc)


def worker_age_s() -> float | None:
    """Seconds since any worker took up work, or None if none did within a day. RedisError as for `age_s`."""
    if settings.REDIS_URL:
        left_ms = client().pttl(WORKER_KEY)
        return None if left_ms < 0 else WORKER_KEPT_S - left_ms / 1000
    return time.monotonic() - _worker_here[0] if _worker_here else None


class Scheduler(beat.Scheduler):
    """Celery's in-memory scheduler, leaving a sign of life. It keeps no file: every entry is a sweep.

    A sweep is not sent while enough of them wait already (nobody empties the queue), and carries no time at which it
    would be stale: a worker whose clock is ahead would drop them all. When this machine's clock is set, the next sweep
    is due from the new time, not from the old one an hour ahead.
    """

    marked_at = 0.0
    offset: float | None = None

    def tick(self, *args: Any, **kwargs: Any) -> float:
        if time.monotonic() - self.marked_at > 2:
            self.marked_at = time.monotonic()
            mark()
        self.follow_the_clock()
        return min(super().tick(*args, **kwargs), 5.0)

    def follow_the_clock(self) -> None:
        offset = time.time() - time.monotonic()
        if self.offset is not None and abs(offset - self.offset) > JUMP_S:
            log.warning("The clock was set by %+.0f s; the sweeps go on from the new time.", offset - self.offset)
            for entry in self.schedule.values():
                entry.last_run_at = entry.default_now()
            self._heap = None
        self.offset = offset

    def apply_async(self, entry: Any, *args: Any, **kwargs: Any) -> Any:
        if waiting(SWEEPS) >= MOST_SWEEPS:
            return None
        return super().apply_async(entry, *args, **kwargs)

    def apply_entry(self, entry: Any, producer: Any = None) -> None:
        """As Celery's, but a queue that is down costs one line of log and not a traceback each time."""
        try:
            self.apply_async(entry, producer=producer, advance=False)
        except Exception as exc:
            log.warning("The sweep %s was not sent: %s", entry.task, exc)


def waiting(queue: str) -> int:
    """How many messages lie in a queue; 0 where there is no such queue yet."""
    from jobs.site.celery import app  # the application names this module's scheduler in its settings

    with app.connection_or_acquire() as connection:
        try:
            return int(connection.default_channel.queue_declare(queue, passive=True).message_count)
        except ChannelError:
            return 0
