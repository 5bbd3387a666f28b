"""`manage.py verify_events`: is the event log as it was written? Exit 1, and a line for each row that is not."""

import sys
from typing import Any

from django.core.management.base import BaseCommand

from jobs import event_chain
from jobs.models import Event


class Command(BaseCommand):
    help = "Look for changed, missing and swapped rows in the event log."

    def handle(self, *args: Any, **options: Any) -> None:
        faults = list(event_chain.faults())
        for fault in faults:
            self.stderr.write(fault)
        count = Event.objects.count()
        if faults:
            self.stderr.write(f"{len(faults)} of {count} events do not fit. Compare with a backup from before.")
            sys.exit(1)
        self.stdout.write(f"All {count} events are as they were written, in order, none missing.")
