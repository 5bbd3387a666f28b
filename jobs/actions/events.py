"""The event chain: a row for every write, in the transaction of the write, carrying the hash of the row before.

A row's hash is the SHA-256 of its content as canonical JSON, the hash before it included, so a changed, missing or
swapped row no longer fits (`jobs.event_chain`, `manage.py verify_events`).
"""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Model
from django.utils import timezone

from jobs import tap
from jobs.errors import RequestReused
from jobs.event_chain import event_hash
from jobs.models import ChainHead, Design, Event, Order, Person, Piece

TEXT_LENGTH = 300


def record(
    verb: str,
    text: str,
    *,
    by: Person | None,
    order: Order | None = None,
    design: Design | None = None,
    piece: Piece | None = None,
    detail: dict[str, Any] | None = None,
    request_id: UUID | None = None,
) -> Event:
    """Add one event. Must be called inside the transaction of the act; the chain's head stays locked until it ends."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("An event is recorded in the transaction of the act it tells of.")
    if piece is not None:
        design = design or piece.design
    if design is not None:
        order = order or design.order
    head = lock_book()
    event = Event(
        sequence=head.sequence + 1,
        at=timezone.now(),
        by=by,
        verb=verb,
        text=text[:TEXT_LENGTH],
        order=order,
        design=design,
        piece=piece,
        detail=(detail or {}) | tap.current().detail(),
        request_id=request_id,
        previous_hash=head.hash,
    )
    event.hash = event_hash(event)
    event.save(force_insert=True)
    ChainHead.objects.filter(pk=head.pk).update(sequence=event.sequence, hash=event.hash)
    return event


def lock_book() -> ChainHead:
    """The chain's head, locked until the transaction ends: by row on PostgreSQL; on SQLite it holds the write lock
    already.

    Every act comes through here in the end. One that rests on what no other row can be locked for (the first manager,
    the last one) comes here first.
    """
    heads = ChainHead.objects.select_for_update(no_key=True)
    head = heads.filter(pk=1).first()
    if head is None:
        ChainHead.objects.get_or_create(pk=1)
        head = heads.get(pk=1)
    return head


def seen(request_id: UUID | None, verb: str, by: Person, **of: Model) -> Event | None:
    """The event this tap made when it first came, if it did. RequestReused if its number belongs to something else.

    `of` names what the act is on (`order=`, `design=` or `piece=`).
    """
    if request_id is None:
        return None
    event = Event.objects.filter(request_id=request_id).select_related("order", "design", "piece").first()
    if event is None:
        return None
    same = event.verb == verb and event.by_id == by.pk
    if not same or any(getattr(event, f"{name}_id") != row.pk for name, row in of.items()):
        raise RequestReused
    return event
