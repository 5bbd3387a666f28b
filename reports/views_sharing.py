"""The manager's pages of links for people outside: make one, see who opened what, revoke."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import segno
from django.db.models import Count, Max
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from engineering.models import JobStatus
from jobs.access import need, order_for, row_for
from jobs.errors import ShopError
from jobs.models import Order, Piece, Shop
from jobs.views.entries import accepted, attempt, person_of, posts_only, request_id_of, sent_to, show
from reports import sharing
from reports.models import IssuedRecord, SharingLink
from reports.sharing_form import SharingForm

SHOWN_ACCESSES = 200


def link_for(person: Any, pk: int) -> SharingLink:
    """One link, for those who may share."""
    need(person, "share")
    return row_for(person, SharingLink.objects.select_related("order", "made_by", "revoked_by"), pk, "share")


@require_http_methods(["GET", "POST"])
@never_cache
def order_sharing(request: HttpRequest, pk: int) -> HttpResponse:
    """The links of an order, and the form of a new one. A new code is shown once, on a card to print."""
    order = order_for(request.user, pk, may="share")
    form = SharingForm(_pieces(order), _records(order), sent_to(request))
    error: ShopError | None = None
    card: dict[str, Any] = {}
    if request.method == "POST" and form.is_valid():
        made, error = attempt(
            lambda: sharing.share(order, by=person_of(request), request_id=request_id_of(request), **form.values()),
            form,
        )
        if made is not None:
            card = _card(request, *made)
            form = SharingForm(_pieces(order), _records(order))
    links = SharingLink.objects.filter(order=order).select_related("made_by")
    counted = links.annotate(times=Count("accesses"), last=Max("accesses__at")).order_by("-pk")
    context = {"here": "orders", "order": order, "links": counted, **card}
    return show(request, "reports/sharing/order.html", context, error, form)


@require_safe
@never_cache
def link_page(request: HttpRequest, pk: int) -> HttpResponse:
    """What one link opens, and every time it was used."""
    return _link_page(request, link_for(request.user, pk), None)


@posts_only("sharing_link")
def link_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a link back at once."""
    link = link_for(request.user, pk)
    made, error = attempt(lambda: sharing.revoke(link, by=person_of(request), request_id=request_id_of(request)))
    if made is not None:
        back = reverse("sharing_link", args=[pk])
        return accepted(request, f"The link for {link.label} opens nothing any more.", back)
    return _link_page(request, link, error)


def _link_page(request: HttpRequest, link: SharingLink, error: ShopError | None) -> HttpResponse:
    context = {
        "here": "orders",
        "link": link,
        "pieces": link.pieces.select_related("design").order_by("design__mark", "serial"),
        "records": link.records.select_related("revision__design", "piece__design"),
        "accesses": link.accesses.all()[:SHOWN_ACCESSES],
        "times": link.accesses.count(),
    }
    return show(request, "reports/sharing/link.html", context, error)


def _pieces(order: Order) -> list[Piece]:
    rows = Piece.objects.filter(design__order=order).select_related("design")
    return list(rows.order_by("design__mark", "serial")[: sharing.MOST_SHARED])


def _records(order: Order) -> list[IssuedRecord]:
    rows = IssuedRecord.objects.filter(revision__design__order=order, status=JobStatus.DONE)
    return list(rows.select_related("revision__design", "piece__design").order_by("-pk")[: sharing.MOST_SHARED])


def _card(request: HttpRequest, link: SharingLink, code: str) -> dict[str, Any]:
    """What stands on the card; nothing where the code was shown before."""
    enter = request.build_absolute_uri(reverse("shared"))
    if not code:
        return {"shown_before": link}
    address = f"{enter}?{urlencode({'key': sharing.plain_code(code)})}"
    shop = Shop.objects.filter(pk=1).first() or Shop()
    return {"made": link, "code": code, "address": address, "enter": enter, "square": square_svg(address), "shop": shop}


def square_svg(address: str) -> SafeString:
    """A square code as one path, black on white whatever the page's colours are, four cells of quiet around it."""
    rows = list(segno.make(address, error="m", micro=False).matrix_iter(border=4))
    cells = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, dark in enumerate(row) if dark)
    return format_html(
        '<svg class="square-code" viewBox="0 0 {n} {n}" role="img" aria-label="Square code of the link" '
        'shape-rendering="crispEdges"><rect width="{n}" height="{n}" fill="#fff"/><path d="{d}" fill="#000"/></svg>',
        n=len(rows),
        d=mark_safe(cells),  # noqa: S308  numbers only
    )
