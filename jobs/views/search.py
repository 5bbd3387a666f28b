"""One box for everything in the book. What else the shop keeps is put beside by whoever keeps it (`reports`)."""

from __future__ import annotations

from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse

from jobs import access
from jobs.forms.search import SearchForm
from jobs.search import SHOWN, Group, Kind, search
from jobs.views.entries import show
from jobs.views.production.pages import Link, Table
from jobs.words import tell


def found_page(request: HttpRequest, kinds: Iterable[Kind]) -> HttpResponse:
    """What the text in the address (`q`) is found in, by kind."""
    access.need(request.user, "view")
    form = SearchForm(request.GET)
    text = form.cleaned_data["q"].strip() if form.is_valid() else ""
    tables = [_table(group) for group in search(kinds, text, request.user)]
    return show(request, "jobs/search.html", {"here": "search", "text": text, "tables": tables}, form=form)


def _table(group: Group) -> Table:
    rows = [[Link(row.name, row.url) if row.url else row.name, row.about] for row in group.found]
    more = tell("The first {number}; type more of it to see others.", number=SHOWN) if group.more else ""
    return Table(group.title, (tell("Name"), tell("About it")), rows, lead=more)
