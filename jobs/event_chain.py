"""Reading the event chain: the hash of a row, and what no longer fits."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC

from engineering.core.contract.canonical import canonical_json
from jobs.models import ChainHead, Event

START = "0" * 64


def event_hash(event: Event) -> str:
    """SHA-256 of the row's content as canonical JSON (RFC 8785: a number reads the same however a database hands
    it back).
    """
    content = {
        "sequence": event.sequence,
        "at": event.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "by": event.by_id,
        "verb": event.verb,
        "text": event.text,
        "order": event.order_id,
        "design": event.design_id,
        "piece": event.piece_id,
        "detail": event.detail,
        "request_id": str(event.request_id) if event.request_id else None,
        "previous_hash": event.previous_hash,
    }
    return hashlib.sha256(canonical_json(content)).hexdigest()


def faults() -> Iterator[str]:
    """What does not fit, one line each, in order of the chain; nothing where all rows are as they were written."""
    number, before = 0, START
    for event in Event.objects.order_by("sequence").iterator(chunk_size=2000):
        if event.sequence != number + 1:
            yield _missing(number + 1, event.sequence - 1)
        elif event.previous_hash != before:
            yield f"Event {event.sequence} does not follow from event {number}: one was swapped or put in later."
        if event.hash != event_hash(event):
            yield f"Event {event.sequence} ({event.verb}) was changed after it was written."
        number, before = event.sequence, event.hash
    head = ChainHead.objects.filter(pk=1).first() or ChainHead(sequence=0, hash=START)
    if head.sequence > number:
        yield _missing(number + 1, head.sequence)
    elif (head.sequence, head.hash) != (number, before):
        last = f"but the last event is {number}"
        yield f"The chain's head says event {head.sequence}, {last}: rows were added past the book."


def _missing(first: int, last: int) -> str:
    return f"Event {first} is missing." if first == last else f"Events {first} to {last} are missing."
