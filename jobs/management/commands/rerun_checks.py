"""`manage.py rerun_checks --open`: after an update of the engine, ask for the checks of what is still open again."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.actions.designs import rerun_open_checks


class Command(BaseCommand):
    help = "Ask for the checks of all open orders again, where they broke off or are by an older engine."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--open", action="store_true", help="the newest revisions of all orders not archived")

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["open"]:
            raise CommandError("Say which: --open for every open order.")
        count = len(rerun_open_checks())
        self.stdout.write(f"{count} check {'run waits' if count == 1 else 'runs wait'} for the worker.")
