"""Which job this thread works on, for the log: lines written meanwhile carry the job's name (`jobs.site.log_lines`)."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

_job: ContextVar[str] = ContextVar("job", default="")
log = logging.getLogger(__name__)


def name_of(row: Any) -> str:
    """`check-run-12`: the kind of job and its row's number; `study-5-part-2` for a share of a study."""
    if hasattr(row, "study_id"):
        return f"study-{row.study_id}-part-{row.number}"
    return f"{row._meta.verbose_name.replace(' ', '-')}-{row.pk}"


def current() -> str:
    """The job this thread works on, or nothing."""
    return _job.get()


@contextmanager
def working_on(row: Any) -> Iterator[None]:
    """Every line of log from the block names the row's job; that it begins is a line of its own, and that it ended
    (`ended`) another.
    """
    before = _job.set(name_of(row))
    try:
        log.info("%s begins, attempt %s.", name_of(row), row.attempts)
        yield
    finally:
        _job.reset(before)


def ended(row: Any, status: str) -> None:
    """Say that a job came to its end, and to which."""
    log.info("%s ended: %s.", name_of(row), status)
