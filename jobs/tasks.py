"""The site's own work of the queue: notices found by a sweep, and their mail. Safe to run twice."""

from __future__ import annotations

from celery import shared_task

from jobs.actions import keeping, notices


@shared_task
def nudge_notices() -> None:
    """Find what is to be told and end what is over; the mail is a task of its own, so that no sweep waits for it."""
    notices.sweep()
    mail_notices.nudge()  # type: ignore[attr-defined]  # the app's task class has it


@shared_task
def mail_notices() -> None:
    notices.send()


@shared_task
def remove_what_is_past() -> None:
    """Once a day: what was kept as long as the shop keeps it."""
    keeping.remove_what_is_past()
