"""Office pages: orders, found, made, changed, put away."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from jobs import access, queries
from jobs.actions import orders
from jobs.errors import EditConflict
from jobs.forms.orders import OrderForm, OrderSearch
from jobs.models import Order
from jobs.views.entries import accepted, attempt, person_of, posts_only, request_id_of, sent_to, show

ON_A_PAGE = 50
SHOWN_FILES = 12


@require_safe
def order_list(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "view")
    search = OrderSearch(request.GET or None)
    asked = search.cleaned_data if search.is_bound and search.is_valid() else {"q": "", "state": ""}
    late = timezone.localdate() if asked["state"] == "late" else None
    found = queries.order_list(text=asked["q"], archived=asked["state"] == "archived", due_before=late)
    page = Paginator(found, ON_A_PAGE).get_page(request.GET.get("page"))
    return show(request, "jobs/order_list.html", {"here": "orders", "search": search, "page": page, "asked": asked})


@require_safe
def order(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.order_for(request.user, pk)
    return show(
        request,
        "jobs/order.html",
        _shown(row),
    )


def _shown(row: Order) -> dict[str, Any]:
    return {
        "here": "orders",
        "order": row,
        "lines": queries.order_page(row),
        "attachments": queries.attachments_of(row).filter(removal=None)[:SHOWN_FILES],
        "history": queries.events_for(order=row)[:50],
    }


def order_new(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "order")
    form = OrderForm(sent_to(request))
    error = None
    if request.method == "POST" and form.is_valid():
        made, error = attempt(
            lambda: orders.create_order(person_of(request), request_id=request_id_of(request), **form.values()), form
        )
        if made is not None:
            return accepted(
                request, f"Order {made.number} is in the book.", reverse("order", args=[made.pk]), draft="order-new"
            )
    return show(request, "jobs/order_form.html", {"here": "orders", "draft": "order-new"}, error, form)


def order_edit(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.order_for(request.user, pk, may="order")
    draft = f"order-{pk}"
    start = {name: getattr(row, name) for name in ("number", "client", "site", "due_date", "notes", "version")}
    form = OrderForm(request.POST if request.method == "POST" else None, initial=start)
    error, newest = None, None
    if request.method == "POST" and form.is_valid():
        version = form.cleaned_data["version"]
        made, error = attempt(
            lambda: orders.edit_order(
                row,
                by=person_of(request),
                version=-1 if version is None else version,
                request_id=request_id_of(request),
                **form.values(),
            ),
            form,
        )
        if made is not None:
            return accepted(request, f"Order {made.number} is changed.", reverse("order", args=[pk]), draft=draft)
        newest = error.newest if isinstance(error, EditConflict) and isinstance(error.newest, Order) else None
    return show(
        request, "jobs/order_form.html", {"here": "orders", "order": row, "draft": draft, "newest": newest}, error, form
    )


@posts_only("order")
def order_archive(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.order_for(request.user, pk, may="order")
    made, error = attempt(lambda: orders.archive_order(row, by=person_of(request), request_id=request_id_of(request)))
    if made is not None:
        return accepted(
            request, f"Order {row.number} is put away. It can still be found by its number.", reverse("order_list")
        )
    return show(
        request,
        "jobs/order.html",
        _shown(row),
        error,
    )
