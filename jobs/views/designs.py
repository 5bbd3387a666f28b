"""A design's own page: its revisions, the drawing, the verdict and every check, release, pieces, history."""

from __future__ import annotations

import json

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_safe

from jobs import access, gates
from jobs.actions import designs
from jobs.errors import ShopError, Unknown
from jobs.models import Design
from jobs.views.design_sheet import DesignSheet
from jobs.views.entries import accepted, attempt, person_of, posts_only, request_id_of, show


@require_safe
def design(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, access.design_for(request.user, pk))


def _page(request: HttpRequest, row: Design, error: ShopError | None = None) -> HttpResponse:
    sheet = DesignSheet.of(row, request.GET.get("revision", ""))
    blockers = (
        gates.release_blockers(sheet.shown, person_of(request))
        if sheet.shown and not sheet.release and sheet.is_newest
        else []
    )
    context = {
        "here": "orders",
        "design": row,
        "sheet": sheet,
        "blockers": blockers,
        "drawing_url": address_of("revision_drawing", sheet),
        "plots_url": address_of("revision_plots", sheet),
        "records_url": address_of("revision_records", sheet),
    }
    return show(request, "jobs/design.html", context, error)


def address_of(name: str, sheet: DesignSheet) -> str:
    """A page of the records about the revision; empty where they are not installed. Nothing here imports them."""
    try:
        return reverse(name, args=[sheet.shown.pk]) if sheet.shown else ""
    except NoReverseMatch:
        return ""


@require_safe
def design_checks(request: HttpRequest, pk: int) -> HttpResponse:
    """The part of the page that waits for the checks, fetched again every second until they are there."""
    row = access.design_for(request.user, pk)
    sheet = DesignSheet.of(row, request.GET.get("revision", ""))
    if not sheet.under_way:
        answer = HttpResponse(status=204)
        answer["HX-Refresh"] = "true"  # done: the whole page changes, verdict, blockers and all
        return answer
    return render(request, "jobs/_checks_under_way.html", {"design": row, "sheet": sheet})


@posts_only("design")
def release(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.design_for(request.user, pk, may="release")
    revision = row.revisions.select_related("design__order", "specification").filter(number=_number(request)).first()
    if revision is None:
        raise Unknown("There is no such revision of this design.")
    made, error = attempt(
        lambda: designs.release(
            revision, by=person_of(request), note=request.POST.get("note", ""), request_id=request_id_of(request)
        )
    )
    if made is not None:
        return accepted(request, f"{revision} is released.", reverse("design", args=[pk]), draft=f"release-{pk}")
    return _page(request, row, error)


@posts_only("design")
def add_pieces(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.design_for(request.user, pk, may="order")
    made, error = attempt(
        lambda: designs.add_pieces(
            row, by=person_of(request), count=_count(request.POST.get("pieces", "")), request_id=request_id_of(request)
        )
    )
    if made is not None:
        return accepted(request, "The pieces are in the book.", reverse("design", args=[pk]))
    return _page(request, row, error)


@posts_only("design")
def rerun(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.design_for(request.user, pk, may="specify")
    sheet = DesignSheet.of(row, str(_number(request)))
    if sheet.shown is None:
        raise Unknown("There is no such revision of this design.")
    revision = sheet.shown
    made, error = attempt(
        lambda: designs.rerun_checks(revision, by=person_of(request), request_id=request_id_of(request))
    )
    if made is not None:
        return accepted(request, f"The checks of {revision} are asked for again.", reverse("design", args=[pk]))
    return _page(request, row, error)


@require_safe
def specification_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The document of a revision, to keep or to bring in elsewhere."""
    row = access.design_for(request.user, pk, may="export")
    sheet = DesignSheet.of(row, request.GET.get("revision", ""))
    if sheet.shown is None:
        raise Unknown("This design has no specification yet.")
    answer = HttpResponse(
        json.dumps(sheet.shown.specification.document, indent=1, ensure_ascii=False),
        content_type="application/json; charset=utf-8",
    )
    answer["Content-Disposition"] = f'attachment; filename="{row.mark}-{sheet.shown.letter}.json"'
    return answer


@require_safe
def result_file(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.design_for(request.user, pk, may="export")
    sheet = DesignSheet.of(row, request.GET.get("revision", ""))
    if sheet.shown is None or sheet.result is None:
        raise Unknown("There is no result of this revision yet.")
    answer = HttpResponse(
        json.dumps(sheet.result, indent=1, ensure_ascii=False), content_type="application/json; charset=utf-8"
    )
    answer["Content-Disposition"] = f'attachment; filename="{row.mark}-{sheet.shown.letter}-result.json"'
    return answer


def _number(request: HttpRequest) -> int:
    return _count(request.POST.get("revision", ""))


def _count(text: str) -> int:
    return int(text) if text.strip().isascii() and text.strip().isdigit() and len(text) < 6 else 0
