"""The specification editor: a form that keeps what was typed, or a document brought in as JSON."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from engineering.core.contract import Fault
from jobs import access, own_numbers
from jobs import starters as starting
from jobs.errors import ShopError, Unknown
from jobs.forms.specification import fits_the_form, tree_of
from jobs.models import Design, StandardPiece
from jobs.views.desk import Desk
from jobs.views.entries import accepted, attempt
from jobs.views.sent_document import faults_of, read_json, sent_text


def design_new(request: HttpRequest, pk: int) -> HttpResponse:
    desk = Desk(request, order=access.order_for(request.user, pk, may="specify"))
    if request.method == "POST":
        if request.POST.get("do") == "import":
            return _brought_in(desk, lambda faults, text: _start_page(desk, faults, text))
        return desk.posted()
    document = _starting_document(request)
    return _start_page(desk) if document is None else _opened(desk, document)


def design_edit(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.design_for(request.user, pk, may="specify")
    newest = row.revisions.select_related("specification").order_by("-number").first()
    if newest is None:
        raise Unknown("This design has no specification to change.")
    desk = Desk(request, order=row.order, design=row, newest=newest)
    if request.method == "POST":
        return desk.posted()
    return _opened(desk, newest.specification.document)


def design_import(request: HttpRequest, pk: int) -> HttpResponse:
    """A document for the next revision, pasted or as a file."""
    row = access.design_for(request.user, pk, may="specify")
    newest = row.revisions.select_related("specification").order_by("-number").first()
    desk = Desk(request, order=row.order, design=row, newest=newest)

    def page(faults: tuple[Fault, ...] = (), text: str = "", error: ShopError | None = None) -> HttpResponse:
        shown = text or json.dumps(newest.specification.document if newest else {}, indent=1, ensure_ascii=False)
        status = error.http_status if error else 422 if faults else 200
        return render(
            request,
            "jobs/editor/import.html",
            {
                "here": "orders",
                "design": row,
                "order": row.order,
                "import_faults": faults,
                "import_text": shown,
                "error": error,
                "import_action": request.path,
            },
            status=status,
        )

    return _brought_in(desk, page) if request.method == "POST" else page()


@require_POST
def own_numbers_part(request: HttpRequest) -> HttpResponse:
    """What the shop's own records say beside the assumptions of the document that is sent: a part of the page."""
    access.need(request.user, "specify")
    document, _ = read_json(request.body.decode("utf-8", "replace"))
    return render(request, "jobs/editor/_own_numbers.html", {"offers": own_numbers.offers(document)})


def _start_page(
    desk: Desk, faults: tuple[Fault, ...] = (), text: str = "", error: ShopError | None = None
) -> HttpResponse:
    copies = (
        Design.objects.select_related("order").filter(revisions__isnull=False).distinct().order_by("-created_at")[:200]
    )
    status = error.http_status if error else 422 if faults else 200
    return render(
        desk.request,
        "jobs/editor/start.html",
        {
            "here": "orders",
            "order": desk.order,
            "standards": StandardPiece.objects.filter(retired_at=None, approved_at__isnull=False)[:50],
            "starters": starting.starters(),
            "designs": copies,
            "import_faults": faults,
            "import_text": text,
            "error": error,
            "import_action": desk.request.path,
        },
        status=status,
    )


def _starting_document(request: HttpRequest) -> dict[str, Any] | None:
    if request.GET.get("copy"):
        source = access.design_for(request.user, request.GET["copy"])
        newest = source.revisions.select_related("specification").order_by("-number").first()
        return dict(newest.specification.document) if newest else None
    name = request.GET.get("start", "")
    if name == "empty":
        return starting.empty()
    try:
        return starting.document(name)
    except KeyError:
        return None


def _opened(desk: Desk, document: dict[str, Any]) -> HttpResponse:
    """The form with the document in it; a document with something the form cannot show goes to the JSON
    page instead.
    """
    if desk.design is not None and not fits_the_form(document):
        return design_import(desk.request, desk.design.pk)
    return desk.page(tree_of(document))


def _brought_in(desk: Desk, page: Callable[[tuple[Fault, ...], str], HttpResponse]) -> HttpResponse:
    """Take in a document: accepted ones open in the form, or are saved at once if that cannot show them."""
    text, faults = sent_text(desk.request)
    document, more = read_json(text) if not faults else (None, faults)
    if document is None:
        return page(more, text)
    if faults := faults_of(document):
        return page(faults, text)
    if fits_the_form(document):
        return desk.page(tree_of(document))
    made, error = attempt(lambda: desk.write(document))
    if made is None:
        return page((Fault("", str(error)),), text)
    return accepted(
        desk.request,
        "The document is saved as it is.",
        reverse("design", args=[getattr(made, "design", made).pk]),
        draft=desk.draft,
    )
