"""Stressing: started against the gate, read rod by rod and step by step, finished or stopped."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.utils import timezone

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.models import JobStatus
from engineering.queries import described_piece
from jobs import gates, targets
from jobs.access import need
from jobs.actions import events
from jobs.actions.pieces import locked
from jobs.actions.production.readings import open_round
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number_or_none, when_done
from jobs.errors import BadEntry, Blocker, GateClosed, NotNow
from jobs.floor_gates import CREW
from jobs.models import Person, Piece, Release, Revision, Stressing, Wrench
from jobs.words import say

NOTE_LENGTH = 5_000


@one_act
def start_stressing(
    piece: Piece,
    *,
    by: Person,
    wrench: Wrench | None = None,
    gauge_resolution_in: float | None = None,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> Stressing:
    """Open the round, with the targets as the released result has them. GateClosed below strength, whoever asks."""
    need(by, "produce")
    if event := events.seen(request_id, "stressing-started", by, piece=piece):
        return Stressing.objects.get(pk=event.detail["stressing"])
    piece = locked(piece)
    if blockers := gates.stressing_blockers(piece, wrench):
        raise GateClosed(say("{piece} may not be stressed", piece=piece), blockers)
    if Stressing.objects.filter(piece=piece, state=Stressing.State.OPEN).exists():
        raise NotNow(say("{piece} is being stressed already. Go on there, or stop it.", piece=piece))
    revision, described, wanted = released_targets(piece)
    if described.stressing and described.stressing.method == "torque" and wrench is None:
        raise BadEntry(say("Say which torque wrench is used."), field="wrench")
    made = Stressing.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        revision=revision,
        wrench=wrench,
        targets=wanted,
        gauge_resolution_in=number_or_none(
            gauge_resolution_in, name="smallest step of the gauge", least=1e-5, most=1, unit="in"
        ),
    )
    events.record(
        "stressing-started",
        f"Stressing of {piece} started",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"stressing": made.pk, "revision": revision.number, "wrench": wrench.pk if wrench else None},
    )
    return made


def released_targets(piece: Piece) -> tuple[Revision, DescribedPiece, dict[str, Any]]:
    """The drawing a piece is bound to, and what its rods are to show. NotNow where none is released."""
    released = (
        Release.objects.filter(revision=piece.revision).select_related("check_run", "revision__specification").first()
    )
    if released is None or released.check_run.status != JobStatus.DONE:
        raise NotNow(
            say("{piece} is bound to no released drawing, so there are no targets. Ask the engineer.", piece=piece)
        )
    described = described_piece(released.revision.specification)
    return released.revision, described, targets.targets_from(released.check_run, described)


@one_act
def finish_stressing(stressing: Stressing, *, by: Person, request_id: UUID | None = None) -> Stressing:
    """Close the round: every rod at its last step and within tolerance."""
    need(by, "produce")
    if events.seen(request_id, "stressing-finished", by, piece=stressing.piece):
        return Stressing.objects.get(pk=stressing.pk)
    stressing = open_round(stressing)
    if out := [*targets.rods_out(stressing), *_crown_out(stressing)]:
        raise GateClosed(say("The stressing was not finished"), [Blocker("rod-out", words, CREW) for words in out])
    _close(stressing, Stressing.State.COMPLETE)
    events.record(
        "stressing-finished",
        f"Stressing of {stressing.piece} finished",
        by=by,
        piece=stressing.piece,
        detail={"stressing": stressing.pk},
        request_id=request_id,
    )
    return Stressing.objects.get(pk=stressing.pk)


@one_act
def stop_stressing(stressing: Stressing, *, by: Person, reason: str, request_id: UUID | None = None) -> Stressing:
    """Break the round off; a new one starts from the first turn."""
    need(by, "produce")
    if events.seen(request_id, "stressing-stopped", by, piece=stressing.piece):
        return Stressing.objects.get(pk=stressing.pk)
    reason = clean_text(reason, name="reason", most=2_000, required=True)
    stressing = open_round(stressing)
    _close(stressing, Stressing.State.STOPPED)
    events.record(
        "stressing-stopped",
        f"Stressing of {stressing.piece} stopped",
        by=by,
        piece=stressing.piece,
        detail={"stressing": stressing.pk, "reason": reason},
        request_id=request_id,
    )
    return Stressing.objects.get(pk=stressing.pk)


def _close(stressing: Stressing, state: str) -> None:
    still_open = Stressing.objects.filter(pk=stressing.pk, state=Stressing.State.OPEN)
    if not still_open.update(state=state, finished_at=timezone.now()):
        raise NotNow(say("This stressing was closed meanwhile."))


def _crown_out(stressing: Stressing) -> list[str]:
    """The crown is read once every rod is tight, with the last reading or a later one of the last step."""
    last = len(stressing.targets["steps"]) - 1
    read = stressing.newest_readings
    if not any(reading.crown_in is not None for (_, step), reading in read.items() if step == last):
        return [say("The crown was not measured at the last step.")]
    return []
