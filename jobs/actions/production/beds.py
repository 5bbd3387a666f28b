"""Which curing bed a piece lies on."""

from __future__ import annotations

from uuid import UUID

from jobs.access import need
from jobs.actions import events
from jobs.actions.pieces import fresh, locked
from jobs.actions.transactions import one_act
from jobs.errors import BadEntry, NothingChanged, NotNow
from jobs.models import Person, Piece, Shop
from jobs.stages import ON_A_BED
from jobs.words import say


@one_act
def lay_on_bed(piece: Piece, *, by: Person, bed: str, request_id: UUID | None = None) -> Piece:
    """`bed`: one of the shop's, or empty to take it off. NotNow where another piece lies there; it comes off by itself
    when it is stripped.
    """
    need(by, "produce")
    if events.seen(request_id, "bed-taken", by, piece=piece):
        return fresh(piece)
    events.lock_book()  # two pieces for one bed at the same moment come one after the other
    piece = locked(piece)
    if piece.stage not in ON_A_BED:
        raise NotNow(say("{piece} is {stage}; it lies on no curing bed.", piece=piece, stage=piece.stage))
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    if bed and bed not in shop.beds:
        raise BadEntry(say("The shop has no bed of that name. Choose one of the list."), field="bed")
    if bed == piece.bed:
        raise NothingChanged
    other = Piece.objects.filter(bed=bed).select_related("design").first() if bed else None
    if other is not None:
        raise NotNow(say("{bed} is taken: {other} lies on it. Choose another bed.", bed=bed, other=other))
    before = piece.bed
    Piece.objects.filter(pk=piece.pk).update(bed=bed)
    events.record(
        "bed-taken",
        f"{piece} {f'lies on {bed}' if bed else 'lies on no bed'}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"before": before, "after": bed},
    )
    return fresh(piece)
