"""The work of the queue. A message is only a nudge: losing one, or getting one twice, does no harm."""

from __future__ import annotations

import logging

from billiard.exceptions import SoftTimeLimitExceeded
from celery import shared_task

from engineering import job_log, leases
from reports import building
from reports.models import IssuedRecord
from reports.signing import NoTimestamp, SigningKeyUnreadable

log = logging.getLogger(__name__)
PROBLEM_LENGTH = 500
TOO_LONG = "Setting the record took too long and was stopped. Ask for it again, or ask whoever looks after the site."


@shared_task(acks_late=True)
def build_record(record_id: int) -> None:
    """Build the file once, or write a plain reason to the row that was claimed."""
    record = building.claim(record_id)
    if record is None:
        return
    with job_log.working_on(record):
        _build(record)


def _build(record: IssuedRecord) -> None:
    try:
        with leases.held(record):
            landed = building.build(record)
    except SoftTimeLimitExceeded:
        landed = building.break_off(record, TOO_LONG)
    except SigningKeyUnreadable as exc:
        log.error("Record %s was not signed: %s", record.number, exc)
        landed = building.break_off(
            record,
            "The shop's signing key does not open, so nothing was signed. Whoever looks after the "
            "site finds the reason in the log.",
        )
    except NoTimestamp as exc:
        log.error("Record %s was not signed: %s", record.number, exc)
        landed = building.break_off(
            record, "The timestamp server did not answer, so nothing was signed. Ask again later."
        )
    except Exception as exc:
        log.exception("Record %s broke off.", record.number)
        words = " ".join(str(exc).split()) or "no further words"
        landed = building.break_off(
            record, f"The record could not be set ({type(exc).__name__}: {words})."[:PROBLEM_LENGTH]
        )
    if not landed:
        log.warning("Record %s was given to another worker meanwhile; this file was dropped.", record.number)


@shared_task
def nudge_records() -> None:
    """The sweeper: put back what dead workers held, and send every waiting row again."""
    leases.put_back_rows(IssuedRecord.objects.all(), lost=building.LOST)
    for record_id in leases.waiting_ids(IssuedRecord.objects.all()):
        if not build_record.nudge(record_id):  # type: ignore[attr-defined]  # the app's task class has it
            return  # the queue is down; the next sweep tries again
