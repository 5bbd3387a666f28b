"""`manage.py verify_record FILE`: separate facts about one PDF, as the public page gives them."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from reports.verification import NotReadable, PdfFacts, read_facts

HOLDS, DOES_NOT, UNREADABLE = 0, 1, 2


class Command(BaseCommand):
    help = (
        "Say what a PDF is: intact, whole, by whom, when, on record here. Exit 0: a record of this shop with "
        "nothing added but signatures in the fields left for them, that nothing supersedes, 1: not that, 2: unreadable."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="the PDF")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            facts = read_facts(Path(options["file"]).read_bytes())
        except OSError as problem:
            self.stderr.write(f"{options['file']} cannot be read: {(problem.strerror or 'unknown reason').lower()}")
            sys.exit(UNREADABLE)
        except NotReadable as problem:
            self.stderr.write(str(problem))
            sys.exit(UNREADABLE)
        for line in lines_of(facts):
            self.stdout.write(line)
        sys.exit(HOLDS if holds(facts) else DOES_NOT)


def holds(facts: PdfFacts) -> bool:
    """On record, by the shop's key, with nothing added but what its open fields allow, and not superseded."""
    whole = facts.bytes_intact and facts.signed_by_the_shop and facts.only_permitted_changes and facts.others_intact
    return bool(whole and facts.number and not facts.superseded_by)


def lines_of(facts: PdfFacts) -> list[str]:
    """One fact to a line; none stands for another."""

    def said(yes: bool, words: str) -> str:
        return f"{'yes' if yes else 'NO ':3}  {words}"

    when = f"{facts.signed_at:%Y-%m-%d %H:%M %Z}" if facts.signed_at else "no time"
    return [
        said(facts.carries_a_shop_signature, "carries a signature in the shop's field"),
        said(facts.bytes_intact, "the signed bytes are as they were signed"),
        said(facts.signed_by_the_shop, "signed with a key of this shop"),
        said(facts.covers_whole_file, "the shop's signature covers the whole file"),
        said(facts.only_permitted_changes, "nothing was added but what the fields left open allow"),
        said(facts.is_the_one_on_record, "byte for byte one that is on record here"),
        said(facts.begins_with_one_on_record, "begins with one that is on record here"),
        f"     the shop's signature states {when} ({facts.time_known_by})",
        f"     later signatures by others: {facts.other_signatures}"
        + ("" if facts.others_intact else ", NOT all as they were signed"),
        f"     record number: {facts.number or 'not on record here'}",
        f"     superseded by: {facts.superseded_by or ('nothing on record' if facts.number else 'cannot be known')}",
    ]
