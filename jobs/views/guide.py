"""The guide: short pages that say how a piece goes through, served by the site itself."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from jobs import glossary
from jobs.errors import Unknown
from jobs.views import field_help
from jobs.views.entries import show

PAGES: dict[str, str] = {
    "from-wish-to-release": "From a customer's wish to a released piece",
    "how-a-piece-goes-through": "How a piece goes through",
    "writing-a-specification": "Writing a specification",
    "reading-a-verdict": "Reading a verdict",
    "tightening-rods": "Tightening rods",
    "every-field": "Every field",
    "words": "Words of the trade",
    "keys-and-programs": "Keys for programs",
    "from-one-pc-to-many": "From one PC to many",
}


@require_safe
@login_not_required
def first_page(request: HttpRequest) -> HttpResponse:
    return page(request, name="how-a-piece-goes-through")


@require_safe
@login_not_required
def page(request: HttpRequest, name: str) -> HttpResponse:
    if name not in PAGES:
        raise Unknown("The guide has no such page.")
    context: dict[str, Any] = {"here": "guide", "pages": PAGES.items(), "name": name, "heading": PAGES[name]}
    if name == "every-field":
        context["chapters"] = field_help.chapters()
    if name == "words":
        context["glossary"] = glossary.WORDS
    return show(request, f"jobs/guide/{name}.html", context)
