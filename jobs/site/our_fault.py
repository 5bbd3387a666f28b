"""The answer to a fault of ours: a page with the request's number, by which its lines are found in the log."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string

WORDS = "The site could not finish this, and nothing was half-written. Send it again; if it happens twice, tell the"


def our_fault(request: HttpRequest) -> HttpResponse:
    """Django's `handler500`. It touches no database and no session: either may be what is at fault."""
    number: str = getattr(request, "log_number", "")
    if request.path_info.startswith("/api/"):
        message = f"{WORDS} shop manager the number of this request: {number}."
        return JsonResponse({"code": "our-fault", "message": message, "blockers": [], "request": number}, status=500)
    return HttpResponse(render_to_string("500.html", {"number": number}), status=500)
