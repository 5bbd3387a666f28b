"""Links for people outside the shop: made and revoked by the manager, opened by whoever holds the code.

The code is the whole key: it stands in the link, in the square code and, in groups of four, on the printed card.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.utils import timezone

from engineering.models import JobStatus
from jobs.access import need
from jobs.actions import events
from jobs.actions.people import digest
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text
from jobs.errors import BadEntry, NotNow
from jobs.models import Order, Person, Piece
from reports.models import IssuedRecord, SharedAccess, SharingLink

# Crockford's base 32: nothing that is read as something else. Twenty of them are 100 random bits.
LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH, GROUP = 20, 4
READ_AS = str.maketrans({"O": "0", "I": "1", "L": "1"})
LONGEST = timedelta(days=366)
MOST_SHARED = 100  # pieces, and records, of one link
LONGEST_TYPED = 80


def new_code() -> str:
    """Twenty letters and digits in groups of four."""
    letters = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
    return "-".join(letters[i : i + GROUP] for i in range(0, LENGTH, GROUP))


def plain_code(typed: str) -> str:
    """The twenty letters of a code as somebody typed it: small letters, blanks, O for 0. Empty where it is none."""
    if len(typed) > LONGEST_TYPED:
        return ""
    letters = "".join(c for c in typed.upper() if c not in " -–—\t").translate(READ_AS)
    return letters if len(letters) == LENGTH and set(letters) <= set(LETTERS) else ""


def link_of(typed: str) -> SharingLink | None:
    """The link of a code, whatever its state; None for a code that no link has."""
    letters = plain_code(typed)
    found = SharingLink.objects.filter(digest=digest(letters)) if letters else SharingLink.objects.none()
    return found.select_related("order").first()


@one_act
def share(
    order: Order,
    *,
    by: Person,
    label: str,
    expires_at: datetime,
    pieces: Sequence[Piece] = (),
    records: Sequence[IssuedRecord] = (),
    request_id: UUID | None = None,
) -> tuple[SharingLink, str]:
    """(link, code). The code is given here and nowhere else; a second sending of the same tap gets it empty."""
    need(by, "share")
    if event := events.seen(request_id, "link-made", by, order=order):
        return SharingLink.objects.get(pk=event.detail["link"]), ""
    now = timezone.now()
    if not now < expires_at <= now + LONGEST:
        raise BadEntry("A link ends on a day from tomorrow to a year from now.", field="until")
    _may_be_shared(order, pieces, records)
    code = new_code()
    link = SharingLink.objects.create(
        order=order,
        label=clean_text(label, name="label", most=80, required=True),
        digest=digest(plain_code(code)),
        made_by=by,
        expires_at=expires_at,
    )
    link.pieces.set(pieces)
    link.records.set(records)
    events.record(
        "link-made",
        f"A link for {link.label} was made, until {timezone.localtime(expires_at):%Y-%m-%d}",
        by=by,
        order=order,
        detail={
            "link": link.pk,
            "pieces": sorted(piece.pk for piece in pieces),
            "records": sorted(record.pk for record in records),
            "expires_at": expires_at.isoformat(),
        },
        request_id=request_id,
    )
    return link, code


def _may_be_shared(order: Order, pieces: Sequence[Piece], records: Sequence[IssuedRecord]) -> None:
    if not pieces and not records:
        raise BadEntry("Choose at least one piece or record; a link opens nothing else.")
    if max(len(pieces), len(records)) > MOST_SHARED:
        raise BadEntry(f"A link opens at most {MOST_SHARED} pieces and as many records.")
    strange = any(piece.design.order_id != order.pk for piece in pieces)
    if strange or any(record.revision.design.order_id != order.pk for record in records):
        raise BadEntry("A link is of one order: choose pieces and records of this order.")
    if any(record.status != JobStatus.DONE for record in records):
        raise BadEntry("A record that is not issued yet cannot be shared.")


@one_act
def revoke(link: SharingLink, *, by: Person, request_id: UUID | None = None) -> SharingLink:
    """From now on the link opens nothing. NotNow where it was revoked before."""
    need(by, "share")
    if events.seen(request_id, "link-revoked", by, order=link.order):
        return SharingLink.objects.get(pk=link.pk)
    if not SharingLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=timezone.now(), revoked_by=by):
        raise NotNow("This link is revoked already.")
    events.record(
        "link-revoked",
        f"The link for {link.label} was revoked",
        by=by,
        order=link.order,
        detail={"link": link.pk},
        request_id=request_id,
    )
    return SharingLink.objects.get(pk=link.pk)


def note_look(link: SharingLink, what: str, outcome: SharedAccess.Given, *, address: str) -> None:
    """A line in the link's own log. Nobody of the shop acted, so there is no event; a record that goes out has one."""
    SharedAccess.objects.create(link=link, address=address[:45], what=what[:60], outcome=outcome)


@one_act
def note_taken(link: SharingLink, record: IssuedRecord, *, address: str) -> None:
    """A record's file goes to somebody outside: in the link's log and in the event log, before the first byte."""
    note_look(link, f"record {record.number}", SharedAccess.Given.GIVEN, address=address)
    events.record(
        "shared-record-taken",
        f"{record.number} taken through the link for {link.label}",
        by=None,
        design=record.revision.design,
        piece=record.piece,
        detail={"link": link.pk, "record": record.pk, "sha256": record.sha256},
    )
