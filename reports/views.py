"""Records for those of the shop: ask, wait, download. And for anybody: what a given PDF is."""

from __future__ import annotations

from typing import Any, cast

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods

from engineering.models import JobStatus
from jobs.access import may, revision_for, row_for
from jobs.errors import ShopError, Unknown
from jobs.models import Person, Shop
from jobs.views.entries import attempt, posts_only, request_id_of
from reports import actions, shelf, standing
from reports.callers import too_many
from reports.models import IssuedRecord, RecordKind, asked_for, pk_of, spelled
from reports.verification import LARGEST, NotReadable, PdfFacts, read_facts

SLOWLY = "That was many files in a short time. Wait a minute and try again."


def person_of(request: HttpRequest) -> Person:
    """Whoever is signed in: the middleware lets nobody else come here."""
    return cast(Person, request.user)


def record_for(person: Any, number: str) -> IssuedRecord:
    """One record by its number, for those who may see it: Unknown otherwise."""
    rows = IssuedRecord.objects.select_related(
        "revision__design__order", "check_run", "requested_by", "release", "piece__design"
    )
    return row_for(person, rows.filter(asked_for(number)), pk_of(number), "view")


OF_A_REVISION = (RecordKind.DESIGN, RecordKind.FORM)


@posts_only("revision_records")
def request_record(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for the design record of a revision, or for its form drawing, and go to its page."""
    revision = revision_for(request.user, pk, may="specify")
    kind = request.POST.get("kind", RecordKind.DESIGN)
    if kind not in OF_A_REVISION:
        raise Unknown("There is no such record of a revision.")
    record, error = attempt(
        lambda: actions.request_record(
            revision,
            kind=RecordKind(kind),
            by=person_of(request),
            site_address=request.build_absolute_uri("/").rstrip("/"),
            request_id=request_id_of(request),
        )
    )
    if record is None:
        return _records_page(request, revision.pk, error)
    return HttpResponseRedirect(reverse("record", args=[record.number]))


@require_GET
def revision_records(request: HttpRequest, pk: int) -> HttpResponse:
    return _records_page(request, pk, None)


def _records_page(request: HttpRequest, pk: int, error: ShopError | None) -> HttpResponse:
    revision = revision_for(request.user, pk)
    records = IssuedRecord.objects.filter(revision__design=revision.design).select_related(
        "revision", "requested_by", "piece__design"
    )
    return render(
        request,
        "reports/revision_records.html",
        {
            "revision": revision,
            "records": [(r, standing.superseded_by(r)) for r in records[:100]],
            "error": error,
            "here": "orders",
            "may_ask": may(request.user, "specify"),
            "pieces": revision.design.pieces.order_by("serial"),
            "cast_down": revision.specification.document.get("cast") == "face-down",
        },
        status=error.http_status if error else 200,
    )


@require_GET
@never_cache
def record(request: HttpRequest, number: str) -> HttpResponse:
    """Where the record stands; only the part that changes when the page asks for that."""
    found = record_for(request.user, number)
    part = request.headers.get("HX-Request") == "true"
    page = "reports/_record_state.html" if part else "reports/record.html"
    return render(request, page, record_context(request, found))


def record_context(request: HttpRequest, found: IssuedRecord) -> dict[str, Any]:
    """What the page of a record shows."""
    return {
        "record": found,
        "superseded_by": standing.superseded_by(found),
        "here": "orders",
        "moving": found.status in (JobStatus.WAITING, JobStatus.RUNNING),
        "may_ask": may(request.user, actions.PERMISSION[RecordKind(found.kind)]),
        "copies": found.signed_copies.select_related("uploaded_by"),
        "may_sign": may(request.user, "release") and found.kind == RecordKind.DESIGN,
    }


@require_GET
@never_cache
def record_file(request: HttpRequest, number: str) -> HttpResponse:
    """The signed file itself, after looking that it still is the one that was issued."""
    found = record_for(request.user, number)
    if found.status != JobStatus.DONE:
        raise Unknown(f"{found.number} has no file yet.")
    try:
        data = shelf.whole(found)
    except OSError as exc:
        raise Unknown(
            f"The file of {found.number} on the server is missing or no longer the one that was issued, so it is not "
            "handed out. Ask for a new record, and tell whoever looks after the site."
        ) from exc
    actions.note_download(found, by=person_of(request))
    named = content_disposition_header(as_attachment=True, filename=found.file_name)
    return HttpResponse(data, content_type="application/pdf", headers={"Content-Disposition": named or "attachment"})


@login_not_required
@require_http_methods(["GET", "POST"])
@never_cache
def verify(request: HttpRequest, number: str = "") -> HttpResponse:
    """For anybody: what a record number stands for, and what a given PDF is."""
    if too_many(request, "verify-file" if request.method == "POST" else "verify-page"):
        return _verify_page(request, {"problem": SLOWLY}, 429)
    context: dict[str, Any] = {}
    if request.method == "GET" and not number and (typed := request.GET.get("number", "").strip()):
        if pk_of(typed):
            return HttpResponseRedirect(reverse("verify_record", args=[spelled(typed)]))
        return _verify_page(request, {"asked": typed[:20]}, 404)
    if number:
        context = _about(number)
        if context["record"] is None:
            return _verify_page(request, context, 404)
    if request.method == "GET":
        return _verify_page(request, context, 200)
    try:
        facts = read_facts(uploaded(request))
    except NotReadable as exc:
        return _verify_page(request, {**context, "problem": str(exc)}, 422)
    return _verify_page(request, {**context, "facts": facts, "answer": answer_to(facts, number)}, 200)


def _about(number: str) -> dict[str, Any]:
    rows = IssuedRecord.objects.filter(asked_for(number), status=JobStatus.DONE)
    found = rows.select_related("revision__design", "piece__design").first()
    return {"record": found, "asked": number[:20], "superseded_by": standing.superseded_by(found) if found else None}


def uploaded(request: HttpRequest) -> bytes:
    given = request.FILES.get("file")
    if given is None:
        raise NotReadable("Choose the PDF file first.")
    if given.size is None or given.size > LARGEST:
        raise NotReadable(
            f"The file is larger than {LARGEST // 2**20} MB. Our records are far smaller, so this is none of them."
        )
    return bytes(given.read(LARGEST + 1))


def answer_to(facts: PdfFacts, number: str) -> tuple[str, str]:
    """(kind for the page's style, one sentence that claims no more than the facts below it)."""
    if not facts.carries_a_shop_signature:
        return "error", "This file carries no signature of a shop: nothing here speaks for it."
    if not facts.bytes_intact:
        return "error", "This file was changed after it was signed. Do not rely on it."
    if not facts.signed_by_the_shop:
        return (
            "error",
            "This file was signed with a key that is not this shop's. Do not take it for a record of this shop.",
        )
    if not facts.only_permitted_changes:
        return (
            "error",
            "Something was added to this file after the shop signed it, beyond filling in the fields left for that.",
        )
    if facts.number is None:
        return "warning", "The shop's key signed this file, but the file is not on record here. Ask the shop."
    if number and facts.number != spelled(number):
        return (
            "warning",
            f"This file is a record of this shop, but another one: {facts.number}, not the one you asked about.",
        )
    if facts.superseded_by:
        return (
            "warning",
            f"This file is record {facts.number}, as the shop signed it. It is superseded by {facts.superseded_by}.",
        )
    return "success", f"This file is record {facts.number}, as the shop signed it, and nothing on record supersedes it."


def _verify_page(request: HttpRequest, context: dict[str, Any], status: int) -> HttpResponse:
    shop = Shop.objects.filter(pk=1).first() or Shop()
    return render(request, "reports/verify.html", {"shop": shop, "largest": LARGEST // 2**20, **context}, status=status)
