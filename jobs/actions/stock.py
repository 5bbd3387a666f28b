"""Lots of rods, sleeves and the rest with their certificates, and which piece took what."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID, uuid4

from django.utils import timezone

from engineering.queries import described_piece
from jobs.access import need
from jobs.actions import events
from jobs.actions.pieces import locked
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text
from jobs.errors import BadEntry, NotNow, Taken
from jobs.models import LotUse, Person, Piece, StockLot
from jobs.words import say

NOT_USED_IN_A_PIECE = (StockLot.Kind.LOAD_CELL,)


@one_act
def save_lot(
    *,
    by: Person,
    kind: str,
    lot: str,
    description: str,
    supplier: str = "",
    certificate: str = "",
    received_on: date | None = None,
    valid_until: date | None = None,
    active: bool = True,
    row: StockLot | None = None,
) -> StockLot:
    """A new lot, or `row` changed."""
    need(by, "shop")
    if kind not in StockLot.Kind.values:
        raise BadEntry("Say what kind of thing it is.", field="kind")
    fields: dict[str, Any] = {
        "kind": kind,
        "lot": clean_text(lot, name="lot", most=80, required=True),
        "description": clean_text(description, name="description", most=120, required=True),
        "supplier": clean_text(supplier, name="supplier", most=120),
        "certificate": clean_text(certificate, name="certificate", most=120),
        "received_on": received_on,
        "valid_until": valid_until,
        "active": active,
    }
    if StockLot.objects.filter(kind=kind, lot=fields["lot"]).exclude(pk=row.pk if row else 0).exists():
        raise Taken(f"Lot {fields['lot']} is in the book already.")
    saved = StockLot(pk=row.pk if row else None, **fields)
    saved.save(force_update=row is not None)
    days = {name: fields[name].isoformat() if fields[name] else None for name in ("received_on", "valid_until")}
    events.record("lot-saved", f"{saved} saved", by=by, detail={"stock_lot": saved.pk, **fields, **days})
    return saved


@one_act
def use_lot(
    piece: Piece,
    *,
    by: Person,
    lot: StockLot,
    rods: Sequence[str] = (),
    note: str = "",
    request_id: UUID | None = None,
) -> LotUse:
    """This lot went into this piece; `rods`: into which of them, empty for all or for none in particular."""
    need(by, "produce")
    if event := events.seen(request_id, "lot-used", by, piece=piece):
        return LotUse.objects.get(pk=event.detail["lot_use"])
    piece = locked(piece)
    if piece.revision is None:
        raise NotNow(say("{piece} is bound to no drawing yet; nothing can have gone into it.", piece=piece))
    if not lot.active or lot.kind in NOT_USED_IN_A_PIECE:
        raise BadEntry(say("{lot} is not one that goes into a piece now.", lot=lot), field="lot")
    known = [rod.mark for rod in described_piece(piece.revision.specification).rods]
    if unknown := [rod for rod in rods if rod not in known]:
        raise BadEntry(f"{piece} has no rod {', '.join(str(rod)[:40] for rod in unknown)}.", field="rods")
    made = LotUse.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=timezone.now(),
        note=clean_text(note, name="note", most=5_000),
        piece=piece,
        lot=lot,
        rods=[rod for rod in known if rod in rods],
    )
    events.record(
        "lot-used",
        f"{lot} used in {piece}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"lot_use": made.pk, "stock_lot": lot.pk, "lot": lot.lot, "rods": made.rods},
    )
    return made
