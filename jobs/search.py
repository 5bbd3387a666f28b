"""Looking for something anywhere in the book: by kind, capped, one query a kind however much is found.

Every word has to be found in one of a row's fields. What a person may not see is not looked for.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet
from django.urls import reverse
from django.utils.http import urlencode

from jobs import access
from jobs.models import (
    Attachment,
    BatchTicket,
    Design,
    Mix,
    NonConformance,
    Order,
    Person,
    Piece,
    Pour,
    StandardPiece,
    StockLot,
    Wrench,
)
from jobs.words import here, say, tell

LONGEST, MOST_WORDS = 100, 8  # of what is typed
SHOWN = 10  # of a kind
RECORDS = say("Records")  # found by `reports`, under this title
SERIAL = re.compile(r"(.+)/(\d{1,5})")


@dataclass(frozen=True)
class Found:
    """One row: its name, where its page is ("" where the person has none), a few words on it."""

    name: str
    url: str
    about: str


@dataclass(frozen=True)
class Kind:
    """`rows` of a text, and what one of them is as `Found` for a person; `permission` to see any of them."""

    title: str
    rows: Callable[[str], QuerySet[Any]]
    shown: Callable[[Any, Any], Found]
    permission: str = "view"


@dataclass(frozen=True)
class Group:
    title: str
    found: list[Found]
    more: bool  # than are shown


def search(kinds: Iterable[Kind], text: str, person: Any) -> list[Group]:
    """The kinds of which something was found, in their order; nothing for a blank text."""
    groups = []
    for kind in kinds if text.strip() else ():
        if access.may(person, kind.permission):
            rows = list(kind.rows(text.strip())[: SHOWN + 1])
            found = [kind.shown(row, person) for row in rows[:SHOWN]]
            groups.append(Group(here(kind.title), found, len(rows) > SHOWN))
    return [group for group in groups if group.found]


def words_in(text: str, *fields: str) -> Q:
    """Each word of the text in one of the fields."""
    wanted = Q()
    for word in text.split()[:MOST_WORDS]:
        one = Q()
        for field in fields:
            one |= Q(**{f"{field}__icontains": word})
        wanted &= one
    return wanted


# ---- what is looked for ----------------------------------------------------------------------------------------------


def _orders(text: str) -> QuerySet[Order]:
    return Order.objects.filter(words_in(text, "number", "client", "site", "notes")).order_by("-created_at", "-pk")


def _order(row: Order, person: Any) -> Found:
    state = tell("put away") if row.archived_at else ""
    return Found(row.number, reverse("order", args=[row.pk]), _joined(row.client, row.site, state))


def _clients(text: str) -> QuerySet[Any]:
    rows = Order.objects.filter(words_in(text, "client")).order_by("client")
    return rows.values("client").annotate(orders=Count("pk"))


def _client(row: Any, person: Any) -> Found:
    url = f"{reverse('order_list')}?{urlencode({'q': row['client']})}"
    return Found(row["client"], url, tell("orders: {number}", number=row["orders"]))


def _designs(text: str) -> QuerySet[Design]:
    rows = Design.objects.filter(words_in(text, "mark", "title", "order__number"))
    return rows.select_related("order").order_by("-created_at", "-pk")


def _design(row: Design, person: Any) -> Found:
    return Found(row.mark, reverse("design", args=[row.pk]), _joined(row.title, row.order))


def _pieces(text: str) -> QuerySet[Piece]:
    rows = Piece.objects.select_related("design__order").order_by("-stage_since", "-pk")
    if exact := SERIAL.fullmatch(text):
        return rows.filter(design__mark__iexact=exact[1].strip(), serial=int(exact[2]))
    return rows.filter(words_in(text, "design__mark", "design__title", "design__order__number"))


def _piece(row: Piece, person: Any) -> Found:
    stage = here(str(row.get_stage_display())).lower()
    return Found(str(row), reverse("piece", args=[row.pk]), _joined(stage, row.design.order))


def _pours(text: str) -> QuerySet[Pour]:
    of_first = Prefetch("pieces", Piece.objects.select_related("design").order_by("pk"), to_attr="in_order")
    return Pour.objects.filter(words_in(text, "batch")).prefetch_related(of_first).order_by("-at", "-pk")


def _pour(row: Any, person: Any) -> Found:
    url = reverse("piece", args=[row.in_order[0].pk]) if row.in_order else ""
    return Found(row.batch, url, _joined(f"{row.at:%Y-%m-%d}", ", ".join(str(piece) for piece in row.in_order[:6])))


def _tickets(text: str) -> QuerySet[BatchTicket]:
    rows = BatchTicket.objects.filter(words_in(text, "batch", "mix_version__mix__name"))
    return rows.select_related("mix_version__mix").order_by("-at", "-pk")


def _ticket(row: BatchTicket, person: Any) -> Found:
    outside = "" if row.within_tolerance else tell("out of tolerance")
    return Found(row.batch, "", _joined(f"{row.at:%Y-%m-%d}", row.mix_version, outside))


def _lots(text: str) -> QuerySet[StockLot]:
    rows = StockLot.objects.filter(words_in(text, "lot", "description", "supplier", "certificate"))
    return rows.order_by("-active", "kind", "lot")


def _lot(row: StockLot, person: Any) -> Found:
    url = reverse("lot", args=[row.pk]) if access.may(person, "shop") else reverse("lots")
    return Found(row.lot, url, _joined(row.get_kind_display(), row.description, row.certificate))


def _faults(text: str) -> QuerySet[NonConformance]:
    fits = words_in(text, "what", "place", "decision_note", "repair_note", "piece__design__mark")
    if text.isdecimal() and text.isascii() and len(text) < 10:
        fits |= Q(pk=int(text))
    return NonConformance.objects.filter(fits).select_related("piece__design").order_by("-at", "-pk")


def _fault(row: NonConformance, person: Any) -> Found:
    name = tell("{number}, of {piece}", number=row.pk, piece=row.piece)
    return Found(name, reverse("non_conformance", args=[row.pk]), row.what[:120])


def _files(text: str) -> QuerySet[Attachment]:
    rows = Attachment.objects.filter(words_in(text, "name", "note"), removal=None)
    return rows.select_related("order", "piece__design").order_by("-at", "-pk")


def _file(row: Attachment, person: Any) -> Found:
    return Found(row.name, reverse("attachment", args=[row.pk]), _joined(row.piece or row.order, row.note[:120]))


def _standards(text: str) -> QuerySet[StandardPiece]:
    return StandardPiece.objects.filter(words_in(text, "name", "about")).order_by("name", "-pk")


def _standard(row: StandardPiece, person: Any) -> Found:
    state = tell("out of use") if row.retired_at else ""
    return Found(row.name, reverse("standard_piece", args=[row.pk]), _joined(row.about, state))


def _mixes(text: str) -> QuerySet[Mix]:
    return Mix.objects.filter(words_in(text, "name", "description")).order_by("name")


def _mix(row: Mix, person: Any) -> Found:
    return Found(row.name, reverse("mix", args=[row.pk]), row.description)


def _wrenches(text: str) -> QuerySet[Wrench]:
    return Wrench.objects.filter(words_in(text, "name", "certificate")).order_by("name")


def _wrench(row: Wrench, person: Any) -> Found:
    return Found(row.name, reverse("wrench", args=[row.pk]), row.certificate)


def _people(text: str) -> QuerySet[Person]:
    return Person.objects.filter(words_in(text, "username", "first_name", "last_name", "email")).order_by("username")


def _person(row: Person, person: Any) -> Found:
    return Found(row.display_name, reverse("person", args=[row.pk]), here(str(row.get_role_display())))


def _joined(*parts: Any) -> str:
    return ", ".join(str(part) for part in parts if part)


KINDS: tuple[Kind, ...] = (
    Kind(say("Orders"), _orders, _order),
    Kind(say("Clients"), _clients, _client),
    Kind(say("Designs"), _designs, _design),
    Kind(say("Pieces"), _pieces, _piece),
    Kind(say("Batches poured"), _pours, _pour),
    Kind(say("Batch tickets"), _tickets, _ticket),
    Kind(say("Lots"), _lots, _lot),
    Kind(say("Non-conformances"), _faults, _fault),
    Kind(say("Files"), _files, _file),
    Kind(say("Standard pieces"), _standards, _standard),
    Kind(say("Mixes"), _mixes, _mix, "shop"),
    Kind(say("Wrenches"), _wrenches, _wrench, "shop"),
    Kind(say("People"), _people, _person, "people"),
)
