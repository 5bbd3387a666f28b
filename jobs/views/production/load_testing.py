"""The load test by plan: plan it, read it, see it against the predicted curve, conclude it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from engineering.core.checks.pen import Pen
from engineering.core.proof_load import SHORT
from engineering.queries import latest_run
from jobs import access
from jobs.actions import production
from jobs.errors import NotNow
from jobs.forms.load_testing import LoadReadingForm, PlanForm
from jobs.load_tests import load_for, outcome_of
from jobs.models import LoadTestPlan, LoadTestReading, Piece
from jobs.views.entries import accepted, attempt, person_of, request_id_of, show
from jobs.views.floor import described
from jobs.views.production.pages import Table, data_of, entry_page, plots_url, to_piece, when
from jobs.views.units import shown, unit, units_of

CAUTIONS = [
    "Everybody out from under it: it is propped or blocked so that it can fall no further than a hand's breadth.",
    "Stop and unload from the side at a crack, a noise, or the deflection to stop at.",
]


def plan(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    units, run = units_of(piece), latest_run(piece.revision.specification) if piece.revision else None
    if run is None:
        raise NotNow(f"{piece} is bound to no released drawing.")
    try:
        load = load_for(described(piece), run)
    except ValueError as exc:
        raise NotNow(f"No load can be found: {exc}.") from exc
    force, length = unit("force", units), unit("length", units)
    form = PlanForm(*data_of(request), units=units)
    return entry_page(
        request,
        form,
        lambda: production.plan_load_test(
            piece, by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        piece=piece,
        heading=f"Plan the load test of {piece}",
        lead="Greater of 1.15 D + 1.5 L and 1.3 D, less its own weight, spread over the whole piece. Point loads and "
        "loads that act alone are not in it: where they govern, the engineer writes the plan.",
        cautions=CAUTIONS if load.enough else [SHORT, *CAUTIONS],
        targets=[
            {"label": "To put on", "unit": force, "value": shown(load.to_put_on_lbf, "force", units, 4)},
            {"label": "Its own weight", "unit": force, "value": shown(load.weight_lbf, "force", units, 4)},
            {"label": "l²/(20,000 h)", "unit": length, "value": shown(load.limit_in, "length", units)},
        ],
        button="Write down the plan",
        said="The plan is written down.",
        back=lambda made: reverse("load_test_run", args=[pk]),
        draft=f"load-plan-{pk}",
        tables=[Table("How the load comes about", ("Step by step",), [[line] for line in load.working(Pen(units))])],
    )


def run_test(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    newest = piece.load_test_plans.select_related("piece__design__order").order_by("-pk").first()
    if newest is None:
        raise NotNow(f"No load test of {piece} is planned yet.")
    readings = list(newest.readings.select_related("by").order_by("at", "pk"))
    outcome, units = outcome_of(newest, readings), units_of(piece)
    form = LoadReadingForm(*data_of(request), units=units)
    stop = any(row.crack_seen or row.deflection_in > newest.stop_deflection_in for row in readings)
    return entry_page(
        request,
        form,
        lambda: production.record_load_reading(
            newest, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
        ),
        piece=piece,
        template="jobs/production/load_test_run.html",
        heading=f"Load test of {piece}",
        cautions=CAUTIONS,
        targets=_targets(newest, units),
        stop=stop,
        outcome=outcome,
        button="Write down the reading",
        said="Written down.",
        back=request.path,
        draft=f"load-reading-{pk}",
        tables=[_layers(newest, units), _readings(piece, readings, units)],
    )


def _targets(row: LoadTestPlan, units: str) -> list[dict[str, Any]]:
    force, length = unit("force", units), unit("length", units)
    return [
        {"label": "Full load", "unit": force, "value": shown(row.total_lbf, "force", units, 4)},
        {"label": "Stop at", "unit": length, "value": shown(row.stop_deflection_in, "length", units)},
        {"label": "Full load lies", "unit": "minutes", "value": row.hold_minutes},
    ]


def _layers(row: LoadTestPlan, units: str) -> Table:
    rows, on = [], 0.0
    for place, layer in enumerate(row.layers, start=1):
        on += layer["number"] * row.unit_lbf
        rows.append([place, layer["number"], layer["where"], f"{shown(on, 'force', units, 4)} {unit('force', units)}"])
    return Table(f"Layers: {row.what}", ("Layer", "How many", "Where", "Then on it"), rows)


def _readings(piece: Piece, readings: list[LoadTestReading], units: str) -> Table:
    rows = [
        [
            when(reading.at),
            shown(reading.load_lbf, "force", units, 4),
            shown(reading.deflection_in, "length", units),
            "A CRACK" if reading.crack_seen else "",
            reading.by.display_name,
        ]
        for reading in readings
    ]
    head = ("When", f"Load, {unit('force', units)}", f"Deflection, {unit('length', units)}", "", "Who")
    return Table("Readings", head, rows, plot_url=plots_url(piece, "load"), empty="Nothing read yet.")


def conclude(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    newest = piece.load_test_plans.select_related("piece__design__order").order_by("-pk").first()
    if request.method != "POST" or newest is None:
        return run_test(request, pk) if newest is not None else plan(request, pk)
    made, error = attempt(
        lambda: production.conclude_load_test(newest, by=person_of(request), request_id=request_id_of(request))
    )
    if made is not None:
        words = "accepted" if made.accepted else "NOT accepted"
        return accepted(request, f"The load test of {piece} is {words}.", to_piece(piece))
    context = {"here": "board", "piece": piece, "heading": f"Load test of {piece}", "tables": []}
    return show(request, "jobs/production/list.html", context, error)
