"""A Celery message here is only a nudge: the database row is the job, and a sweeper nudges again for rows that wait."""

import logging
from typing import Any

from celery.contrib.django.task import DjangoTask
from django.db import transaction
from kombu.exceptions import OperationalError

log = logging.getLogger(__name__)


class NudgeTask(DjangoTask):
    """The base of every task. `delay_on_commit` does not fail when the queue is down: the row is already committed."""

    abstract = True

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
