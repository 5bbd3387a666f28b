"""`manage.py remove_past`: what was kept as long as the shop keeps it, now instead of at the next look of the day."""

from typing import Any

from django.core.management.base import BaseCommand

from jobs.actions import keeping
from jobs.models import Keeping


class Command(BaseCommand):
    help = "Remove photos and the log of signing in that are past their time (see “What is kept” of the shop's page)."

    def handle(self, *args: Any, **options: Any) -> None:
        Keeping.objects.filter(pk=1).update(looked_on=None)
        count = 0
        while gone := keeping.remove_what_is_past():
            count += gone
        self.stdout.write(f"{count} photos and rows were past their time and are removed.")
