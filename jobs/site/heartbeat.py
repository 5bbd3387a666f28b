"""When beat last ticked. With Redis, beat is another process and leaves the time there; otherwise it is in this one."""

import logging
import time
from typing import Any

import redis
from celery import beat
from django.conf import settings

KEY = "camberbook:beat"
FRESH_S = 60
log = logging.getLogger(__name__)
_here: list[float] = []


def client() -> redis.Redis:
    """A Redis client that gives up soon: no page waits for the queue."""
    return redis.Redis.from_url(settings.REDIS_URL, socket_connect_timeout=0.5, socket_timeout=2)


def mark() -> None:
    _here[:] = [time.time()]
    if settings.REDIS_URL:
        try:
            client().set(KEY, str(time.time()), ex=FRESH_S)
        except redis.RedisError as exc:
            log.warning("beat cannot leave its time in Redis: %s", exc)


def age_s() -> float | None:
    """Seconds since the last tick, or None if there was none of late. RedisError if Redis does not answer."""
    if settings.REDIS_URL:
        at = client().get(KEY)
        return None if at is None else max(0.0, time.time() - float(at))
    return time.time() - _here[0] if _here else None


class Scheduler(beat.Scheduler):
    """Celery's in-memory scheduler, leaving a sign of life. It keeps no file: every entry is a sweep."""

    marked_at = 0.0

    def tick(self, *args: Any, **kwargs: Any) -> float:
        if time.monotonic() - self.marked_at > 2:
            self.marked_at = time.monotonic()
            mark()
        return min(super().tick(*args, **kwargs), 5.0)
