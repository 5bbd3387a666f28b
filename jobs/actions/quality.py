"""Non-conformances, the engineer's decision on them, photos, and gates passed over with a reason."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.core.files.base import ContentFile
from django.utils import timezone

from jobs import gates, passes
from jobs.access import need
from jobs.actions import events, pieces
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, when_done
from jobs.errors import BadEntry, NotAllowed, NotNow
from jobs.models import GatePass, NonConformance, Person, Photo, Piece, Stage
from jobs.photos import Picture
from jobs.stages import MOVES
from jobs.words import say

TEXT_LENGTH = 5_000
NOT_YET_A_PIECE = (Stage.ORDERED, Stage.DESIGNED, Stage.RELEASED)


@one_act
def raise_non_conformance(
    piece: Piece,
    *,
    by: Person,
    what: str,
    place: str = "",
    picture: Picture | None = None,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> NonConformance:
    """Write down what is not as it should be. From then on the piece moves on only when it is settled."""
    need(by, "hold")
    if event := events.seen(request_id, "non-conformance-raised", by, piece=piece):
        return NonConformance.objects.get(pk=event.detail["non_conformance"])
    piece = pieces.locked(piece)
    if piece.stage in NOT_YET_A_PIECE:
        raise NotNow(
            say("{piece} is {stage}; there is nothing of it on the floor yet.", piece=piece, stage=piece.stage)
        )
    made = NonConformance.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=TEXT_LENGTH),
        piece=piece,
        stage=piece.held_from or piece.stage,
        what=clean_text(what, name="what", most=TEXT_LENGTH, required=True),
        place=clean_text(place, name="place", most=200),
    )
    if picture is not None:
        _keep(picture, piece, by=by, non_conformance=made, about="non-conformance")
    events.record(
        "non-conformance-raised",
        f"{piece}: non-conformance {made.pk}: {made.what}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={
            "non_conformance": made.pk,
            "what": made.what,
            "place": made.place,
            "photo": picture.sha256 if picture else None,
        },
    )
    return made


@one_act
def decide_non_conformance(
    non_conformance: NonConformance, *, by: Person, decision: str, note: str, request_id: UUID | None = None
) -> NonConformance:
    """The engineer says what becomes of it. Remake rejects the piece in the same act."""
    need(by, "dispose")
    if events.seen(request_id, "non-conformance-decided", by, piece=non_conformance.piece):
        return NonConformance.objects.get(pk=non_conformance.pk)
    if not by.is_licensed:
        raise NotAllowed(
            say(
                "An engineer's name, licence number and jurisdiction must be on record before a decision. The shop "
                "manager can enter them."
            )
        )
    if decision not in NonConformance.Decision.values:
        raise BadEntry(say("Decide for repair, use as is, or remake."), field="decision")
    note = clean_text(note, name="reason", most=TEXT_LENGTH, required=True)
    piece = pieces.locked(non_conformance.piece)
    fields: dict[str, Any] = {
        "decision": decision,
        "decision_note": note,
        "licence_number": by.licence_number,
        "jurisdiction": by.jurisdiction,
    }
    undecided = NonConformance.objects.filter(pk=non_conformance.pk, decision="")
    if not undecided.update(**fields, decided_by=by, decided_at=timezone.now()):
        raise NotNow(say("This non-conformance was decided already. Reload to see how."))
    made = NonConformance.objects.select_related("piece__design__order").get(pk=non_conformance.pk)
    events.record(
        "non-conformance-decided",
        f"{piece}: non-conformance {made.pk}: {made.get_decision_display().lower()}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"non_conformance": made.pk, "before": "", **fields},
    )
    if decision == NonConformance.Decision.REMAKE and piece.stage not in (Stage.REJECTED, Stage.INSTALLED):
        pieces.reject(piece, by=by, reason=f"Non-conformance {made.pk}: {made.what} {note}"[: pieces.REASON_LENGTH])
    return made


@one_act
def record_repair(
    non_conformance: NonConformance, *, by: Person, note: str, request_id: UUID | None = None
) -> NonConformance:
    """The repair the engineer asked for is done, and how."""
    need(by, "produce")
    if events.seen(request_id, "non-conformance-repaired", by, piece=non_conformance.piece):
        return NonConformance.objects.get(pk=non_conformance.pk)
    note = clean_text(note, name="words on the repair", most=TEXT_LENGTH, required=True)
    piece = pieces.locked(non_conformance.piece)
    waiting = NonConformance.objects.filter(
        pk=non_conformance.pk, decision=NonConformance.Decision.REPAIR, repaired_at=None
    )
    if not waiting.update(repaired_by=by, repaired_at=timezone.now(), repair_note=note):
        raise NotNow(
            say("No repair is waiting here: it is not decided, was decided otherwise, or is repaired already.")
        )
    events.record(
        "non-conformance-repaired",
        f"{piece}: non-conformance {non_conformance.pk} repaired",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"non_conformance": non_conformance.pk, "repair_note": note},
    )
    return NonConformance.objects.select_related("piece").get(pk=non_conformance.pk)


@one_act
def add_photo(
    piece: Piece,
    *,
    by: Person,
    picture: Picture,
    about: str = "",
    note: str = "",
    non_conformance: NonConformance | None = None,
    request_id: UUID | None = None,
) -> Photo:
    need(by, "hold")
    if event := events.seen(request_id, "photo-added", by, piece=piece):
        return Photo.objects.get(pk=event.detail["photo"])
    piece = pieces.locked(piece)
    if non_conformance is not None and non_conformance.piece_id != piece.pk:
        raise BadEntry(say("That non-conformance is of another piece."), field="non_conformance")
    made = _keep(
        picture,
        piece,
        by=by,
        non_conformance=non_conformance,
        about=clean_text(about, name="subject", most=40),
        note=clean_text(note, name="note", most=TEXT_LENGTH),
        request_id=request_id,
    )
    events.record(
        "photo-added",
        f"Photo of {piece} kept",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"photo": made.pk, "sha256": made.sha256, "about": made.about},
    )
    return made


def _keep(picture: Picture, piece: Piece, *, request_id: UUID | None = None, **fields: Any) -> Photo:
    return Photo.objects.create(
        request_id=request_id or uuid4(),
        at=timezone.now(),
        piece=piece,
        file=ContentFile(picture.data, name=f"{piece.pk}-{picture.sha256[:16]}.jpg"),
        sha256=picture.sha256,
        width=picture.width,
        height=picture.height,
        **fields,
    )


@one_act
def pass_gate(piece: Piece, to_stage: str, *, by: Person, reason: str, request_id: UUID | None = None) -> GatePass:
    """Let what this person may pass over no longer count for this move. Moves nothing itself."""
    need(by, "pass")
    if event := events.seen(request_id, "gate-passed-over", by, piece=piece):
        return GatePass.objects.get(pk=event.detail["gate_pass"])
    reason = clean_text(reason, name="reason", most=TEXT_LENGTH, required=True)
    piece = pieces.locked(piece)
    if to_stage not in MOVES[Stage(piece.stage)]:
        raise NotNow(
            say(
                "{piece} is {stage}; there is no gate to {to_stage} before it.",
                piece=piece,
                stage=piece.stage,
                to_stage=str(to_stage)[:20],
            )
        )
    missing = gates.blockers(piece, to_stage)
    over = passes.to_pass(missing, by.role)
    if not over:
        raise NotNow(
            "Nothing of what is missing here may be passed over by you. "
            + (" ".join(blocker.text for blocker in missing) or "The gate is open.")
        )
    made = GatePass.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=timezone.now(),
        piece=piece,
        from_stage=piece.stage,
        to_stage=to_stage,
        codes=sorted({blocker.code for blocker in over}),
        texts=[blocker.text for blocker in over],
        reason=reason,
    )
    events.record(
        "gate-passed-over",
        f"{piece} to {to_stage}: passed over: {' '.join(made.texts)} Reason: {reason}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"gate_pass": made.pk, "to": to_stage, "codes": made.codes, "texts": made.texts, "reason": reason},
    )
    return made
