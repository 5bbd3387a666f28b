"""Files hung on an order or a piece, and taken off it again by a counter-entry."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.core.files.base import ContentFile
from django.utils import timezone

from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.attachments import Upload
from jobs.entry_values import clean_text
from jobs.errors import BadEntry, NotNow
from jobs.models import Attachment, AttachmentRemoval, Order, Person, Piece
from jobs.words import say

TEXT_LENGTH = 5_000
MOST_OF_AN_ORDER = 500


@one_act
def attach(
    order: Order,
    *,
    by: Person,
    upload: Upload,
    piece: Piece | None = None,
    note: str = "",
    request_id: UUID | None = None,
) -> Attachment:
    """Keep a file with the order, or with one piece of it."""
    need(by, "attach")
    if event := events.seen(request_id, "attachment-kept", by, order=order):
        return Attachment.objects.get(pk=event.detail["attachment"])
    note = clean_text(note, name="note", most=TEXT_LENGTH)
    order = Order.objects.select_for_update(no_key=True).get(pk=order.pk)
    if order.archived_at is not None:
        raise NotNow(say("Order {number} is put away; nothing is added to it.", number=order.number))
    if piece is not None and piece.design.order_id != order.pk:
        raise BadEntry(say("That piece is of another order."), field="piece")
    there = Attachment.objects.filter(order=order, removal=None)
    if there.count() >= MOST_OF_AN_ORDER:
        raise NotNow(say("Order {number} has {most} files; no more fit.", number=order.number, most=MOST_OF_AN_ORDER))
    if there.filter(sha256=upload.sha256, piece=piece).exists():
        raise NotNow(say("The very same file is here already."))
    made = Attachment.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=timezone.now(),
        note=note,
        order=order,
        piece=piece,
        file=ContentFile(upload.data, name=f"{order.pk}-{upload.sha256[:16]}.{upload.kind.value}"),
        name=upload.name,
        kind=upload.kind,
        size=len(upload.data),
        sha256=upload.sha256,
    )
    events.record(
        "attachment-kept",
        f"File {made.name} kept with {piece or order}",
        by=by,
        order=order,
        piece=piece,
        request_id=request_id,
        detail={"attachment": made.pk, "name": made.name, "size": made.size, "sha256": made.sha256},
    )
    return made


@one_act
def take_off(attachment: Attachment, *, by: Person, reason: str, request_id: UUID | None = None) -> AttachmentRemoval:
    """It is on no list any more. Whoever kept it may, and the office. The row, and the file, stay."""
    need(by, "attach" if attachment.by_id == by.pk else "order")
    if event := events.seen(request_id, "attachment-taken-off", by, order=attachment.order):
        return AttachmentRemoval.objects.get(pk=event.detail["removal"])
    reason = clean_text(reason, name="reason", most=TEXT_LENGTH, required=True)
    Order.objects.select_for_update(no_key=True).get(pk=attachment.order_id)
    if AttachmentRemoval.objects.filter(attachment=attachment).exists():
        raise NotNow(say("{name} is taken off already.", name=attachment.name))
    made = AttachmentRemoval.objects.create(
        request_id=request_id or uuid4(), by=by, at=timezone.now(), note=reason, attachment=attachment
    )
    events.record(
        "attachment-taken-off",
        f"File {attachment.name} taken off: {reason}",
        by=by,
        order=attachment.order,
        piece=attachment.piece,
        request_id=request_id,
        detail={"attachment": attachment.pk, "removal": made.pk, "sha256": attachment.sha256, "reason": reason},
    )
    return made
