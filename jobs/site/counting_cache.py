"""The cache that counts calls: in Redis for all web processes together; in this process alone while Redis is away.

Nothing that must last is cached, and no page fails because the queue's server does.
"""

import logging
from typing import Any

import redis
from django.core.cache.backends.locmem import LocMemCache
from django.core.cache.backends.redis import RedisCache

log = logging.getLogger(__name__)


class CountingCache(RedisCache):
    def __init__(self, server: str, params: dict[str, Any]) -> None:
        super().__init__(server, params)
        self.here = LocMemCache("while-redis-is-away", {})

    def add(self, *args: Any, **options: Any) -> bool:
        return bool(self._either("add", *args, **options))

    def get(self, *args: Any, **options: Any) -> Any:
        return self._either("get", *args, **options)

    def set(self, *args: Any, **options: Any) -> None:
        self._either("set", *args, **options)

    def incr(self, *args: Any, **options: Any) -> int:
        return int(self._either("incr", *args, **options))

    def delete(self, *args: Any, **options: Any) -> bool:
        return bool(self._either("delete", *args, **options))

    def _either(self, what: str, *args: Any, **options: Any) -> Any:
        try:
            return getattr(super(), what)(*args, **options)
        except redis.RedisError as exc:
            log.warning("Calls are counted by each process for itself, since Redis does not answer: %s", exc)
            return getattr(self.here, what)(*args, **options)
