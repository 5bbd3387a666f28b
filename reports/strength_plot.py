"""Strength of one pour against age: its tests, the engine's curve through them, and both as a plot."""

from __future__ import annotations

from dataclasses import dataclass

from engineering.core.contract.piece import Piece as Described
from engineering.core.contract.units import QUANTITIES
from engineering.core.strength_gain import StrengthCurve, fit_strength_curve
from jobs.curing import aged_tests
from jobs.models import Pour
from reports.plots import Curve, Level, Plot

STEPS = 40  # of the curve between the first and the last tested age


@dataclass(frozen=True)
class Gain:
    """Tests of one pour as (age in days, mean as cylinders in psi), and the engine's curve through them, if there is
    one."""

    tests: tuple[tuple[float, float], ...] = ()
    curve: StrengthCurve | None = None


def gain_of(pour: Pour | None) -> Gain:
    """By the tests of this pour alone, so that what is shown rests on rows that are named."""
    if pour is None:
        return Gain()
    tests = sorted(aged_tests(list(pour.strength_tests.select_related("pour"))), key=lambda test: test.age_days)
    points = tuple((test.age_days, test.strength_psi) for test in tests)
    try:
        return Gain(points, fit_strength_curve(tests))
    except ValueError:
        return Gain(points)


def strength_plot(gain: Gain, described: Described, of_mix: StrengthCurve | None = None) -> Plot | None:
    """Means as broken, the curve between the tested ages, and the strengths the specification asks for. `of_mix`: the
    curve of all batches of the mix, shown where this batch has none of its own."""
    if not gain.tests and of_mix is None:
        return None
    stress, units = QUANTITIES["stress"], described.units

    def of(psi: float) -> float:
        return stress.from_us(psi, units)

    ages_tested, means = [age for age, _ in gain.tests], [of(psi) for _, psi in gain.tests]
    curves = [Curve("tested, mean as cylinders", ages_tested, means, dots=True, colour=1)] if ages_tested else []
    curve, name = (gain.curve, "curve through the tests") if gain.curve else (of_mix, "predicted by other batches")
    if curve:
        first, last = curve.first_test_days, curve.last_test_days
        ages = [first + (last - first) * step / STEPS for step in range(STEPS + 1)]
        curves.append(Curve(name, ages, [of(curve.strength_psi(age)) for age in ages], colour=0))
    return Plot(
        "strength",
        "Strength against age",
        "age, days",
        stress.unit(units),
        tuple(curves),
        (
            Level("wanted at stressing", of(described.concrete.strength_at_stressing_psi)),
            Level("wanted at 28 days", of(described.concrete.strength_psi)),
        ),
        note="The curve holds between the tested ages and opens no gate: a piece is stressed on broken specimens."
        if curve
        else "Three ages or more are needed for a curve.",
    )
