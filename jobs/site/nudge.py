"""A Celery message here is only a nudge: the database row is the job, and a sweeper nudges again for rows that wait."""

import logging
from typing import Any

from celery.contrib.django.task import DjangoTask
from django.db import transaction
from kombu.exceptions import OperationalError

from jobs.site import heartbeat, log_lines

HEADER = "camberbook_request"
log = logging.getLogger(__name__)


class NudgeTask(DjangoTask):
    """The base of every task. `delay_on_commit` does not fail when the queue is down: the row is already committed."""

    abstract = True

    def apply_async(self, *args: Any, **options: Any) -> Any:
        """As Celery's; the message names the request it was sent for, so that the worker's log does too."""
        if number := log_lines.request_number():
            options["headers"] = {HEADER: number, **(options.get("headers") or {})}
        return super().apply_async(*args, **options)

    def before_start(self, task_id: str, args: Any, kwargs: Any) -> None:
        """A worker shows that it lives by taking up work: the sweeps alone bring some every few seconds."""
        log_lines.set_request_number((self.request.headers or {}).get(HEADER, ""))
        heartbeat.mark_worker()

    def after_return(self, *args: Any) -> None:
        log_lines.set_request_number("")

    def delay_on_commit(self, *args: Any, **kwargs: Any) -> None:  # type: ignore[override]  # nobody waits for a result
        transaction.on_commit(lambda: self.nudge(*args, **kwargs))

    def nudge(self, *args: Any, **kwargs: Any) -> bool:
        """Send the message now; False, with a line in the log, if the queue does not answer."""
        try:
            self.delay(*args, **kwargs)
        except (OperationalError, ConnectionError) as exc:
            log.warning("The queue does not answer (%s). %s%r waits in the database and is sent again by the sweeper.",
                        exc, self.name, args)
            return False
        return True
