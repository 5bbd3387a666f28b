"""The guide: short pages that say how a piece goes through, served by the site itself."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from jobs import glossary
from jobs.errors import Unknown
from jobs.models import Language
from jobs.views import field_help
from jobs.views.entries import show
from jobs.words import here, say

PAGES: dict[str, str] = {
    "from-wish-to-release": say("From a customer's wish to a released piece"),
    "how-a-piece-goes-through": say("How a piece goes through"),
    "writing-a-specification": say("Writing a specification"),
    "reading-a-verdict": say("Reading a verdict"),
    "tightening-rods": say("Tightening rods"),
    "every-field": say("Every field"),
    "words": say("Words of the trade"),
    "keys-and-programs": say("Keys for programs"),
    "from-one-pc-to-many": say("From one PC to many"),
}
# What the crew goes by speaks their language; the others are the office's, and are said to be English.
IN_BOTH = ("how-a-piece-goes-through", "tightening-rods")


@require_safe
@login_not_required
def first_page(request: HttpRequest) -> HttpResponse:
    return page(request, name="how-a-piece-goes-through")


@require_safe
@login_not_required
def page(request: HttpRequest, name: str) -> HttpResponse:
    if name not in PAGES:
        raise Unknown("The guide has no such page.")
    pages = [(slug, here(title)) for slug, title in PAGES.items()]
    context: dict[str, Any] = {"here": "guide", "pages": pages, "name": name, "heading": here(PAGES[name])}
    spanish = get_language() == Language.SPANISH
    context["lang"] = "en" if spanish and name not in IN_BOTH else ""
    if name == "every-field":
        context["chapters"] = field_help.chapters()
    if name == "words":
        context["glossary"] = glossary.WORDS
    folder = "jobs/guide/es" if spanish and name in IN_BOTH else "jobs/guide"
    return show(request, f"{folder}/{name}.html", context)
