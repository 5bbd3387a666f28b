"""Dates of the plan: when a piece is to be poured. Due dates are the order's own (`jobs.actions.orders`)."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from jobs.access import need
from jobs.actions import events
from jobs.actions.pieces import fresh, locked
from jobs.actions.transactions import one_act
from jobs.errors import BadEntry, NothingChanged, NotNow
from jobs.models import Person, Piece
from jobs.schedule import BEFORE_POUR
from jobs.words import say


@one_act
def plan_pour(
    piece: Piece, *, by: Person, on: date | None, seen: tuple[date | None] | None = None, request_id: UUID | None = None
) -> Piece:
    """Set, move or take away the day a piece is to be poured. `seen`: the day that stood there when it was looked at,
    None in it for none; NotNow where somebody has set another since.
    """
    need(by, "order")
    if events.seen(request_id, "pour-planned", by, piece=piece):
        return fresh(piece)
    piece = locked(piece)
    if (piece.held_from or piece.stage) not in BEFORE_POUR:
        raise NotNow(f"{piece} is {piece.stage}; its pour cannot be planned any more.")
    if on is not None and not 2000 <= on.year <= 2200:
        raise BadEntry("That day cannot be right.", field="on")
    if on == piece.pour_planned:
        raise NothingChanged
    before = piece.pour_planned
    if seen is not None and seen != (before,):
        day = f"{before:%-d %b %Y}" if before else say("no day")
        raise NotNow(
            say("Somebody has set {day} for {piece} meanwhile. Look at it, then set yours.", day=day, piece=piece)
        )
    Piece.objects.filter(pk=piece.pk).update(pour_planned=on)
    events.record(
        "pour-planned",
        f"Pour of {piece} {f'planned for {on:%-d %b %Y}' if on else 'no longer planned'}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"before": before.isoformat() if before else None, "after": on.isoformat() if on else None},
    )
    return fresh(piece)
