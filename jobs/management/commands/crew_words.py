"""`manage.py crew_words`: gather the phrases of the crew's pages, bring the Spanish ones up to date, and compile them.

The compiled file is committed, so that a fresh machine needs no gettext tools. A phrase without a translation is listed
and the command ends with 1; `tests/jobs_pages/test_spanish.py` holds the files to the code.
"""

from __future__ import annotations

import ast
import json
import re
import struct
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from django.utils.translation.template import templatize

from engineering.models import JobStatus
from jobs import errors
from jobs.models import (
    Attachment,
    Incident,
    MixVersion,
    NonConformance,
    Role,
    Stage,
    StockLot,
    StrengthTest,
    Stressing,
)

JOBS = Path(__file__).resolve().parents[2]
PO = JOBS / "locale" / "es" / "LC_MESSAGES" / "django.po"
MARKERS = {"_", "say", "gettext", "gettext_lazy", "lazy", "tell"}
KINDS = (
    Stage,
    Role,
    Stressing.State,
    StrengthTest.Kind,
    MixVersion.Cement,
    StockLot.Kind,
    NonConformance.Decision,
    Attachment.Kind,
    Incident.Kind,
    JobStatus,
)
HEAD = (
    "Content-Type: text/plain; charset=UTF-8\n"
    "Content-Transfer-Encoding: 8bit\n"
    "Language: es\n"
    "Plural-Forms: nplurals=2; plural=(n != 1);\n"
)


class Command(BaseCommand):
    help = "Gather the phrases of the crew's pages, bring the Spanish ones up to date and compile them."

    def handle(self, *args: Any, **options: Any) -> None:
        known = read(PO.read_text("utf-8")) if PO.exists() else {}
        found = {phrase: known.get(phrase, "") for phrase in phrases()}
        PO.parent.mkdir(parents=True, exist_ok=True)
        PO.write_text(written(found), "utf-8")
        PO.with_suffix(".mo").write_bytes(compiled(found))
        missing = sorted(phrase for phrase, told in found.items() if not told)
        for phrase in missing:
            self.stdout.write(f"not translated: {phrase}")
        self.stdout.write(f"{len(found)} phrases, {len(missing)} without Spanish.")
        if missing:
            sys.exit(1)


def phrases() -> list[str]:
    """Every phrase in code, templates and the labels that models keep in English; each once, sorted."""
    found = set(labels())
    for package in (JOBS, JOBS.parent / "reports"):
        for file in sorted(package.rglob("*.py")):
            found |= set(in_code(file.read_text("utf-8")))
        for file in sorted((package / "templates").rglob("*.html")):
            found |= set(in_code_of_template(file.read_text("utf-8")))
    return sorted(found)


def labels() -> Iterator[str]:
    for kind in KINDS:
        yield from (str(label) for label in kind.labels)
    for made in vars(errors).values():
        if isinstance(made, type) and issubclass(made, errors.ShopError):
            yield made.default


def in_code(text: str) -> Iterator[str]:
    """The first argument of each call of a marker, where it is plain text."""
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        first = node.args[0]
        if name in MARKERS and isinstance(first, ast.Constant) and isinstance(first.value, str):
            yield first.value


def in_code_of_template(text: str) -> Iterator[str]:
    """Django turns a template into a text with calls of gettext, whose lines are the template's."""
    for match in re.finditer(r"gettext\(u?('(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\")\)", templatize(text)):
        yield ast.literal_eval(match[1]).replace("%%", "%")


# ---- the two files ---------------------------------------------------------------------------------------------------


def read(text: str) -> dict[str, str]:
    """Phrase to translation, of a file that `written` wrote; a phrase may run over several quoted lines."""
    found: dict[str, str] = {}
    for block in text.split("\n\n"):
        parts: dict[str, str] = {}
        key = ""
        for line in block.splitlines():
            match = re.fullmatch(r"(?:(msgid|msgstr) )?(\".*\")", line)
            if match is None:
                continue
            key = match[1] or key
            parts[key] = parts.get(key, "") + json.loads(match[2])
        if parts.get("msgid"):
            found[parts["msgid"]] = parts.get("msgstr", "")
    return found


def written(found: dict[str, str]) -> str:
    rows = [("", HEAD), *sorted(found.items())]
    flags = {phrase: "#, python-brace-format\n" if re.search(r"\{\w+\}", phrase) else "" for phrase, _ in rows}
    quoted = partial(json.dumps, ensure_ascii=False)
    blocks = (f"{flags[phrase]}msgid {quoted(phrase)}\nmsgstr {quoted(told)}" for phrase, told in rows)
    return "\n\n".join(blocks) + "\n"


def compiled(found: dict[str, str]) -> bytes:
    """The .mo file: header, two tables of lengths and places, the texts (GNU gettext manual, "The Format of GNU MO
    Files"). Untranslated phrases are left out.
    """
    rows = sorted((phrase.encode(), told.encode()) for phrase, told in {"": HEAD, **found}.items() if told)
    start = 28 + 16 * len(rows)
    tables: list[list[int]] = [[], []]
    texts = b""
    for side in (0, 1):
        for row in rows:
            tables[side] += [len(row[side]), start + len(texts)]
            texts += row[side] + b"\0"
    head = struct.pack("<7I", 0x950412DE, 0, len(rows), 28, 28 + 8 * len(rows), 0, start)
    return head + struct.pack(f"<{4 * len(rows)}I", *tables[0], *tables[1]) + texts
