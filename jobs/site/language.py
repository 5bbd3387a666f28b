"""In which language a page speaks: the person's own on the crew's pages, English on every other and in the API.

A page that is not translated is not said to be Spanish; a reader of the screen would mispronounce all of it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import translation

CREW_PAGES = frozenset(
    {
        "piece", "piece_move", "piece_hold", "piece_resume", "piece_reject", "form_check", "pour",
        "strength", "load_test", "install", "stressing", "reading", "stressing_finish", "stressing_stop", "lift_off",
        "restressing", "incident", "finishing", "non_conformance_new", "photo_new", "tablet", "change_over",
        "pin", "reading_take_back", "offline", "refusal_dismiss", "board", "board_stage", "today", "needs_you", "bed",
        "cure", "temperatures", "coupons", "washout", "tickets", "ticket", "piece_lots",
        "load_test_plan", "load_test_run", "load_test_conclude",
        "schedule", "schedule_beds", "calendar", "lots", "non_conformances", "non_conformance", "search", "order_list",
        "order", "order_files", "piece_files", "attachment_take_off", "password_change", "guide", "guide_page",
        "piece_records", "request_piece_record", "record",
    }
)  # fmt: skip


class CrewLanguage:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with translation.override("en"):
            return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> None:
        match = request.resolver_match
        if match is not None and match.url_name in CREW_PAGES and request.user.is_authenticated:
            translation.activate(request.user.language)
