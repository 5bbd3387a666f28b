"""Reading check runs: the latest of a specification, and the piece its document describes."""

from __future__ import annotations

from django.db.models import OuterRef, Subquery

from engineering.core.contract import parse
from engineering.core.contract.piece import Piece
from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun, Specification


def latest_run(specification: Specification) -> CheckRun | None:
    """The run by the engine of today, or else the newest there is; None before the first."""
    runs = CheckRun.objects.filter(specification=specification)
    return runs.filter(engine_version=ENGINE_VERSION).first() or runs.order_by("-pk").first()


def latest_run_ids(specification_ref: str) -> Subquery:
    """Subquery for a list of rows: the newest run of the specification at `specification_ref`."""
    runs = CheckRun.objects.filter(specification=OuterRef(specification_ref)).order_by("-pk")
    return Subquery(runs.values("pk")[:1])


def described_piece(specification: Specification) -> Piece:
    """The specification as plain values in US units, every default filled in."""
    return parse(specification.document)
