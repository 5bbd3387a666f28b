"""The work of the queue. A message is only a nudge: losing one, or getting one twice, does no harm
(`engineering.leases`).
"""

from __future__ import annotations

import logging
from typing import Any

from billiard.exceptions import SoftTimeLimitExceeded
from celery import shared_task

from engineering import job_log, leases, study_tasks
from engineering.core.contract.refusal import SpecificationRefused
from engineering.models import CheckRun

__all__ = ["nudge_runs", "perform_check_run", "plain_reason", "run_checks", "study_tasks"]  # studies are found here
log = logging.getLogger(__name__)
PROBLEM_LENGTH = 500


def run_checks(document: dict[str, Any]) -> dict[str, Any]:
    """The engine, loaded with numpy only in the process that runs checks."""
    from engineering.core import pipeline

    return pipeline.run_checks(document)


@shared_task(acks_late=True)
def perform_check_run(check_run_id: int) -> None:
    """Run the checks once and write the result, or a plain reason, to the row that was claimed."""
    run = leases.claim(check_run_id)
    if run is None:
        return
    with job_log.working_on(run):
        _perform(run)


def _perform(run: CheckRun) -> None:
    try:
        with leases.held(run):
            result = run_checks(run.specification.document)
        landed = leases.finish(run, result)
    except SoftTimeLimitExceeded:
        landed = leases.break_off(run, "The checks took too long and were stopped. Ask whoever looks after the site.")
    except Exception as exc:
        log.exception("Check run %s broke off.", run.pk)
        landed = leases.break_off(run, plain_reason(exc))
    if not landed:
        log.warning("Check run %s was given to another worker meanwhile; this result was dropped.", run.pk)


def plain_reason(exc: Exception) -> str:
    """What went wrong, for the page: kind and message, no traceback."""
    if isinstance(exc, SpecificationRefused):
        return f"The engine no longer accepts this specification: {exc}"[:PROBLEM_LENGTH]
    words = " ".join(str(exc).split()) or "no further words"
    return f"The engine stopped on this piece ({type(exc).__name__}: {words}). The engineer can look at it."[
        :PROBLEM_LENGTH
    ]


@shared_task
def nudge_runs() -> None:
    """The sweeper: put back what dead workers held, and send every waiting row again."""
    leases.put_back()
    for run_id in leases.waiting_ids():
        if not perform_check_run.nudge(run_id):  # type: ignore[attr-defined]  # the app's task class has it
            return  # the queue is down; the next sweep tries again
