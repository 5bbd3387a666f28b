"""The specification editor: a form that keeps what was typed, or a document brought in as JSON."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_POST

from engineering.core.contract import Fault, SpecificationRefused, parse
from jobs import access, own_numbers
from jobs import starters as starting
from jobs.actions import designs
from jobs.errors import BadEntry, EditConflict, ShopError, SpecificationNotAccepted, Unknown
from jobs.forms.specification import TooMuch, document_of, fits_the_form, lay_out, read_fields, rework, tree_of
from jobs.models import Design, Order, Revision, StandardPiece
from jobs.views.entries import accepted, attempt, person_of, request_id_of

LARGEST_FILE = 2_000_000
LONGEST_OFFERED = 500  # names of fields, with commas
Save = Callable[[Any], tuple[Any, ShopError | None]]


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
    text, faults = _sent_text(desk.request)
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


def _sent_text(request: HttpRequest) -> tuple[str, tuple[Fault, ...]]:
    sent = request.FILES.get("file")
    if sent is None:
        return request.POST.get("text", ""), ()
    if sent.size is None or sent.size > LARGEST_FILE:
        return "", (
            Fault(
                "", f"The file is larger than {LARGEST_FILE // 1_000_000} MB; a specification is a few pages of text."
            ),
        )
    try:
        return sent.read().decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        return "", (Fault("", f"{sent.name} is not text in UTF-8, so it is no specification document."),)


def read_json(text: str) -> tuple[dict[str, Any] | None, tuple[Fault, ...]]:
    """The document in the text, or what is wrong with the text."""
    if not text.strip():
        return None, (Fault("", "Choose a file, or paste the text of a document."),)
    try:
        document = json.loads(text, object_pairs_hook=_no_double_keys)
    except RecursionError:
        return None, (Fault("", "The document is nested too deeply."),)
    except ValueError as exc:
        return None, (Fault("", f"This is not JSON: {str(exc)[:200]}."),)
    if not isinstance(document, dict):
        return None, (Fault("", "A specification document is a JSON object: it begins with { and ends with }."),)
    return document, ()


def _no_double_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        double = next(key for number, (key, _) in enumerate(pairs) if key in dict(pairs[:number]))
        raise ValueError(f"the key {double[:60]} stands twice in one object")
    return made


def faults_of(document: Any) -> tuple[Fault, ...]:
    try:
        parse(document)
    except SpecificationRefused as refused:
        return refused.faults
    return ()


def preview_url() -> str:
    try:
        return reverse("drawing_preview")
    except NoReverseMatch:
        return ""


def _number(text: str) -> int:
    text = text.strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0
