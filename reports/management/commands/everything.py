"""`manage.py everything FILE.zip`: all rows and files of the shop, to be read without this program."""

import os
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.actions.keeping import note_everything_taken
from reports import everything
from reports.views_everything import counted


class Command(BaseCommand):
    help = "Write tables (CSV, JSON lines), records and photos with their SHA-256 into one ZIP. Exit 1: a file lacks."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        fresh = file.with_name(f".{file.name}.new")
        if file.exists():
            raise CommandError(f"There is a file {file} already; it is left as it is. Choose another name.")
        try:
            with os.fdopen(os.open(fresh, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600), "w+b") as out:
                counts = everything.write(out)
                out.flush()
                os.fsync(out.fileno())
            os.link(fresh, file)
        except OSError as exc:
            raise CommandError(f"It was not written: {exc}") from exc
        finally:
            fresh.unlink(missing_ok=True)
        note_everything_taken(by=None, counts=counted(counts))
        self.stdout.write(f"{file}: {counts['rows']} rows and {counts['files']} files. No key or password is in it.")
        for each in counts["missing"]:
            self.stderr.write(f"MISSING: {each['file']} ({each['row']})")
        if counts["missing"]:
            sys.exit(1)
