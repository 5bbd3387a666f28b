"""The board: every piece by stage, what it waits for and whom."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from jobs import access, queries
from jobs.models import Piece, Stage
from jobs.views.entries import show
from jobs.views.next_thing import WAITS

MOST_DONE = 12  # installed pieces on the board; the rest is with their orders


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


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    return HttpResponseRedirect(reverse("board"))


@require_safe
def board(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "view")
    text = request.GET.get("q", "")[:100]
    found = queries.board(text=text)
    today = timezone.localdate()
    bands = [_band(column.stage, column.pieces, today) for column in found.columns]
    if found.held:
        bands.append(_band(Stage.HELD, found.held, today))
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


def _band(stage: Stage, pieces: list[Piece], today: date) -> Band:
    waits_for, whom = WAITS[stage]
    shown = pieces[-MOST_DONE:] if stage == Stage.INSTALLED else pieces
    slips = [
        Slip(
            piece,
            stage != Stage.INSTALLED and bool(piece.design.order.due_date and piece.design.order.due_date < today),
        )
        for piece in shown
    ]
    return Band(stage.label, stage.value, slips, len(pieces), waits_for, whom)
