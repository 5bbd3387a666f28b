"""Designs and orders copied, and a piece list taken in: the newest drawing of one becomes revision A of another."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import UUID

from jobs.access import need
from jobs.actions import designs, events, orders
from jobs.actions.transactions import one_act
from jobs.errors import BadEntry
from jobs.models import Design, Order, Person, Piece, Revision, Stage
from jobs.piece_list import read_list


@one_act
def copy_design(
    design: Design,
    *,
    by: Person,
    order: Order,
    mark: str,
    pieces: int = 1,
    title: str = "",
    request_id: UUID | None = None,
) -> Design:
    """Its newest drawing under another mark; checked anew, released anew."""
    need(by, "specify")
    return designs.create_design(
        order,
        by=by,
        document=_document(design, mark),
        title=title or design.title,
        pieces=pieces,
        load_test_required=design.load_test_required,
        request_id=request_id,
    )


def _document(design: Design, mark: str) -> dict[str, Any]:
    newest = Revision.objects.filter(design=design).select_related("specification").latest("number")
    return {**newest.specification.document, "mark": mark}


@one_act
def copy_order(
    order: Order,
    *,
    by: Person,
    number: str,
    due_date: date | None = None,
    request_id: UUID | None = None,
) -> Order:
    """A new order for the same client with the newest drawing of every design and as many pieces of each."""
    need(by, "order")
    if (event := events.seen(request_id, "order-made", by)) and event.order:
        return event.order
    made = orders.create_order(
        by,
        number=number,
        client=order.client,
        site=order.site,
        due_date=due_date,
        notes=order.notes,
        request_id=request_id,
    )
    for design in order.designs.order_by("mark"):
        live = Piece.objects.filter(design=design).exclude(stage=Stage.REJECTED).count()
        copy_design(design, by=by, order=made, mark=design.mark, pieces=max(live, 1), title=design.title)
    return made


@one_act
def take_list(order: Order, *, by: Person, text: str, request_id: UUID | None = None) -> int:
    """The pieces of a CSV list, all or none: ListRefused names every fault by row. Returns the number of pieces."""
    need(by, "order")
    if event := events.seen(request_id, "list-taken", by, order=order):
        return int(event.detail["pieces"])
    if order.archived_at:
        raise BadEntry("This order is put away.", field="file")
    rows = read_list(text, order)
    for row in rows:
        if row.design is not None:
            designs.add_pieces(row.design, by=by, count=row.pieces)
        elif row.like is not None:
            copy_design(row.like, by=by, order=order, mark=row.mark, pieces=row.pieces, title=row.title)
    count = sum(row.pieces for row in rows)
    events.record(
        "list-taken",
        f"A list taken in: marks {len(rows)}, pieces {count}",
        by=by,
        order=order,
        request_id=request_id,
        detail={"rows": len(rows), "pieces": count, "marks": [row.mark for row in rows]},
    )
    return count
