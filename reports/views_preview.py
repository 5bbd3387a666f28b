"""The drawing alone, as a part of a page: of a stored revision, or of a document that is still being written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET, require_POST

from engineering.core.contract import SpecificationRefused
from engineering.core.contract.refusal import refusal_document
from jobs.access import need, revision_for
from reports.drawing import piece_svg


@require_GET
def revision_drawing(request: HttpRequest, pk: int) -> HttpResponse:
    """The part alone for a page that asks for it, or a page of its own."""
    revision = revision_for(request.user, pk)
    drawings = both_drawings(revision.specification.document)
    if request.headers.get("HX-Request") == "true":
        return HttpResponse(drawings)
    return render(request, "reports/drawing.html", {"revision": revision, "drawings": drawings, "here": "orders"})


@require_POST
def drawing_preview(request: HttpRequest) -> HttpResponse:
    """A posted document drawn; 422 with every fault where it is not accepted. Nothing is stored."""
    need(request.user, "view")
    try:
        document = json.loads(request.body)
        return HttpResponse(both_drawings(document))
    except SpecificationRefused as refused:
        return JsonResponse(refusal_document(refused), status=422)
    except (ValueError, RecursionError):
        return JsonResponse(
            {"format": "check-refusal/1", "faults": [{"path": "", "message": "This is not JSON."}]}, status=422
        )


def both_drawings(document: Mapping[str, Any]) -> SafeString:
    """Elevation and cross-sections, one under the other. The drawings escape every text of the document themselves."""
    parts = [mark_safe(piece_svg(document, which)) for which in ("elevation", "sections")]  # noqa: S308  escaped by to_svg
    return format_html('<div class="drawing-parts" lang="en">{}{}</div>', *parts)
