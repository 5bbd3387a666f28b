"""What somebody outside sees with a link: the chosen pieces and records, and nothing else. No sign-in.

The key stands in the query, which no log of ours writes down; every answer to it is in the link's own log.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods

from jobs.models import Piece, Shop
from jobs.site.client_address import client_address
from jobs.site.uploads import StoreSilent
from reports import sharing, shelf, standing
from reports.callers import guessing, note_wrong_code, too_many
from reports.models import IssuedRecord, SharedAccess, SharingLink, asked_for, pk_of, spelled
from reports.views_preview import both_drawings

Given = SharedAccess.Given
SLOWLY = "That was very often in a short time. Wait a while and try again."
WRONG = "No link has this code. Type it as it is printed; letters may be small, and the dashes do not matter."
REFUSALS = {
    "ended": "This link has ended. Ask the shop for a new one.",
    "revoked": "The shop took this link back. Ask the shop if you still need it.",
}
NOT_CHOSEN = "This link does not open that. It opens only what the shop chose for it."
ALTERED = "The file on the server is missing or no longer the one that was issued, so it is not handed out. Tell us."
SILENT = "The store of the files does not answer just now. Try again in a minute; if it goes on, tell us."


@dataclass(frozen=True)
class Opened:
    """A link that is open now, with the code as it came, for the addresses on the page."""

    link: SharingLink
    code: str
    request: HttpRequest

    @property
    def query(self) -> str:
        return urlencode({"key": self.code})

    def note(self, what: str, outcome: SharedAccess.Given = Given.GIVEN) -> None:
        sharing.note_look(self.link, what, outcome, address=client_address(self.request))

    def refused(self, what: str, outcome: SharedAccess.Given, words: str, status: int = 404) -> HttpResponse:
        self.note(what, outcome)
        return _page(self.request, "refused", {"words": words, "opened": self}, status)


Shown = Callable[..., HttpResponse]


def with_link(view: Callable[..., HttpResponse]) -> Shown:
    """Let the view see the link only while it is open; else say in words why not."""

    @login_not_required
    @require_GET
    @never_cache
    def inner(request: HttpRequest, **asked: Any) -> HttpResponse:
        if too_many(request, "shared") or guessing(request):
            return _page(request, "enter", {"words": SLOWLY}, 429)
        code = request.GET.get("key", "")
        link = sharing.link_of(code)
        if link is None:
            note_wrong_code(request)
            return _page(request, "enter", {"words": WRONG}, 404)
        if link.state != "open":
            what = "list" if not asked else "a record" if "number" in asked else "a piece"
            sharing.note_look(link, what, Given(link.state), address=client_address(request))
            return _page(request, "refused", {"words": REFUSALS[link.state]}, 410)
        return view(Opened(link, sharing.plain_code(code), request), **asked)

    return inner


@login_not_required
@require_http_methods(["GET", "POST"])
@never_cache
def enter(request: HttpRequest) -> HttpResponse:
    """Where a printed code is typed in, and where the link itself leads."""
    if "key" in request.GET and request.method == "GET":
        return overview(request)
    if request.method == "GET":
        if too_many(request, "shared"):
            return _page(request, "enter", {"words": SLOWLY}, 429)
        return _page(request, "enter", {}, 200)
    if too_many(request, "shared") or guessing(request):
        return _page(request, "enter", {"words": SLOWLY}, 429)
    typed = request.POST.get("code", "")
    if sharing.link_of(typed) is None:
        note_wrong_code(request)
        return _page(request, "enter", {"words": WRONG, "typed": typed[: sharing.LONGEST_TYPED]}, 422)
    return HttpResponseRedirect(f"{reverse('shared')}?{urlencode({'key': sharing.plain_code(typed)})}")


@with_link
def overview(opened: Opened) -> HttpResponse:
    """What the link opens."""
    opened.note("list")
    pieces = opened.link.pieces.select_related("design", "pour").order_by("design__mark", "serial")
    rows = opened.link.records.select_related("revision__design", "piece__design").order_by("-pk")
    context = {"opened": opened, "pieces": pieces, "records": [(r, standing.superseded_by(r)) for r in rows]}
    return _page(opened.request, "overview", context, 200)


@with_link
def shared_piece(opened: Opened, pk: int) -> HttpResponse:
    """One chosen piece: what it is, where it stands, its drawing, and those chosen records that are of it."""
    rows = opened.link.pieces.select_related("design", "revision__specification", "pour")
    piece: Piece | None = rows.filter(pk=pk).first() if 0 < pk < 2**63 else None
    if piece is None:
        return opened.refused(f"piece no. {pk}", Given.NOT_CHOSEN, NOT_CHOSEN)
    opened.note(f"piece {piece}")
    records = opened.link.records.filter(piece=piece).select_related("revision__design", "piece__design")
    document = piece.revision.specification.document if piece.revision else None
    context = {
        "opened": opened,
        "piece": piece,
        "drawings": both_drawings(document) if document else "",
        "records": [(r, standing.superseded_by(r)) for r in records.order_by("-pk")],
    }
    return _page(opened.request, "piece", context, 200)


@with_link
def shared_record(opened: Opened, number: str) -> HttpResponse:
    """The file of a chosen record, after looking that it still is the one that was issued."""
    rows = opened.link.records.select_related("revision__design__order", "piece__design")
    record: IssuedRecord | None = rows.filter(asked_for(number)).first()
    if record is None:
        asked = f"record {spelled(number)}" if pk_of(number) else "something that is no record's number"
        return opened.refused(asked, Given.NOT_CHOSEN, NOT_CHOSEN)
    try:
        data = shelf.whole(record)
    except OSError:
        return opened.refused(f"record {record.number}", Given.NO_FILE, ALTERED)
    except StoreSilent:
        return opened.refused(f"record {record.number}", Given.SILENT, SILENT, StoreSilent.http_status)
    sharing.note_taken(opened.link, record, address=client_address(opened.request))
    named = content_disposition_header(as_attachment=True, filename=record.file_name)
    return HttpResponse(data, content_type="application/pdf", headers={"Content-Disposition": named or "attachment"})


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int) -> HttpResponse:
    shop = Shop.objects.filter(pk=1).first() or Shop()
    answer = render(request, f"reports/shared/{name}.html", {"shop": shop, **context}, status=status)
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer
