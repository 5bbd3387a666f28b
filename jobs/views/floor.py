"""What the crew writes down at a piece: form check, pour, strength test, load test, install. One page each."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.core.contract.units import format_length
from engineering.queries import described_piece
from jobs import access, queries
from jobs.actions import production
from jobs.errors import NotNow, ShopError
from jobs.forms.floor import FormCheckForm, InstallForm, LoadTestForm, PourForm, StrengthForm, open_tickets
from jobs.gates import newest_revision
from jobs.load_tests import missing_for_acceptance
from jobs.models import BatchTicket, Piece, Shop, Stage
from jobs.views.entries import accepted, attempt, person_of, request_id_of, show
from jobs.views.units import shown, unit, units_of
from jobs.words import say, tell

CAUTIONS = (
    say("The supports are where the drawing has them, and nowhere else."),
    say("A stressed piece is never cut, drilled or cored."),
    say("The rods stay under force for good: nobody works at a pocket or an end plate without the engineer."),
    say("Nobody stands in the line of a rod while a pocket is open."),
    say("Lifting only at the two points of the drawing."),
)


def described(piece: Piece) -> DescribedPiece:
    revision = piece.revision or newest_revision(piece.design)
    if revision is None:
        raise NotNow(say("{piece} has no drawing yet.", piece=piece))
    return described_piece(revision.specification)


def entry(
    request: HttpRequest,
    piece: Piece,
    template: str,
    form: Any,
    act: Callable[[], Any],
    said: str,
    draft: str,
    **context: Any,
) -> HttpResponse:
    """One entry page: the form, the attempt, back to the piece when it is written down."""
    error: ShopError | None = None
    if request.method == "POST" and form.is_valid():
        made, error = attempt(act, form)
        if made is not None:
            return accepted(request, said, reverse("piece", args=[piece.pk]), draft=f"{draft}-{piece.pk}")
    context = {"here": "board", "piece": piece, "draft": f"{draft}-{piece.pk}", "units": units_of(piece), **context}
    return show(request, template, context, error, form)


def data_of(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else None


def form_check(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    units = units_of(piece)
    form = FormCheckForm(data_of(request), places=rod_places(described(piece), units), units=units)
    return entry(
        request,
        piece,
        "jobs/floor/form_check.html",
        form,
        lambda: production.record_form_check(
            piece, by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        tell("The form of {piece} is checked.", piece=piece),
        "form-check",
        unit=unit("length", units),
    )


def rod_places(piece: DescribedPiece, units: str) -> list[dict[str, Any]]:
    """Where to measure: at each point of each rod's axis, its height above the lowest point of the piece
    as installed.
    """
    length = unit("length", units)
    return [
        {
            "rod": rod.mark,
            "x_in": x,
            "drawn_in": y,
            "label": tell(
                "Rod {rod} at {x}: drawn {y}",
                rod=rod.mark,
                x=format_length(x, units),
                y=f"{shown(y, 'length', units)} {length}",
            ),
        }
        for rod in piece.rods
        for x, y in rod.profile
    ]


def pour(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    others = (
        Piece.objects.select_related("design__order", "revision__specification")
        .filter(stage=Stage.FORMED, pour=None)
        .exclude(pk=piece.pk)
        .order_by("design__mark", "serial")[:40]
    )
    units = units_of(piece)
    form = PourForm(
        data_of(request), others=[(row.pk, f"{row} · {row.design.order.client}") for row in others], units=units
    )

    def act() -> Any:
        chosen = [
            piece,
            *(access.piece_for(request.user, other, may="produce") for other in form.cleaned_data.get("others", [])),
        ]
        return production.record_pour(chosen, by=person_of(request), request_id=request_id_of(request), **form.values())

    return entry(
        request,
        piece,
        "jobs/floor/pour.html",
        form,
        act,
        tell("The pour of {piece} is written down.", piece=piece),
        "pour",
        length=unit("length", units),
        density=unit("density", units),
        now=timezone.localtime(),
        targets=working_time(open_tickets()),
    )


def working_time(tickets: Iterable[BatchTicket]) -> list[dict[str, Any]]:
    """For each batch that has its water and is not poured: until when it can be worked, for the page to count down."""
    return [
        {
            "label": tell("Batch {batch} can be worked until", batch=ticket.batch),
            "value": f"{timezone.localtime(until):%H:%M}",
            "until": until.isoformat(),
        }
        for ticket in tickets
        if (until := ticket.workable_until) is not None
    ]


def strength(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    units = units_of(piece)
    form = StrengthForm(data_of(request), units=units)
    poured = piece.pour
    if poured is None:
        return entry(request, piece, "jobs/floor/not_poured.html", form, lambda: None, "", "strength")
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    return entry(
        request,
        piece,
        "jobs/floor/strength.html",
        form,
        lambda: production.record_strength_test(
            poured, by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        tell("The strength test of batch {batch} is written down.", batch=poured.batch),
        "strength",
        unit=unit("stress", units),
        needed=strengths_needed(piece, described(piece), units),
        cube_factor=shop.cube_factor,
        tests=queries.strength_tests_of(piece),
    )


def strengths_needed(piece: Piece, drawn: DescribedPiece, units: str) -> list[dict[str, Any]]:
    """What the drawing asks for, the one that comes next first."""
    needed = []
    if drawn.handling is not None:
        needed.append((tell("to strip and lift"), drawn.handling.strength_psi))
    if drawn.rods:
        needed.append((tell("to stress"), drawn.concrete.strength_at_stressing_psi))
    if piece.stage == Stage.STRIPPED:
        needed.reverse()
    return [{"what": what, "psi": psi, "shown": shown(psi, "stress", units, 4)} for what, psi in needed]


def load_test(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    units = units_of(piece)
    form = LoadTestForm(data_of(request), units=units)
    return entry(
        request,
        piece,
        "jobs/floor/load_test.html",
        form,
        lambda: production.record_load_test(
            piece, by=person_of(request), request_id=request_id_of(request), accepted=False, **form.cleaned_data
        ),
        tell("The load test of {piece} is written down.", piece=piece),
        "load-test",
        missing=missing_for_acceptance(piece),
        planned=piece.load_test_plans.exists(),
        force=unit("force", units),
        length=unit("length", units),
    )


def install(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    units = units_of(piece)
    labels = [
        tell("Support {number}: drawn at {x}", number=number, x=format_length(support.at_in, units))
        for number, support in enumerate(described(piece).supports, start=1)
    ]
    form = InstallForm(data_of(request), supports=labels, units=units)
    return entry(
        request,
        piece,
        "jobs/floor/install.html",
        form,
        lambda: production.record_installation(
            piece, by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        tell("The install of {piece} is written down.", piece=piece),
        "install",
        cautions=CAUTIONS,
        unit=unit("length", units),
    )
