"""Slackening, a broken rod, an incident: written down, and what is under way is stopped."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid4

from django.utils import timezone

from engineering.queries import described_piece
from jobs.access import need
from jobs.actions import events, pieces, quality
from jobs.actions.pieces import locked
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, when_done
from jobs.errors import BadEntry
from jobs.models import Incident, Person, Piece, Stage, Stressing
from jobs.procedures import PROCEDURES
from jobs.words import say

NOTE_LENGTH = 5_000


@one_act
def record_incident(
    piece: Piece,
    *,
    by: Person,
    kind: str,
    what: str,
    rods: Sequence[str] = (),
    somebody_hurt: bool = False,
    confirmed: Sequence[str] = (),
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> Incident:
    """Slackening, a broken rod or an incident. It ends a stressing under way; a breakage or an incident also holds
    the piece and raises a non-conformance. It is a fact, so it is taken at every stage.
    """
    need(by, "produce")
    if event := events.seen(request_id, "incident-recorded", by, piece=piece):
        return Incident.objects.get(pk=event.detail["incident"])
    if kind not in PROCEDURES:
        raise BadEntry(say("Say whether rods were slackened, a rod broke, or it was an incident."), field="kind")
    procedure, piece = PROCEDURES[kind], locked(piece)
    steps = [step for step in procedure.first if step in confirmed]
    if procedure.planned and len(steps) < len(procedure.first):
        raise BadEntry(say("Every step has to be confirmed first. Nothing was written."), field="confirmed")
    made = Incident.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        kind=kind,
        rods=_rods_of(piece, rods, needed=kind != Incident.Kind.INCIDENT),
        what=clean_text(what, name="account", most=NOTE_LENGTH, required=True),
        somebody_hurt=somebody_hurt is True,
        confirmed=steps,
    )
    events.record(
        "incident-recorded",
        f"{piece}: {made.get_kind_display().lower()}{', SOMEBODY WAS HURT' if made.somebody_hurt else ''}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"incident": made.pk, "kind": kind, "rods": made.rods, "what": made.what, "confirmed": steps},
    )
    _stop_what_is_under_way(made)
    if procedure.holds:
        _hold(made)
    return made


def _rods_of(piece: Piece, rods: Sequence[str], *, needed: bool) -> list[str]:
    known = [rod.mark for rod in described_piece(piece.revision.specification).rods] if piece.revision else []
    if unknown := [rod for rod in rods if rod not in known]:
        raise BadEntry(
            say("{piece} has no rod {join}.", piece=piece, join=", ".join(str(rod)[:40] for rod in unknown)),
            field="rods",
        )
    if needed and not rods:
        raise BadEntry(say("Say which rods."), field="rods")
    return [rod for rod in known if rod in rods]


def _stop_what_is_under_way(incident: Incident) -> None:
    piece = incident.piece
    under_way = Stressing.objects.filter(piece=piece, state=Stressing.State.OPEN)
    if under_way.update(state=Stressing.State.STOPPED, finished_at=timezone.now()):
        events.record(
            "stressing-stopped",
            f"Stressing of {piece} stopped: {incident.get_kind_display().lower()}",
            by=incident.by,
            piece=piece,
            detail={"incident": incident.pk, "reason": incident.what},
        )


def _hold(incident: Incident) -> None:
    piece, words = incident.piece, f"{incident.get_kind_display()}: {incident.what}"
    if piece.stage not in quality.NOT_YET_A_PIECE:
        quality.raise_non_conformance(piece, by=incident.by, what=words, place=", ".join(incident.rods)[:200])
    if piece.stage not in (Stage.HELD, Stage.REJECTED, Stage.INSTALLED):
        pieces.hold(piece, by=incident.by, reason=words[: pieces.REASON_LENGTH])
