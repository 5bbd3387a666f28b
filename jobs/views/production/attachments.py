"""Files of an order or a piece: listed, added, handed out as downloads only, taken off."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.template.defaultfilters import filesizeformat
from django.urls import reverse
from django.views.decorators.http import require_safe

from jobs import access, queries
from jobs.actions import attachments
from jobs.attachments import read_upload
from jobs.forms.attachments import AttachmentForm, TakeOffForm
from jobs.handed_out import handed_out
from jobs.models import Attachment, Order, Piece
from jobs.views.entries import person_of, request_id_of
from jobs.views.production.pages import Link, Table, data_of, entry_page, when
from jobs.words import here, say, tell


def of_order(request: HttpRequest, pk: int) -> HttpResponse:
    order = access.order_for(request.user, pk)
    crumbs = [Link(tell("Order {number}", number=order.number), reverse("order", args=[pk]))]
    return _page(request, order, None, here="orders", crumbs=crumbs)


def of_piece(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk)
    return _page(request, piece.design.order, piece, here="board")


def _page(request: HttpRequest, order: Order, piece: Piece | None, **context: Any) -> HttpResponse:
    form = AttachmentForm(*data_of(request))

    def act() -> Attachment:
        sent = form.cleaned_data["file"]
        upload = read_upload(sent, name=sent.name, size=sent.size)
        return attachments.attach(
            order,
            by=person_of(request),
            upload=upload,
            piece=piece,
            note=form.cleaned_data["note"],
            request_id=request_id_of(request),
        )

    return entry_page(
        request,
        form,
        act,
        permission="attach",
        piece=piece,
        heading=tell("Files of {what}", what=str(piece) if piece else say("order {number}", number=order.number)),
        button=tell("Keep the file"),
        said=lambda made: tell("{name} is kept.", name=made.name),
        back=request.path,
        draft=f"files-{'piece' if piece else 'order'}-{piece.pk if piece else order.pk}",
        tables=_tables(request, order, piece),
        **context,
    )


def _tables(request: HttpRequest, order: Order, piece: Piece | None) -> list[Table]:
    found = list(queries.attachments_of(order, piece))
    head = [tell("File"), tell("What it is"), tell("Of"), tell("Note"), tell("When and who"), ""]
    rows = [[*_cells(row), _take_off_link(request, row)] for row in found if not hasattr(row, "removal")]
    tables = [Table(tell("Files kept"), head, rows, empty=tell("None yet."))]
    gone = [row for row in found if hasattr(row, "removal")]
    if gone and access.sees_what_was_taken_off(request.user):
        words = [[*_cells(row), f"{row.removal.note} ({when(row.removal.at)}, {row.removal.by})"] for row in gone]
        tables.append(Table(tell("Taken off"), [*head[:-1], tell("Why")], words))
    return tables


def _cells(row: Attachment) -> list[Any]:
    return [
        Link(row.name, reverse("attachment", args=[row.pk])),
        f"{here(row.get_kind_display())}, {filesizeformat(row.size)}",
        str(row.piece or row.order.number),
        row.note,
        f"{when(row.at)}, {row.by.display_name}",
    ]


def _take_off_link(request: HttpRequest, row: Attachment) -> Any:
    person = person_of(request)
    own = row.by_id == person.pk and access.may(person, "attach")
    if own or access.may(person, "order"):
        return Link(tell("Take off"), reverse("attachment_take_off", args=[row.pk]))
    return ""


@require_safe
def download(request: HttpRequest, pk: int) -> HttpResponse:
    """The file, never to be shown inside the site."""
    return handed_out(access.attachment_for(request.user, pk))


def take_off(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.attachment_for(request.user, pk)
    permission = "attach" if row.by_id == person_of(request).pk else "order"
    access.need(request.user, permission)
    form = None if hasattr(row, "removal") else TakeOffForm(*data_of(request))
    back = reverse("piece_files", args=[row.piece_id]) if row.piece_id else reverse("order_files", args=[row.order_id])
    return entry_page(
        request,
        form,
        lambda: attachments.take_off(
            row, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data if form else {}
        ),
        permission=permission,
        piece=row.piece,
        heading=tell("Take {name} off", name=row.name),
        lead=tell("It is on no list any more; that it was there, and why it is gone, stays in the book."),
        button=tell("Take it off"),
        button_class="grave",
        said=tell("It is taken off."),
        back=back,
        draft=f"take-off-{pk}",
        here="orders",
        crumbs=[Link(tell("Files"), back)],
    )
