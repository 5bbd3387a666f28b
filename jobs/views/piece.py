"""The tablet page of a piece: where it is, the one next thing, what else can be done, what was written down."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_safe

from jobs import access, queries
from jobs.actions import pieces
from jobs.errors import ShopError
from jobs.forms.floor import ReasonForm
from jobs.models import Piece, Stage
from jobs.stages import LINE
from jobs.views.entries import accepted, attempt, person_of, posts_only, request_id_of, show
from jobs.views.next_thing import forward, next_thing
from jobs.views.units import units_of
from jobs.words import tell


@require_safe
def piece(request: HttpRequest, pk: int) -> HttpResponse:
    return piece_page(request, access.piece_for(request.user, pk))


def piece_page(request: HttpRequest, row: Piece, error: ShopError | None = None) -> HttpResponse:
    page = queries.piece_page(row)
    ahead = forward(page)
    context = {
        "here": "board",
        "piece": row,
        "page": page,
        "next": next_thing(page, person_of(request)),
        "whereabouts": whereabouts(row),
        "others": [move for move in page.moves if move is not ahead and not _pointless(move)],
        "units": units_of(row),
        "may_move_to": [move.to_stage for move in page.moves if access.may_move(request.user, move.to_stage)],
        "drawing_url": drawing_url(row, page),
        "reason_form": ReasonForm(),
    }
    return show(request, "jobs/piece.html", context, error)


def _pointless(move: queries.NextMove) -> bool:
    return any(blocker.code in ("load-test-not-asked", "load-test-asked") for blocker in move.blockers)


def whereabouts(row: Piece) -> list[dict[str, Any]]:
    """The line of stages with the piece's place on it; one that is held stands where it was held from."""
    stage = row.held_from if row.stage == Stage.HELD else row.stage
    line = [place for place in LINE if place != Stage.LOAD_TESTED or row.design.load_test_required or stage == place]
    here = line.index(Stage(stage)) if stage in line else -1
    return [{"label": place.label, "past": number < here, "here": number == here} for number, place in enumerate(line)]


def drawing_url(row: Piece, page: queries.PiecePage) -> str:
    revision = row.revision or page.newest
    try:
        return reverse("revision_drawing", args=[revision.pk]) if revision else ""
    except NoReverseMatch:
        return ""


@posts_only("piece")
def move(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.piece_for(request.user, pk)
    to_stage = request.POST.get("to_stage", "")
    made, error = attempt(
        lambda: pieces.move(
            row,
            to_stage,
            by=person_of(request),
            request_id=request_id_of(request),
            from_stage=request.POST.get("from_stage") or None,
        )
    )
    if made is not None:
        return accepted(
            request, tell("{row} is now {to_stage}.", row=row, to_stage=to_stage), reverse("piece", args=[pk])
        )
    row = access.piece_for(request.user, pk)
    return piece_page(request, row, error)


def _with_reason(request: HttpRequest, pk: int, permission: str, act: Callable[..., Any], words: str) -> HttpResponse:
    row = access.piece_for(request.user, pk, may=permission)
    made, error = attempt(
        lambda: act(
            row, by=person_of(request), reason=request.POST.get("reason", ""), request_id=request_id_of(request)
        )
    )
    if made is not None:
        return accepted(
            request,
            tell("{row} is {stage}.", row=row, stage=words),
            reverse("piece", args=[pk]),
            draft=f"hold-{pk} reject-{pk}",
        )
    return piece_page(request, row, error)


@posts_only("piece")
def hold(request: HttpRequest, pk: int) -> HttpResponse:
    return _with_reason(request, pk, "hold", pieces.hold, "held")


@posts_only("piece")
def reject(request: HttpRequest, pk: int) -> HttpResponse:
    return _with_reason(request, pk, "reject", pieces.reject, "rejected")


@posts_only("piece")
def resume(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.piece_for(request.user, pk, may="resume")
    made, error = attempt(lambda: pieces.resume(row, by=person_of(request), request_id=request_id_of(request)))
    if made is not None:
        return accepted(
            request, tell("{row} is taken up again, {stage}.", row=row, stage=made.stage), reverse("piece", args=[pk])
        )
    return piece_page(request, row, error)


@posts_only("piece")
def remake(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.piece_for(request.user, pk, may="order")
    made, error = attempt(lambda: pieces.remake(row, by=person_of(request), request_id=request_id_of(request)))
    if made is not None:
        return accepted(
            request,
            tell("{made} is to be made in place of {row}.", made=made, row=row),
            reverse("piece", args=[made.pk]),
        )
    return piece_page(request, row, error)
