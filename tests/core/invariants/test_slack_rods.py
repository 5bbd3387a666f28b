"""Rods that shrinkage leaves slack: each holds just what its stretch gives, and none pushes."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from engineering.core import time_dependent
from engineering.core.batching import Batch
from tests.core.pieces import piece, rod

COURSE = [[2, 1.2], [94, 1.2]]
RODS = 3


def in_time(forces: list[float], axial: float, bent: list[float], shrinkage: float) -> time_dependent.Forces:
    """Three rods with these forces; modulus × strain on axis r by a unit force of rod s is axial + bent_r · bent_s."""
    batch = Batch.of(piece(rods=[rod(mark=f"R{k}", profile=COURSE) for k in range(RODS)]))
    batch = replace(batch, concrete=replace(batch.concrete, shrinkage=np.array([shrinkage])))
    transfer, lever, none = np.array(forces)[:, None], np.array(bent), np.zeros((RODS, 1))
    shortening = (axial + np.outer(lever, lever))[..., None]
    plan = time_dependent.schedule(batch.piece)
    return time_dependent.forces_in_time(batch, plan, transfer, transfer, shortening, none, none)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.floats(5.0, 3000.0), min_size=RODS, max_size=RODS),
    st.floats(0.005, 0.3),
    st.lists(st.floats(-0.5, 0.5), min_size=RODS, max_size=RODS),
    st.floats(0.0003, 0.0015),
)
@example([40.0, 60.0, 2500.0], 0.3, [0.5, 0.5, 0.4], 0.0015)  # one goes slack, and by that the next
def test_a_rod_holds_what_its_stretch_gives_and_never_pushes(
    forces: list[float], axial: float, bent: list[float], shrinkage: float
) -> None:
    """force = max(0, force at transfer − E A × shortening of its axis − relaxation) at every age."""
    found = in_time(forces, axial, bent, shrinkage)
    rods = Batch.of(piece(rods=[rod(mark="R", profile=COURSE)])).rods
    area, stiffness = float(rods.area_in2[0, 0]), float(rods.area_in2[0, 0] * rods.modulus_psi[0, 0])
    shorter = found.axis_strain + found.shrinkage_strain[:, None]
    stretched = np.array(forces)[:, None] - stiffness * shorter - found.relaxation_psi * area
    assert found.force_lbf == pytest.approx(np.maximum(stretched, 0.0), rel=1e-7, abs=1e-7 * max(forces))


def test_both_of_two_soft_rods_go_slack_and_stay_so() -> None:
    found = in_time([40.0, 60.0, 2500.0], 0.3, [0.5, 0.5, 0.4], 0.0015)
    assert found.force_lbf.min() == 0.0
    assert (found.force_lbf[-1, :2] == 0.0).all()
