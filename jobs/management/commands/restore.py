"""`manage.py restore FILE`: a backup into an empty shop, on whichever database it is set to."""

from argparse import ArgumentParser
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from jobs.management.commands.backup import add_key_arguments, key_from
from jobs.site import one_server
from jobs.site.backup import archive, sealed


class Command(BaseCommand):
    help = "Put a backup into an empty shop, or change nothing. Everybody signs in anew."

    def add_arguments(self, parser: ArgumentParser) -> None:
        add_key_arguments(parser)

    def handle(self, *args: Any, file: Path, key_file: str | None, **options: Any) -> None:
        key, folders = key_from(key_file), one_server.folders()
        if not file.is_file():
            raise CommandError(f"There is no file {file}.")
        try:
            with one_server.alone(*folders) if folders else nullcontext():
                call_command("migrate", interactive=False, verbosity=0)
                counts = archive.restore(file.absolute(), data=Path(settings.DATA), key=key)
        except (archive.NotRestored, sealed.NotOpened, one_server.InUse) as exc:
            raise CommandError(str(exc)) from exc
        self.stdout.write(f"{counts['rows']} rows and {counts['files']} files are back; the event log fits together.")
