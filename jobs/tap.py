"""The tap that an entry came by: on which of the shop's tablets, and when, if it waited there for the network.

Set for the length of one request by `jobs.site.queued_entries`; read where the moment of an entry and its event are
written, so that none of the thirty entries can forget to pass it on.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True)
class Tap:
    """`done_at`: when it was done by the tablet's clock, never in the future; `claimed`: what that clock said."""

    tablet: str = ""
    done_at: datetime | None = None
    claimed: str = ""

    def detail(self) -> dict[str, Any]:
        """What the event carries of it; nothing for an entry made at once on a device of one's own."""
        told: dict[str, Any] = {"tablet": self.tablet} if self.tablet else {}
        if self.done_at is not None:
            told |= {"waited_since": self.claimed}
        return {"tap": told} if told else {}


_now: ContextVar[Tap] = ContextVar("tap", default=Tap())  # noqa: B039  # frozen


def current() -> Tap:
    return _now.get()


@contextmanager
def coming_by(tap: Tap) -> Iterator[None]:
    token = _now.set(tap)
    try:
        yield
    finally:
        _now.reset(token)
