"""The board: every piece by stage, what it waits for and whom."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from jobs import access, queries
from jobs.models import Piece, Stage
from jobs.views.entries import show
from jobs.views.next_thing import WAITS

ON_A_PAGE = 60


@dataclass
class Slip:
    piece: Piece
    late: bool


@dataclass
class Band:
    label: str
    slug: str
    slips: list[Slip]
    count: int
    waits_for: str
    whom: str

    @property
    def more(self) -> int:
        return self.count - len(self.slips)


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    return HttpResponseRedirect(reverse("board"))


@require_safe
def board(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "view")
    text = _asked_for(request)
    found = queries.board(text=text)
    today = timezone.localdate()
    bands = [_band(column.stage, column.pieces, column.count, today) for column in found.columns]
    if found.held.count:
        bands.append(_band(Stage.HELD, found.held.pieces, found.held.count, today))
    waiting: Counter[str] = Counter()
    for band in bands:
        if band.whom:
            waiting[band.whom] += band.count
    return show(
        request,
        "jobs/board.html",
        {
            "here": "board",
            "bands": bands,
            "late": found.late,
            "text": text,
            "waiting": waiting.most_common(),
            "total": sum(band.count for band in bands),
        },
    )


@require_safe
def board_stage(request: HttpRequest, stage: str) -> HttpResponse:
    """Every piece at one stage, page by page."""
    access.need(request.user, "view")
    if stage not in WAITS:
        raise Http404
    text = _asked_for(request)
    pieces = queries.board_pieces(text=text).filter(stage=stage)
    if stage == Stage.INSTALLED:
        pieces = pieces.order_by(*queries.NEWEST)
    page = Paginator(pieces.values_list("pk", flat=True), ON_A_PAGE).get_page(request.GET.get("page"))
    shown = pieces.in_bulk(list(page))  # the rows of this page alone; the others are only stepped over in the index
    band = _band(Stage(stage), [shown[pk] for pk in page], page.paginator.count, timezone.localdate())
    return show(request, "jobs/board_stage.html", {"here": "board", "band": band, "page": page, "text": text})


def _asked_for(request: HttpRequest) -> str:
    """What is looked for; a NUL, which no database takes in a text, is in no mark and no name."""
    return request.GET.get("q", "").replace("\0", "")[:100]


def _band(stage: Stage, shown: list[Piece], count: int, today: date) -> Band:
    waits_for, whom = WAITS[stage]
    slips = [Slip(piece, _is_late(piece, today)) for piece in shown]
    return Band(stage.label, stage.value, slips, count, waits_for, whom)


def _is_late(piece: Piece, today: date) -> bool:
    due = piece.design.order.due_date
    return piece.stage != Stage.INSTALLED and bool(due and due < today)
