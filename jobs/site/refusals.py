"""A refusal that a page did not show itself becomes a page of words with its own status, never an error of the site."""

from __future__ import annotations

from collections.abc import Callable

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.errors import ShopError


class Refusals:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """None for what Django answers itself: 403, 404 and faults of ours."""
        if isinstance(exception, ShopError):
            request.refusal = exception  # type: ignore[attr-defined]  # for jobs.site.queued_entries
        if not isinstance(exception, ShopError) or isinstance(exception, Http404 | PermissionDenied):
            return None
        return render(request, "409.html", {"error": exception}, status=exception.http_status)
