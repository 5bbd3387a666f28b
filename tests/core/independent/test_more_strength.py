"""Strength and load-to-failure against a slow model by scipy and shapely, on pieces that no example shows."""

from typing import Any

import numpy as np
import pytest

from engineering.core.pipeline import run_checks
from tests.core.independent.more_pieces import PIECES
from tests.core.independent.naive_course import Course
from tests.core.independent.naive_load_test import NaiveLoadTest
from tests.core.independent.naive_strength import Strength, strength_at

WITH_RODS = [name for name in PIECES if name != "no rods"]
BROKEN = ["apron, two legs", "rails", "outline with a hole", "parabola from both ends, seating", "two overhangs"]


def figures(document: dict[str, Any]) -> dict[str, Any]:
    return run_checks(document)["figures"]


@pytest.mark.parametrize("name", WITH_RODS)
def test_strength_where_the_engine_says_it_governs(name: str) -> None:
    """M_n, phi M_n and every f_ps at that place, of the section and sign of the place; 0.1 %."""
    found, course = figures(PIECES[name]), Course(PIECES[name], 2.0)
    at, ends = found["moment.nominal"]["at"], [zone["to"] for zone in PIECES[name]["zones"]]
    zones = {min(int(np.searchsorted(ends, at, side=side)), len(ends) - 1) for side in ("left", "right")}
    ways = [strength_at(course, at, zone, sagging) for zone in zones for sagging in (True, False)]
    nearest: Strength = min(ways, key=lambda one: abs(one.nominal - found["moment.nominal"]["value"]))
    assert found["moment.nominal"]["value"] == pytest.approx(nearest.nominal, rel=0.001)
    assert found["moment.design"]["value"] == pytest.approx(nearest.nominal * nearest.phi, rel=0.001)
    stress = [found[f"rod.{rod.rod['mark']}.stress_nominal"]["value"] for rod in course.rods]
    assert stress == pytest.approx(list(nearest.stress), rel=0.001)


@pytest.mark.parametrize("name", BROKEN)
def test_first_crack_and_peak(name: str) -> None:
    """24 stations and 160 layers: 0.3 % at first crack, 1.5 % at the peak."""
    document = {**PIECES[name], "concrete": {"residual_tension": 2000 / 3, **PIECES[name]["concrete"]}}
    model, found = NaiveLoadTest(Course(document, 2.0)), figures(document)
    crack = model.first_crack()
    assert found["load_test.first_crack"]["value"] == pytest.approx(crack, rel=0.003)
    assert found["load_test.peak"]["value"] == pytest.approx(max(model.peak(), crack), rel=0.015)
