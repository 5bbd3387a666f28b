"""An entry of the floor, frozen for a record: who, when, and its values as they stand in the row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from jobs.models.production import Entry


@dataclass(frozen=True)
class Noted:
    """One row. `values` are those of its columns, in the units of their names."""

    at: str
    by: str
    values: dict[str, Any]
    note: str


def when(at: datetime | None) -> str:
    """In the shop's time zone; empty for none."""
    return timezone.localtime(at).strftime("%Y-%m-%d %H:%M") if at else ""


def noted(row: Entry, *names: str, **more: Any) -> Noted:
    """The named columns of a row, and what else is read off it."""
    return Noted(when(row.at), row.by.display_name, {name: getattr(row, name) for name in names} | more, row.note)
