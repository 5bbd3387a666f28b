"""A logger's file: time and temperature by line, every fault by its line."""

from __future__ import annotations

import csv
import io
from datetime import datetime

from django.utils import timezone

from jobs.errors import BadEntry
from jobs.words import listed, say

MOST_LINES = 20_000
MOST_TOLD = 20  # faults in one answer
FORMATS = ("%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M", "%m/%d/%Y %H:%M:%S", "%m/%d/%Y %H:%M", "%d.%m.%Y %H:%M")


def read_temperatures(text: str, *, celsius: bool) -> list[tuple[datetime, float]]:
    """Rows as (time, °F). The first line may be a heading. A time without a zone is by the shop's clock."""
    dialect = ";" if text.count(";") > text.count(",") else ","
    rows = [row for row in csv.reader(io.StringIO(text), delimiter=dialect) if any(cell.strip() for cell in row)]
    if len(rows) > MOST_LINES:
        raise BadEntry(say("The file has {lines} lines; {most} fit.", lines=len(rows), most=MOST_LINES), field="file")
    found, faults = [], []
    for line, row in enumerate(rows, start=1):
        at, value = _time(row[0].strip()), _number(row[1].strip()) if len(row) > 1 else None
        if at is None or value is None:
            if line > 1:
                faults.append(
                    say(
                        "line {line}: a time and a number are wanted, not “{text}”",
                        line=line,
                        text=dialect.join(row)[:60],
                    )
                )
            continue
        found.append((at, value * 1.8 + 32 if celsius else value))
    if faults:
        told = say("Nothing was taken: {faults}.", faults=listed(faults[:MOST_TOLD], "; "))
        more = [say("And {number} more.", number=len(faults) - MOST_TOLD)] if len(faults) > MOST_TOLD else []
        raise BadEntry(listed([told, *more], " "), field="file")
    if not found:
        raise BadEntry(say("The file has no line with a time and a temperature."), field="file")
    return found


def _time(text: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = next((made for pattern in FORMATS if (made := _by(pattern, text))), None)  # type: ignore[assignment]  # none
    if at is None:
        return None
    return timezone.make_aware(at) if timezone.is_naive(at) else at


def _by(pattern: str, text: str) -> datetime | None:
    try:
        return datetime.strptime(text, pattern)
    except ValueError:
        return None


def _number(text: str) -> float | None:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None
