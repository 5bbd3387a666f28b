"""Plots of what was measured on one piece: strength against age, readings against targets, load over the prediction."""

from __future__ import annotations

from engineering.core.contract.piece import Piece as Described
from engineering.core.contract.units import QUANTITIES
from engineering.queries import described_piece
from jobs import curing
from jobs.models import LoadTestPlan, LoadTestReading, Piece, Release
from reports.entries import readings_in_order
from reports.plot_data import load_curve, load_test_curve, stressing_plots
from reports.plot_pages import PagePlot, page_plots
from reports.plots import Curve, Plot
from reports.strength_plot import gain_of, strength_plot


def piece_page_plots(piece: Piece) -> list[PagePlot]:
    """Everything measured on the piece so far, for its page; empty where nothing is."""
    if piece.revision is None:
        return []
    found = cure_plots(piece)
    for row in piece.stressings.order_by("at", "pk"):
        plots = stressing_plots(row.targets, readings_in_order(row), _described(piece).units)
        found += page_plots(plots, f"stressing-{row.pk}")
    return found + (load_plots(piece) if _measured(piece) else [])


def cure_plots(piece: Piece) -> list[PagePlot]:
    """Strength against age, tested and predicted, and maturity where the concrete's temperature was read."""
    if piece.revision is None or piece.pour is None:
        return []
    plots = [
        strength_plot(gain_of(piece.pour), _described(piece), curing.predicted(piece.pour).curve),
        maturity_plot(curing.maturity(piece.pour)),
    ]
    return page_plots([plot for plot in plots if plot], f"piece-{piece.pk}")


def load_plots(piece: Piece) -> list[PagePlot]:
    """What the load test measured over the curve that the engine predicts; the curve alone before it."""
    release = Release.objects.filter(revision=piece.revision).select_related("check_run").first()
    result = release.check_run.result if release else None
    if not result:
        return []
    measured, full = _measured(piece), None
    if plan := LoadTestPlan.objects.filter(piece=piece).order_by("-at", "-pk").first():
        full = QUANTITIES["force"].from_us(plan.total_lbf, _described(piece).units)
    plots = [load_test_curve(result, measured, full), load_curve(result, measured)]
    return page_plots([plot for plot in plots if plot], f"load-{piece.pk}")


KINDS = {"all": piece_page_plots, "cure": cure_plots, "load": load_plots}


def _described(piece: Piece) -> Described:
    return described_piece(piece.revision.specification)  # type: ignore[union-attr]  # asked only of bound pieces


def maturity_plot(found: curing.Maturity) -> Plot | None:
    """The temperature-time factor as it grew; None where it cannot be told, which `found.why` explains."""
    if len(found.course) < 2:
        return None
    hours, grown = zip(*found.course, strict=True)
    curve = Curve("temperature-time factor", hours, grown)
    return Plot("maturity", "Maturity", "hours since the first reading", "°C·h", (curve,), note=found.source)


def _measured(piece: Piece) -> list[tuple[float, float]]:
    """(deflection, load) of every reading, or of the tests where none were read by plan."""
    looks = LoadTestReading.objects.filter(plan__piece=piece).order_by("at", "pk") or piece.load_tests.order_by("at")
    length, force, units = QUANTITIES["length"], QUANTITIES["force"], _described(piece).units
    return [(length.from_us(row.deflection_in, units), force.from_us(row.load_lbf, units)) for row in looks]
