"""The rows a record is made from, each with a hash of all it holds: a row that changes later no longer fits."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.db.models import Model

from engineering.core.contract.canonical import canonical_json
from engineering.models import CheckRun
from jobs.models import Revision


def sources_of(revision: Revision, run: CheckRun, rows: Sequence[Model]) -> list[dict[str, Any]]:
    """[{table, row, sha256}]: specification and check run by what counts in them, then the rows from the floor."""
    result = hashlib.sha256(canonical_json(run.result)).hexdigest()
    return [
        {"table": "specification", "row": revision.specification_id, "sha256": _bare(revision.specification.sha256)},
        {"table": "check run", "row": run.pk, "sha256": result},
        *({"table": str(row._meta.verbose_name), "row": row.pk, "sha256": row_hash(row)} for row in rows),
    ]


def row_hash(row: Model) -> str:
    """SHA-256 of the row's columns as canonical JSON."""
    columns = {field.attname: _plain(getattr(row, field.attname)) for field in row._meta.concrete_fields}
    return hashlib.sha256(canonical_json(columns)).hexdigest()


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date):
        return value.isoformat()
    return value if value is None or isinstance(value, bool | int | float | str | list | dict) else str(value)


def _bare(digest: str) -> str:
    return digest.removeprefix("sha256:")
