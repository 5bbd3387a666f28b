"""What was physically done and had waited on a tablet, though the book would not have let it be done."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from jobs.access import need
from jobs.actions import events, pieces
from jobs.actions.transactions import one_act
from jobs.entry_values import when_done
from jobs.models import KeptFact, NonConformance, Person, Piece

VERB = "fact-kept"
MOST = 5_000


@one_act
def keep_fact(
    piece: Piece,
    *,
    by: Person,
    kind: str,
    what: str,
    typed: Sequence[tuple[str, str]],
    refusal_code: str,
    refusal: str,
    request_id: UUID,
) -> KeptFact:
    """Keep the entry as it was typed, beside the refusal, and raise a non-conformance for the engineer.

    It counts as no reading, pour or move: what follows from it is the engineer's to say.
    """
    need(by, "produce")
    if event := events.seen(request_id, VERB, by, piece=piece):
        return KeptFact.objects.select_related("non_conformance").get(pk=event.detail["fact"])
    piece = pieces.locked(piece)
    at = when_done(None)
    told = "; ".join(f"{label}: {value}" for label, value in typed if value)
    wrong = NonConformance.objects.create(
        by=by,
        at=at,
        piece=piece,
        stage=piece.held_from or piece.stage,
        what=f"{what}, though the book would not have let it. {refusal} Typed on the tablet: {told}."[:MOST],
    )
    made = KeptFact.objects.create(
        request_id=request_id,
        by=by,
        at=at,
        piece=piece,
        kind=kind,
        typed=[list(pair) for pair in typed],
        refusal_code=refusal_code,
        refusal=refusal,
        non_conformance=wrong,
    )
    events.record(
        VERB,
        f"{piece}: {what}, against a closed gate; kept as a fact. Non-conformance {wrong.pk}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={
            "fact": made.pk,
            "non_conformance": wrong.pk,
            "kind": kind,
            "typed": made.typed,
            "refusal_code": refusal_code,
            "refusal": refusal,
        },
    )
    return made
