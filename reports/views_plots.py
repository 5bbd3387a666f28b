"""Plots as a part of a page or as a page of their own: of a revision's newest result, of a stressing's readings."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import translation
from django.views.decorators.http import require_GET

from engineering.models import Study
from engineering.queries import latest_run
from jobs.access import piece_for, revision_for, stressing_for, study_for
from jobs.views.entries import person_of
from jobs.words import here, say
from reports.compared_plots import compared_results, compared_studies
from reports.entries import readings_in_order
from reports.piece_plots import KINDS, piece_page_plots
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


NOTHING = {  # by the part that is asked for
    "": say("Nothing to plot yet. A strength test counts from the first hour after the pour."),
    "load": say("Nothing to plot yet: readings are drawn over the curve that the checks predict, once both are there."),
}


@require_GET
def piece_plots(request: HttpRequest, pk: int) -> HttpResponse:
    """What was measured on one piece: strength, readings against targets, the load test over the predicted curve. The
    pages of the cure and of the load test ask for their own part with `of`."""
    piece = piece_for(request.user, pk)
    found = KINDS.get(request.GET.get("of", ""), piece_page_plots)(piece)
    empty = NOTHING.get(request.GET.get("of", ""), NOTHING[""])
    # As a part it stands on a page that speaks to the person in their own language; the plots are English.
    language = person_of(request).language if _is_part(request) else "en"
    with translation.override(language):
        words = here(empty)
    context = {"plots": found, "heading": str(piece), "revision": None, "piece": piece}
    return _answer(request, context | {"empty": words, "language": language})


@require_GET
def compared_revisions(request: HttpRequest, left: int, right: int) -> HttpResponse:
    """The plots of two revisions over one another, by their newest finished checks."""
    one, other = revision_for(request.user, left), revision_for(request.user, right)
    runs = [latest_run(row.specification) for row in (one, other)]
    results = [run.result for run in runs if run and run.result]
    found = compared_results(results[0], results[1], (str(one), str(other))) if len(results) == 2 else []
    return _answer(request, {"plots": page_plots(found, "compared"), "heading": f"{one} and {other}"})


@require_GET
def compared_answers(request: HttpRequest, left: int, right: int) -> HttpResponse:
    """The plots of two finished studies of one kind over one another."""
    one, other = study_for(request.user, left), study_for(request.user, right)
    names = (_study_words(one), _study_words(other))
    found = []
    if one.kind == other.kind and one.result and other.result:
        found = compared_studies(one.kind, one.result, other.result, names)
    return _answer(request, {"plots": page_plots(found, "compared"), "heading": " and ".join(names)})


def _study_words(row: Study) -> str:
    return f"{row.specification.revision} (study {row.pk})"


def _answer(request: HttpRequest, context: dict[str, Any]) -> HttpResponse:
    part = _is_part(request)
    return render(request, "reports/_plots.html" if part else "reports/plots.html", context | {"here": "orders"})


def _is_part(request: HttpRequest) -> bool:
    return request.headers.get("HX-Request") == "true"
