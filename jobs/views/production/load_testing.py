"""The load test by plan: plan it, read it, see it against the predicted curve, conclude it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from engineering.core.checks.pen import Pen
from engineering.queries import latest_run
from jobs import access
from jobs.actions import production
from jobs.actions.production.load_testing import newest_plan
from jobs.errors import NotNow
from jobs.forms.load_testing import LoadReadingForm, PlanForm
from jobs.load_tests import load_for, outcome_of
from jobs.models import LoadTestPlan, LoadTestReading, Piece, Stage
from jobs.views.entries import accepted, attempt, person_of, request_id_of, show
from jobs.views.floor import described
from jobs.views.production.pages import Loud, Table, data_of, entry_page, plots_url, to_piece, when
from jobs.views.units import shown, unit, units_of
from jobs.words import say, tell

CAUTIONS = [
    say("Everybody out from under it: it is propped or blocked so that it can fall no further than a hand's breadth."),
    say("Stop and unload from the side at a crack, a noise, or the deflection to stop at."),
]
NOT_ENOUGH = say(
    "An engineer must say where to put the load: spread out over the piece, it does not bend the piece as much as its "
    "drawing has it loaded."
)


def plan(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="plan test")
    units, run = units_of(piece), latest_run(piece.revision.specification) if piece.revision else None
    if run is None:
        raise NotNow(say("{piece} is bound to no released drawing.", piece=piece))
    try:
        load = load_for(described(piece), run)
    except ValueError as exc:
        raise NotNow(say("No load can be found: {why}.", why=exc)) from exc
    force, length = unit("force", units), unit("length", units)
    there = newest_plan(piece)
    form = PlanForm(*data_of(request), units=units, initial={"replaces": there.pk if there else None})
    return entry_page(
        request,
        form,
        lambda: production.plan_load_test(
            piece, by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        piece=piece,
        heading=tell("Plan the load test of {piece}", piece=piece),
        lead=_(
            "Greater of 1.15 D + 1.5 L and 1.3 D, less its own weight, spread over the whole piece. Point loads and "
            "loads that act alone are not in it: where they govern, ask an engineer where to put the load."
        ),
        cautions=CAUTIONS if load.enough else [NOT_ENOUGH, *CAUTIONS],
        targets=[
            {"label": _("To put on"), "unit": force, "value": shown(load.to_put_on_lbf, "force", units, 4)},
            {"label": _("Its own weight"), "unit": force, "value": shown(load.weight_lbf, "force", units, 4)},
            {"label": "l²/(20,000 h)", "unit": length, "value": shown(load.limit_in, "length", units)},
        ],
        button=_("Write down the plan"),
        said=_("The plan is written down."),
        back=lambda made: reverse("load_test_run", args=[pk]),
        draft=f"load-plan-{pk}",
        permission="plan test",
        tables=[Table(_("How the load comes about"), (_("Step by step"),), _working(load, units), lang="en")],
    )


def _working(load: Any, units: str) -> list[list[str]]:
    """The engine's own working, line by line, in English."""
    return [[line] for line in load.working(Pen(units))]


def run_test(request: HttpRequest, pk: int) -> HttpResponse:
    """Who plans a test may watch it; the crew writes it down."""
    piece = access.piece_for(request.user, pk, may="produce" if request.method == "POST" else "plan test")
    newest = piece.load_test_plans.select_related("piece__design__order").order_by("-pk").first()
    if newest is None:
        raise NotNow(say("No load test of {piece} is planned yet.", piece=piece))
    readings = list(newest.readings.select_related("by").order_by("at", "pk"))
    outcome, units = outcome_of(newest, readings), units_of(piece)
    form = LoadReadingForm(*data_of(request), units=units, initial={"plan": newest.pk})
    stop = any(row.crack_seen or row.deflection_in > newest.stop_deflection_in for row in readings)
    going_on = piece.stage == Stage.STRESSED
    return entry_page(
        request,
        form,
        lambda: production.record_load_reading(
            _meant(piece, form, newest), by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        piece=piece,
        template="jobs/production/load_test_run.html",
        heading=tell("Load test of {piece}", piece=piece),
        lead="" if going_on else _over(piece),
        may_write=going_on and access.may(request.user, "produce"),
        cautions=CAUTIONS if going_on else (),
        targets=_targets(newest, units),
        stop=stop,
        outcome=outcome,
        button=_("Write down the reading"),
        said=_("Written down."),
        back=request.path,
        draft=f"load-reading-{pk}",
        tables=[_layers(newest, units), _readings(piece, readings, units)],
    )


def _over(piece: Piece) -> str:
    return tell(
        "{piece} is {stage}; a load test comes after stressing and before finishing.", piece=piece, stage=piece.stage
    )


def _meant(piece: Piece, form: LoadReadingForm, newest: LoadTestPlan) -> LoadTestPlan:
    """The plan under which it was read, as the page had it; the action says whether that one still counts."""
    sent = form.cleaned_data["plan"]
    return newest if sent is None else piece.load_test_plans.filter(pk=sent).first() or newest


def _targets(row: LoadTestPlan, units: str) -> list[dict[str, Any]]:
    force, length = unit("force", units), unit("length", units)
    return [
        {"label": _("Full load"), "unit": force, "value": shown(row.total_lbf, "force", units, 4)},
        {"label": _("Stop at"), "unit": length, "value": shown(row.stop_deflection_in, "length", units)},
        {"label": _("Full load lies"), "unit": _("minutes"), "value": row.hold_minutes},
    ]


def _layers(row: LoadTestPlan, units: str) -> Table:
    rows, on = [], 0.0
    for place, layer in enumerate(row.layers, start=1):
        on += layer["number"] * row.unit_lbf
        rows.append([place, layer["number"], layer["where"], f"{shown(on, 'force', units, 4)} {unit('force', units)}"])
    return Table(tell("Layers: {what}", what=row.what), (_("Layer"), _("How many"), _("Where"), _("Then on it")), rows)


def _readings(piece: Piece, readings: list[LoadTestReading], units: str) -> Table:
    rows = [
        [
            when(reading.at),
            shown(reading.load_lbf, "force", units, 4),
            shown(reading.deflection_in, "length", units),
            Loud(_("A CRACK")) if reading.crack_seen else "",
            reading.by.display_name,
        ]
        for reading in readings
    ]
    head = (
        _("When"),
        tell("Load, {unit}", unit=unit("force", units)),
        tell("Deflection, {unit}", unit=unit("length", units)),
        "",
        _("Who"),
    )
    return Table(_("Readings"), head, rows, plot_url=plots_url(piece, "load"), empty=_("Nothing read yet."))


def conclude(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    newest = piece.load_test_plans.select_related("piece__design__order").order_by("-pk").first()
    if request.method != "POST" or newest is None:
        return run_test(request, pk) if newest is not None else plan(request, pk)
    made, error = attempt(
        lambda: production.conclude_load_test(newest, by=person_of(request), request_id=request_id_of(request))
    )
    if made is not None:
        words = (
            tell("The load test of {piece} is accepted.", piece=piece)
            if made.accepted
            else tell("The load test of {piece} is NOT accepted.", piece=piece)
        )
        return accepted(request, words, to_piece(piece), well=made.accepted)
    context = {"here": "board", "piece": piece, "heading": tell("Load test of {piece}", piece=piece), "tables": []}
    return show(request, "jobs/production/list.html", context, error)
