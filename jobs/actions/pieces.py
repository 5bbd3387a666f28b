"""Pieces: moved from stage to stage, held, taken up again, rejected, made again."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.utils import timezone

from jobs import gates
from jobs.access import need, need_move
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text
from jobs.errors import BadEntry, GateClosed, NotNow, StageMoved
from jobs.models import Design, Event, Order, Person, Piece, Stage, Stressing
from jobs.stages import MOVES, ON_A_BED
from jobs.standing import newest_revision
from jobs.words import say

REASON_LENGTH = 2_000


@one_act
def move(
    piece: Piece,
    to_stage: str,
    *,
    by: Person,
    request_id: UUID | None = None,
    from_stage: str | None = None,
    evidence: dict[str, Any] | None = None,
) -> Event:
    """Move a piece and write its event, or raise and change nothing.

    `from_stage`: where the page showed it; StageMoved where it is somewhere else by now. GateClosed lists what
    is missing.
    """
    need(by, "move")
    if to_stage not in Stage.values:
        raise BadEntry(say("Say to which stage; what came is none of the shop's."), field="to_stage")
    need_move(by, to_stage)
    if event := events.seen(request_id, "piece-moved", by, piece=piece):
        return event
    piece = locked(piece)
    if (from_stage and piece.stage != from_stage) or to_stage not in MOVES[Stage(piece.stage)]:
        raise StageMoved(piece, to_stage)
    if blockers := gates.blockers(piece, to_stage):
        raise GateClosed(say("{piece} was not marked {to_stage}", piece=piece, to_stage=to_stage), blockers)
    before = piece.stage
    if not _put(piece, to_stage, **_binding(piece, to_stage)):
        raise StageMoved(piece, to_stage)
    return events.record(
        "piece-moved",
        f"{piece} moved from {before} to {to_stage}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={
            "from": before,
            "to": to_stage,
            "revision": piece.revision.number if piece.revision else None,
            "evidence": evidence or {},
        },
    )


def back_to_designed(piece: Piece, *, by: Person, because: str) -> None:
    """Called by a new revision, inside its transaction, on a locked piece that is not formed yet."""
    if piece.stage == Stage.HELD:
        moved = Piece.objects.filter(pk=piece.pk, stage=Stage.HELD).update(held_from=Stage.DESIGNED, revision=None)
        before = piece.held_from
    else:
        before = piece.stage
        moved = bool(_put(piece, Stage.DESIGNED, revision=None))
    if moved:
        events.record(
            "piece-set-back",
            f"{piece} back to designed: {because}",
            by=by,
            piece=piece,
            detail={"from": before, "to": Stage.DESIGNED.value},
        )


@one_act
def hold(piece: Piece, *, by: Person, reason: str, request_id: UUID | None = None) -> Piece:
    need(by, "hold")
    if events.seen(request_id, "piece-held", by, piece=piece):
        return fresh(piece)
    reason = clean_text(reason, name="reason", most=REASON_LENGTH, required=True)
    piece = locked(piece)
    if piece.stage in (Stage.HELD, Stage.REJECTED, Stage.INSTALLED):
        raise NotNow(say("{piece} is {stage}; it cannot be held.", piece=piece, stage=piece.stage))
    _no_open_stressing(piece)
    before = piece.stage
    if not _put(piece, Stage.HELD, held_from=before, hold_reason=reason):
        raise StageMoved(piece, Stage.HELD)
    events.record(
        "piece-held",
        f"{piece} held",
        by=by,
        piece=piece,
        detail={"from": before, "reason": reason},
        request_id=request_id,
    )
    return fresh(piece)


@one_act
def resume(piece: Piece, *, by: Person, request_id: UUID | None = None) -> Piece:
    """Back to where it was held from."""
    need(by, "resume")
    if events.seen(request_id, "piece-resumed", by, piece=piece):
        return fresh(piece)
    piece = locked(piece)
    if piece.stage != Stage.HELD:
        raise NotNow(say("{piece} is not held; it is {stage}.", piece=piece, stage=piece.stage))
    back, reason = piece.held_from, piece.hold_reason
    if not _put(piece, back, held_from="", hold_reason=""):
        raise StageMoved(piece, back)
    events.record(
        "piece-resumed",
        f"{piece} taken up again at {back}",
        by=by,
        piece=piece,
        detail={"to": back, "was_held_for": reason},
        request_id=request_id,
    )
    return fresh(piece)


@one_act
def reject(piece: Piece, *, by: Person, reason: str, request_id: UUID | None = None) -> Piece:
    """For good: a rejected piece moves no more. `remake` makes another in its place."""
    need(by, "reject")
    if events.seen(request_id, "piece-rejected", by, piece=piece):
        return fresh(piece)
    reason = clean_text(reason, name="reason", most=REASON_LENGTH, required=True)
    piece = locked(piece)
    if piece.stage in (Stage.REJECTED, Stage.INSTALLED):
        raise NotNow(say("{piece} is {stage}; it cannot be rejected.", piece=piece, stage=piece.stage))
    _no_open_stressing(piece)
    before = piece.held_from or piece.stage
    if not _put(piece, Stage.REJECTED, held_from="", hold_reason=reason):
        raise StageMoved(piece, Stage.REJECTED)
    events.record(
        "piece-rejected",
        f"{piece} rejected",
        by=by,
        piece=piece,
        detail={"from": before, "reason": reason},
        request_id=request_id,
    )
    return fresh(piece)


@one_act
def remake(piece: Piece, *, by: Person, request_id: UUID | None = None) -> Piece:
    """A new piece of the same design in place of a rejected one."""
    need(by, "order")
    if event := events.seen(request_id, "piece-remade", by, piece=piece):
        return Piece.objects.get(pk=event.detail["new_piece"])
    order = Order.objects.select_for_update(of=("self",), no_key=True).get(designs=piece.design_id)
    piece = locked(piece)
    if piece.stage != Stage.REJECTED:
        raise NotNow(say("{piece} is {stage}; only a rejected piece is made again.", piece=piece, stage=piece.stage))
    if again := piece.remakes.first():
        raise NotNow(say("{piece} is made again already, as {again}.", piece=piece, again=again))
    newest = Piece.objects.filter(design=piece.design).latest("serial").serial
    made = Piece.objects.create(
        design=piece.design,
        serial=newest + 1,
        remake_of=piece,
        order_due=order.due_date,
        order_away=order.archived_at is not None,
    )
    events.record(
        "piece-remade",
        f"{made} to be made in place of {piece}",
        by=by,
        piece=piece,
        detail={"new_piece": made.pk, "serial": made.serial},
        request_id=request_id,
    )
    return made


def locked(piece: Piece) -> Piece:
    """The piece as it stands now, its design and itself locked, in that order, until the transaction ends."""
    Design.objects.select_for_update(no_key=True).get(pk=piece.design_id)
    return _pieces().select_for_update(of=("self",), no_key=True).get(pk=piece.pk)


def fresh(piece: Piece) -> Piece:
    return _pieces().get(pk=piece.pk)


def _pieces() -> Any:
    return Piece.objects.select_related("design__order", "revision__specification", "pour")


def _put(piece: Piece, stage: str, **fields: Any) -> int:
    """The one place where a stage changes: only from the stage that was read. Out of its form it is off its bed."""
    if stage not in ON_A_BED:
        fields["bed"] = ""
    return Piece.objects.filter(pk=piece.pk, stage=piece.stage).update(
        stage=stage, stage_since=timezone.now(), **fields
    )


def _binding(piece: Piece, to_stage: str) -> dict[str, Any]:
    """Released binds the piece to the revision that was accepted; going back to designed unbinds it."""
    if to_stage == Stage.RELEASED:
        return {"revision": newest_revision(piece.design)}
    if to_stage == Stage.DESIGNED:
        return {"revision": None}
    return {}


def _no_open_stressing(piece: Piece) -> None:
    if piece.stressings.filter(state=Stressing.State.OPEN).exists():
        raise NotNow(say("{piece} is being stressed. Finish or stop that first.", piece=piece))
