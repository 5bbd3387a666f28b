"""Orders: made, edited, archived."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from django.utils import timezone

from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text
from jobs.errors import BadEntry, EditConflict, NothingChanged, NotNow, Taken
from jobs.models import Order, Person, Piece

EDITABLE = ("client", "site", "due_date", "notes", "number")


@one_act
def create_order(
    by: Person,
    *,
    number: str,
    client: str,
    site: str = "",
    due_date: date | None = None,
    notes: str = "",
    request_id: UUID | None = None,
) -> Order:
    need(by, "order")
    if (event := events.seen(request_id, "order-made", by)) and event.order:
        return event.order
    fields = _clean(number=number, client=client, site=site, due_date=due_date, notes=notes)
    _number_is_free(fields["number"])
    order = Order.objects.create(**fields)
    events.record(
        "order-made", f"Order {order.number} made", by=by, order=order, detail=_shown(fields), request_id=request_id
    )
    return order


@one_act
def edit_order(order: Order, *, by: Person, version: int, request_id: UUID | None = None, **fields: Any) -> Order:
    """Change some fields. `version` is the one the page showed: EditConflict where somebody saved in between."""
    need(by, "order")
    if events.seen(request_id, "order-edited", by, order=order):
        return Order.objects.get(pk=order.pk)
    if unknown := set(fields) - set(EDITABLE):
        raise BadEntry(f"An order has no {', '.join(sorted(unknown))} to change.")
    now = Order.objects.select_for_update(no_key=True).get(pk=order.pk)
    if now.version != version:
        raise EditConflict(newest=now)
    fields = {name: value for name, value in _clean(**fields).items() if value != getattr(now, name)}
    if not fields:
        raise NothingChanged
    if "number" in fields:
        _number_is_free(fields["number"])
    before = {name: getattr(now, name) for name in fields}
    if not Order.objects.filter(pk=now.pk, version=version).update(version=F("version") + 1, **fields):
        raise EditConflict(newest=now)
    if "due_date" in fields:
        _pieces_of(now).update(order_due=fields["due_date"])
    events.record(
        "order-edited",
        f"Order {now.number}: {', '.join(fields)} changed",
        by=by,
        order=now,
        detail={"before": _shown(before), "after": _shown(fields)},
        request_id=request_id,
    )
    return Order.objects.get(pk=now.pk)


@one_act
def archive_order(order: Order, *, by: Person, request_id: UUID | None = None) -> Order:
    need(by, "order")
    if events.seen(request_id, "order-archived", by, order=order):
        return Order.objects.get(pk=order.pk)
    if not Order.objects.filter(pk=order.pk, archived_at=None).update(
        archived_at=timezone.now(), version=F("version") + 1
    ):
        raise NotNow(f"Order {order.number} is archived already.")
    _pieces_of(order).update(order_away=True)
    events.record("order-archived", f"Order {order.number} archived", by=by, order=order, request_id=request_id)
    return Order.objects.get(pk=order.pk)


def _pieces_of(order: Order) -> QuerySet[Piece]:
    """They carry the day and whether it is put away; the order's row is locked by whoever changes either."""
    return Piece.objects.filter(design__order=order)


def _clean(**fields: Any) -> dict[str, Any]:
    kept = dict(fields)
    for name, most, required in (
        ("number", 20, True),
        ("client", 120, True),
        ("site", 200, False),
        ("notes", 10_000, False),
    ):
        if name in kept:
            kept[name] = clean_text(kept[name], name=name, most=most, required=required)
    return kept


def _number_is_free(number: str) -> None:
    if Order.objects.filter(number=number).exists():
        raise Taken(f"There is an order {number} already. Choose another number.")


def _shown(fields: dict[str, Any]) -> dict[str, Any]:
    return {name: str(value) if isinstance(value, date) else value for name, value in fields.items()}
