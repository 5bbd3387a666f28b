"""A logger's file: time and temperature by line, every fault by its line."""

from __future__ import annotations

import csv
import io
from datetime import datetime

from django.utils import timezone

from jobs.errors import BadEntry

MOST_LINES = 20_000
FORMATS = ("%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M", "%m/%d/%Y %H:%M:%S", "%m/%d/%Y %H:%M", "%d.%m.%Y %H:%M")


def read_temperatures(text: str, *, celsius: bool) -> list[tuple[datetime, float]]:
    """Rows as (time, °F). The first line may be a heading. A time without a zone is by the shop's clock."""
    dialect = ";" if text.count(";") > text.count(",") else ","
    rows = [row for row in csv.reader(io.StringIO(text), delimiter=dialect) if any(cell.strip() for cell in row)]
    if len(rows) > MOST_LINES:
        raise BadEntry(f"The file has {len(rows)} lines; {MOST_LINES} fit.", field="file")
    found, faults = [], []
    for line, row in enumerate(rows, start=1):
        at, value = _time(row[0].strip()), _number(row[1].strip()) if len(row) > 1 else None
        if at is None or value is None:
            if line > 1:
                faults.append(f"line {line}: a time and a number are wanted, not “{dialect.join(row)[:60]}”")
            continue
        found.append((at, value * 1.8 + 32 if celsius else value))
    if faults:
        more = f" And {len(faults) - 20} more." if len(faults) > 20 else ""
        raise BadEntry("Nothing was taken: " + "; ".join(faults[:20]) + "." + more, field="file")
    if not found:
        raise BadEntry("The file has no line with a time and a temperature.", field="file")
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
