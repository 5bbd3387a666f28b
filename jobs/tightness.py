"""Whether the rods of a piece are still as tight as they were left, and when they are to be looked at again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from engineering.core.contract.piece import Piece as DescribedPiece
from jobs.models import Incident, Piece, Stressing

LIFT_OFF_AFTER = timedelta(hours=24)
LOOSENED = (Incident.Kind.SLACKENED, Incident.Kind.BROKEN_ROD)


def last_complete(piece: Piece) -> Stressing | None:
    done = Stressing.objects.filter(piece=piece, revision=piece.revision, state=Stressing.State.COMPLETE)
    return done.order_by("-at", "-pk").first()


def loosened_since(piece: Piece, done: Stressing | None) -> Incident | None:
    """The newest slackening or breakage after the rods were last tightened; None where they are as they were left."""
    newest = Incident.objects.filter(piece=piece, kind__in=LOOSENED).order_by("-recorded_at", "-pk").first()
    if newest is None or (done is not None and done.recorded_at > newest.recorded_at):
        return None
    return newest


@dataclass(frozen=True)
class RestressDue:
    age_days: float
    at: datetime


def restress_ages(described: DescribedPiece) -> tuple[float, ...]:
    """The ages [days from the pour] at which the drawing has every rod brought back to its force."""
    return tuple(described.stressing.restress_days) if described.stressing else ()


def restress_dues(piece: Piece, described: DescribedPiece) -> list[RestressDue]:
    """The ages at which the rods are to be brought back to their force and were not yet, counted from the pour."""
    if piece.pour is None:
        return []
    done = {row.age_days for row in piece.restressings.all() if row.within_tolerance}
    return [
        RestressDue(age, piece.pour.at + timedelta(days=age)) for age in restress_ages(described) if age not in done
    ]


def lift_off_due(stressing: Stressing) -> datetime | None:
    """From when the nuts can be lifted off; None while the round is not complete."""
    return None if stressing.finished_at is None else stressing.finished_at + LIFT_OFF_AFTER
