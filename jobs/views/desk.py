"""The specification editor as it stands on the page, whatever opened it: it shows, checks, puts in and saves."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse

from engineering.core.contract import Fault
from jobs import own_numbers
from jobs.actions import designs
from jobs.errors import BadEntry, EditConflict, ShopError, SpecificationNotAccepted
from jobs.forms.specification import TooMuch, document_of, lay_out, read_fields, rework
from jobs.models import Design, Order, Revision
from jobs.views.entries import accepted, attempt, person_of, request_id_of
from jobs.views.sent_document import faults_of

LONGEST_OFFERED = 500  # names of fields, with commas


class Desk:
    """One editor as it stands on the page: for a new design of an order, or the next revision of a design."""

    def __init__(
        self, request: HttpRequest, *, order: Order, design: Design | None = None, newest: Revision | None = None
    ) -> None:
        self.request, self.order, self.design, self.newest = request, order, design, newest
        self.action = request.path  # where the form is sent to
        self.draft = f"specification-{design.pk}" if design else f"specification-new-{order.pk}"
        sent = request.POST.get("own_numbers", "")[:LONGEST_OFFERED]
        self.own_numbers = [path for path in sent.split(",") if path]  # put in from the shop's own records
        self.base_revision = _number(request.POST.get("base_revision", "")) or (newest.number if newest else 0)

    def page(
        self, tree: Any, *, faults: tuple[Fault, ...] = (), error: ShopError | None = None, status: int = 200
    ) -> HttpResponse:
        request = self.request
        context = {
            "here": "orders",
            "order": self.order,
            "design": self.design,
            "paper": lay_out(tree, faults),
            "draft": self.draft,
            "heading": f"{self.design.mark}: next revision"
            if self.design
            else f"New design for order {self.order.number}",
            "action": self.action,
            "faults_shown": bool(faults),
            "error": error,
            "conflict": self.conflict(error),
            "base_revision": self.base_revision,
            "own_numbers": ",".join(self.own_numbers),
            "note": request.POST.get("note", ""),
            "pieces": request.POST.get("pieces", "1"),
            "load_test_required": request.POST.get("load_test_required") == "on",
            "preview_url": preview_url(),
            "request_id": request.POST.get("request_id") or uuid.uuid4(),
        }
        template = "jobs/editor/_form.html" if getattr(request, "htmx", False) else "jobs/editor/page.html"
        return render(request, template, context, status=status)

    def conflict(self, error: ShopError | None) -> dict[str, Any] | None:
        if not isinstance(error, EditConflict) or not isinstance(error.newest, Revision) or self.design is None:
            return None
        return {
            "name": f"revision {error.newest.letter}",
            "number": error.newest.number,
            "url": reverse("design", args=[self.design.pk]),
        }

    def posted(self) -> HttpResponse:
        """Act on the button that was pressed; every answer but a save shows the form with all that was typed."""
        wish = self.request.POST.get("do", "redraw")
        try:
            tree = read_fields((name, str(text)) for name, text in self.request.POST.items())
        except TooMuch as refusal:
            return self.page({}, error=BadEntry(str(refusal)), status=422)
        if wish == "document":
            return JsonResponse(document_of(tree))
        if wish == "check":
            faults = faults_of(document_of(tree))
            return self.page(tree, faults=faults, status=422 if faults else 200)
        if wish == "save" or wish.startswith("on-top "):
            if wish != "save":
                self.base_revision = _number(wish.removeprefix("on-top "))
            return self.save(document_of(tree), tree)
        if wish.startswith("offer "):
            self.put_in(wish.removeprefix("offer "), tree)
            return self.page(tree)
        return self.page(rework(tree, wish))

    def put_in(self, path: str, tree: Any) -> None:
        """The shop's own estimate into its field; the form keeps that it came from there. Nothing is saved."""
        offer = next((one for one in own_numbers.offers(document_of(tree)) if one.path == path), None)
        if offer is None or offer.why_not:
            return
        part, _, key = path.partition(".")
        tree.setdefault(part, {})[key] = f"{offer.value:.10g}"
        self.own_numbers = sorted({*self.own_numbers, path})

    def save(self, document: dict[str, Any], tree: Any) -> HttpResponse:
        made, error = attempt(lambda: self.write(document))
        if made is not None:
            design = made.design if isinstance(made, Revision) else made
            text = f"{made} is saved." if isinstance(made, Revision) else f"Design {design.mark} is saved, revision A."
            return accepted(
                self.request, f"{text} Its checks are running.", reverse("design", args=[design.pk]), draft=self.draft
            )
        assert error is not None  # noqa: S101  attempt gives one or the other
        if isinstance(error, SpecificationNotAccepted):
            return self.page(tree, faults=error.faults, status=422)
        return self.page(tree, error=error, status=error.http_status)

    def write(self, document: dict[str, Any]) -> Any:
        request = self.request
        if self.design is not None:
            return designs.revise(
                self.design,
                by=person_of(request),
                document=document,
                base_revision=self.base_revision,
                note=request.POST.get("note", ""),
                from_records=own_numbers.taken(document, self.own_numbers),
                request_id=request_id_of(request),
            )
        return designs.create_design(
            self.order,
            by=person_of(request),
            document=document,
            pieces=_number(request.POST.get("pieces", "")),
            load_test_required=request.POST.get("load_test_required") == "on",
            from_records=own_numbers.taken(document, self.own_numbers),
            request_id=request_id_of(request),
        )


def preview_url() -> str:
    try:
        return reverse("drawing_preview")
    except NoReverseMatch:
        return ""


def _number(text: str) -> int:
    text = text.strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0
