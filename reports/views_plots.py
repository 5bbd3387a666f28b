"""Plots as a part of a page or as a page of their own: of a revision's newest result, of a stressing's readings."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from engineering.queries import latest_run
from jobs.access import revision_for, stressing_for
from reports.entries import readings_in_order
from reports.plot_data import result_plots, stressing_plots
from reports.plot_pages import page_plots


@require_GET
def revision_plots(request: HttpRequest, pk: int) -> HttpResponse:
    """Stress, moments, rod force and crown in time, load to failure, by the newest finished checks."""
    revision = revision_for(request.user, pk)
    run = latest_run(revision.specification)
    found = page_plots(result_plots(run.result)) if run and run.result else []
    return _answer(request, {"plots": found, "heading": str(revision), "revision": revision})


@require_GET
def stressing_readings(request: HttpRequest, pk: int) -> HttpResponse:
    """The readings of one stressing against their targets."""
    stressing = stressing_for(request.user, pk)
    found = page_plots(
        stressing_plots(stressing.targets, readings_in_order(stressing), stressing.targets["units"]),
        f"stressing-{stressing.pk}",
    )
    return _answer(request, {"plots": found, "heading": f"Stressing of {stressing.piece}", "revision": None})


def _answer(request: HttpRequest, context: dict[str, Any]) -> HttpResponse:
    part = request.headers.get("HX-Request") == "true"
    return render(request, "reports/_plots.html" if part else "reports/plots.html", context | {"here": "orders"})
