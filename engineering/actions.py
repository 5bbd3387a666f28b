"""Writes of the engineering tables: a specification is taken in, its checks are asked for.

The events are for jobs to write.
"""

from __future__ import annotations

from typing import Any

from django.db import transaction

from engineering.core.contract import canonical_hash, parse
from engineering.core.contract.piece import Piece
from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun, JobStatus, Specification
from engineering.tasks import perform_check_run


def accept(document: Any) -> Specification:
    """Store an accepted document with a check run that waits; SpecificationRefused otherwise, with every fault."""
    piece = parse(document)
    with transaction.atomic():
        specification = Specification.objects.create(
            document=document,
            sha256=canonical_hash(document),
            mark=piece.mark,
            title=piece.title,
            units=piece.units,
            **dated(piece),
        )
        _wait(specification)
    return specification


def dated(piece: Piece) -> dict[str, Any]:
    """The columns of a specification by which lists of dates go."""
    stressing = piece.stressing if piece.rods else None
    return {
        "stressing_age_days": stressing.age_days if stressing else None,
        "stressing_psi": piece.concrete.strength_at_stressing_psi if stressing else None,
        "restress_days": ",".join(f"{age!r}" for age in piece.stressing.restress_days) if piece.stressing else "",
    }


def ask_again(specification: Specification) -> CheckRun | None:
    """A waiting run by the engine of today: for a run that broke off, or by an older engine. None where one is
    under way or done.
    """
    with transaction.atomic():
        run = CheckRun.objects.filter(specification=specification, engine_version=ENGINE_VERSION).first()
        if run is None:
            return _wait(specification)
        broken = CheckRun.objects.filter(pk=run.pk, status=JobStatus.BROKEN)
        if not broken.update(
            status=JobStatus.WAITING, problem="", attempts=0, claim="", lease_until=None, finished_at=None
        ):
            return None
        perform_check_run.delay_on_commit(run.pk)  # type: ignore[attr-defined]  # the app's task class has it
        run.refresh_from_db()
        return run


def _wait(specification: Specification) -> CheckRun:
    run = CheckRun.objects.create(specification=specification, engine_version=ENGINE_VERSION)
    perform_check_run.delay_on_commit(run.pk)  # type: ignore[attr-defined]  # the app's task class has it
    return run
