"""`manage.py verify_store`: is every kept file there and as it was kept? Exit 1, and a line for each that is not."""

import sys
from typing import Any

from django.core.management.base import BaseCommand

from reports import store


class Command(BaseCommand):
    help = "Read every record, signed copy and photo and compare its SHA-256 with its row. Exit 0: all as kept, 1: not."

    def handle(self, *args: Any, **options: Any) -> None:
        kept = list(store.kept_files())
        faults = list(store.faults(iter(kept)))
        for fault in faults:
            self.stderr.write(fault.line())
        for stray in store.strays():
            self.stdout.write(f"no row names {stray} in the records folder; it does no harm")
        if faults:
            self.stderr.write(
                f"{len(faults)} of {len(kept)} files are not as they were kept. None of them is handed out. "
                "Bring them back from a backup; the hash in the row tells the right one."
            )
            sys.exit(1)
        self.stdout.write(f"All {len(kept)} files are there, each as it was kept.")
