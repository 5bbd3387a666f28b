"""Rows as lines of JSON, the same from every database, and back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.apps import apps
from django.conf import settings
from django.core import serializers
from django.core.management.color import no_style
from django.db import connection, models
from django.db.migrations.recorder import MigrationRecorder

APPS = ("jobs", "engineering", "reports")     # not sessions (all sign in anew) and not the sign-in log


def tables() -> list[type[models.Model]]:
    """Every table of the shop's own. Their order does not matter: rows may point ahead until the transaction ends."""
    configs = [(apps.get_app_config(label), None) for label in APPS]
    return [kind for kind in serializers.sort_dependencies(configs) if kind._meta.managed]


def schema() -> dict[str, list[str]]:
    """The migrations this database has, by app: rows fit only where they are the same."""
    applied = sorted(name for name in MigrationRecorder(connection).applied_migrations() if name[0] in APPS)
    return {label: [name for app, name in applied if app == label] for label in APPS}


def written(kind: type[models.Model]) -> Iterator[bytes]:
    """Each row as one line."""
    for row in kind._default_manager.order_by("pk").iterator(chunk_size=200):
        (found,) = serializers.serialize("python", [row])
        yield json.dumps(found, default=plain_text, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def plain_text(value: Any) -> str:
    """Times to the microsecond: the event chain's hashes rest on them."""
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, UUID | Decimal):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no form in a backup")


def read(lines: Iterable[bytes]) -> int:
    """Save each line as the row it was, past the model's own rules; how many."""
    count = 0
    for made in serializers.deserialize("python", (json.loads(line) for line in lines)):
        made.save()
        count += 1
    return count


def continue_numbering() -> None:
    """A new row gets a number above those that came with the backup."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), tables()):
            cursor.execute(statement)


def anything_there() -> str:
    """The name of a table with rows that are somebody's; "" where the shop is empty."""
    return next((str(kind._meta.verbose_name_plural) for kind in tables()
                 if kind._meta.label in ("jobs.Person", "jobs.Event", "jobs.Order") and kind._default_manager.exists()),
                "")


def engine() -> str:
    return str(settings.DATABASES["default"]["ENGINE"]).rpartition(".")[2]
