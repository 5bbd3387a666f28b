"""`manage.py recheck RECORD.pdf`: run the engine again on what the record carries, and say what agrees."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from engineering.core.contract.refusal import SpecificationRefused
from engineering.core.contract.report_text import refusal_lines
from reports.evidence import NoEvidence
from reports.recheck import recheck
from reports.verification import NotReadable

AGREES, DIFFERS, UNREADABLE = 0, 1, 2


class Command(BaseCommand):
    help = (
        "Take specification and result out of a record, run this engine, and compare figure by figure. "
        "Exit 0: all agree, 1: something differs, 2: nothing to compare. Says nothing of signatures."
    )
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="the record's PDF")
        parser.add_argument("--differences", action="store_true", help="print only what differs")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            found = recheck(Path(options["file"]).read_bytes())
        except OSError as problem:
            self._give_up(f"{options['file']} cannot be read: {(problem.strerror or 'unknown reason').lower()}")
        except (NotReadable, NoEvidence) as problem:
            self._give_up(str(problem))
        except SpecificationRefused as refused:
            self._give_up("\n".join(refusal_lines(refused)))
        for each in found.compared:
            if not (options["differences"] and each.agrees):
                self.stdout.write(each.line())
        self.stdout.write(self._closing(found))
        sys.exit(AGREES if found.agrees else DIFFERS)

    def _closing(self, found: Any) -> str:
        differing = sum(not each.agrees for each in found.compared)
        lines = [f"Engine of the record {found.recorded_engine}, engine here {found.engine}."]
        if not found.result_is_of_this_specification:
            lines.append("THE RESULT IN THIS FILE IS OF ANOTHER SPECIFICATION than the one beside it.")
        count = len(found.compared)
        lines.append(f"{count - differing} of {count} values agree" + (f", {differing} differ." if differing else "."))
        lines.append("This says nothing of who signed the file, or of what is printed on its pages: see verify_record.")
        return "\n".join(lines)

    def _give_up(self, words: str) -> None:
        self.stderr.write(words)
        sys.exit(UNREADABLE)
