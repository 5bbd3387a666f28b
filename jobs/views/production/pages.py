"""What these pages share: one entry page made of parts, tables of text and links."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.core.paginator import Page
from django.http import HttpRequest, HttpResponse
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from jobs import access
from jobs.errors import NotNow, ShopError
from jobs.models import Language, Piece
from jobs.views.entries import accepted, attempt, show
from jobs.words import here, say, tell

SHORT_CELL = 12  # characters: a mark, a day, a bed, a figure; they stay on one line
STACKS_FROM = 3  # columns: on a phone the cells of a row then stand one below the other
DAY, WEEKDAY, MONTH = say("j F Y"), say("l, j F Y"), say("F Y")


@dataclass(frozen=True)
class Link:
    text: str
    url: str


@dataclass(frozen=True)
class Loud:
    """Words that must not be passed over: late, out of tolerance, a crack."""

    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Cell:
    """`of`: the heading of its column, which a phone shows beside it."""

    of: str
    value: Any

    @property
    def is_short(self) -> bool:
        return len(str(self.value.text if isinstance(self.value, Link) else self.value)) <= SHORT_CELL


@dataclass
class Table:
    title: str
    head: Sequence[str]
    rows: Sequence[Sequence[Any]] = ()
    lead: str = ""
    empty: str = ""
    plot_url: str = ""  # of plots that answer to finger and keys, fetched when the page is there
    part: Link | None = None  # of what stands after this table, fetched when the page is there; it may be nothing
    links: Sequence[Link] = ()
    lang: str = ""  # of the rows, where that is not the page's

    def cells(self) -> list[list[Cell]]:
        return [[Cell(*pair) for pair in zip(self.head, row, strict=True)] for row in self.rows]

    @property
    def stacks(self) -> bool:
        return len(self.head) >= STACKS_FROM


def plots_url(piece: Piece, of: str) -> str:
    """Where plots of what was measured on a piece are: `of` the cure or the load. The records draw them."""
    try:
        return f"{reverse('piece_plots', args=[piece.pk])}?of={of}"
    except NoReverseMatch:
        return ""


def data_of(request: HttpRequest) -> tuple[Any, Any]:
    """What a form is bound to: nothing while the page is only looked at."""
    return (request.POST, request.FILES) if request.method == "POST" else (None, None)


def entry_page(
    request: HttpRequest,
    form: Any,
    act: Callable[[], Any],
    *,
    heading: str,
    button: str,
    said: Callable[[Any], str] | str,
    back: Callable[[Any], str] | str,
    draft: str,
    well: Callable[[Any], bool] = lambda made: True,
    permission: str = "produce",
    piece: Piece | None = None,
    template: str = "jobs/production/entry.html",
    **context: Any,
) -> HttpResponse:
    """Show the form; on POST try the act, and go `back` when it is written down.

    `well`: false for what was made and needs eyes, such as a reading out of tolerance.
    """
    error: ShopError | None = None
    if request.method == "POST":
        access.need(request.user, permission)
        if form is None:
            error = NotNow(say("There is nothing to write down here now. Reload to see how it stands."))
        elif form.is_valid():
            made, error = attempt(act, form)
            if made is not None:
                words = said if isinstance(said, str) else said(made)
                where = back if isinstance(back, str) else back(made)
                return accepted(request, words, where, draft=draft, well=well(made))
    context = {
        "here": "board",
        "piece": piece,
        "heading": heading,
        "button": button,
        "draft": draft,
        "may_write": access.may(request.user, permission),
        "multipart": form is not None and form.is_multipart(),
        **context,
    }
    return show(request, template, context, error, form)


def list_page(request: HttpRequest, heading: str, tables: Iterable[Table], **context: Any) -> HttpResponse:
    context = {"here": "board", "heading": heading, "tables": list(tables), **context}
    return show(request, "jobs/production/list.html", context)


def pages_of(page: Page[Any]) -> list[Link]:
    """Links to the page before and the page after, with where this one is between them."""
    links = []
    if page.has_previous():
        links.append(Link(_("Earlier page"), f"?page={page.previous_page_number()}"))
    if page.has_next():
        words = tell("Next page, {number} of {all}", number=page.next_page_number(), all=page.paginator.num_pages)
        links.append(Link(words, f"?page={page.next_page_number()}"))
    return links


def to_piece(piece: Piece) -> str:
    return reverse("piece", args=[piece.pk])


def when(at: datetime | None) -> str:
    return date_format(timezone.localtime(at), "j M H:i") if at else "—"


def day_of(at: datetime) -> str:
    """The day of the shop's clock, as people here write one."""
    return date_format(timezone.localtime(at), "j M Y")


def in_words(day: date, form: str, *, first: bool = False) -> str:
    """`form`: as the reader's language puts it. `first`: it begins a line. Spanish writes months and days small."""
    text = date_format(day, here(form))
    if get_language() == Language.SPANISH:
        text = text.lower()
    return text[0].upper() + text[1:] if first else text
