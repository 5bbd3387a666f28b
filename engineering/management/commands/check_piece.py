"""Check one piece from a file: verdict, checks and leading figures. No database, no site."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from engineering.core.contract.json_text import from_json
from engineering.core.contract.refusal import Fault, SpecificationRefused, refusal_document
from engineering.core.contract.report_text import refusal_lines, result_lines
from engineering.core.pipeline import run_checks

PASSED, NOT_PASSED, REFUSED = 0, 1, 2


class Command(BaseCommand):
    help = "Check a piece: a JSON file, or - for what comes in. Exit 0: pass, 1: fail or review, 2: refused."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="the specification; - reads standard input")
        parser.add_argument("--json", action="store_true", help="print the result, or the refusal, as a JSON document")

    def handle(self, *args: Any, **options: Any) -> None:
        """Prints and leaves with the exit status of the verdict."""
        as_json = options["json"]
        try:
            result = run_checks(from_json(_read(options["file"])))
        except SpecificationRefused as refused:
            self._say(refusal_document(refused) if as_json else refusal_lines(refused))
            sys.exit(REFUSED)
        self._say(result if as_json else result_lines(result))
        sys.exit(PASSED if result["verdict"] == "pass" else NOT_PASSED)

    def _say(self, content: dict[str, Any] | list[str]) -> None:
        if isinstance(content, dict):
            self.stdout.write(json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False))
        else:
            self.stdout.write("\n".join(content))


def _read(name: str) -> bytes:
    """The bytes of the file, or a refusal that says why there are none."""
    if name == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(name).read_bytes()
    except OSError as problem:
        reason = problem.strerror or type(problem).__name__
    except ValueError as problem:
        reason = str(problem)
    raise SpecificationRefused((Fault("", f"{name} cannot be read: {reason.lower()}"),))
