"""Plots of what was measured on one piece: strength against age, readings against targets, load over the prediction."""

from __future__ import annotations

from engineering.core.contract import parse
from engineering.core.contract.units import QUANTITIES
from jobs.models import LoadTestReading, Piece, Release
from reports.entries import readings_in_order
from reports.plot_data import load_curve, stressing_plots
from reports.plot_pages import PagePlot, page_plots
from reports.strength_plot import gain_of, strength_plot


def piece_page_plots(piece: Piece) -> list[PagePlot]:
    """Everything measured on the piece so far, for its page; empty where nothing is."""
    if piece.revision is None:
        return []
    described = parse(piece.revision.specification.document)
    found: list[PagePlot] = []
    if plot := strength_plot(gain_of(piece.pour), described):
        found += page_plots([plot], f"piece-{piece.pk}")
    for row in piece.stressings.order_by("at", "pk"):
        plots = stressing_plots(row.targets, readings_in_order(row), described.units)
        found += page_plots(plots, f"stressing-{row.pk}")
    measured = _measured(piece, described.units)
    release = Release.objects.filter(revision=piece.revision).select_related("check_run").first()
    if measured and release and release.check_run.result and (plot := load_curve(release.check_run.result, measured)):
        found += page_plots([plot], f"load-{piece.pk}")
    return found


def _measured(piece: Piece, units: str) -> list[tuple[float, float]]:
    """(deflection, load) of every reading, or of the tests where none were read by plan."""
    looks = LoadTestReading.objects.filter(plan__piece=piece).order_by("at", "pk") or piece.load_tests.order_by("at")
    length, force = QUANTITIES["length"], QUANTITIES["force"]
    return [(length.from_us(row.deflection_in, units), force.from_us(row.load_lbf, units)) for row in looks]
