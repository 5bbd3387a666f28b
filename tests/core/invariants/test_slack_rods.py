"""Rods that shrinkage leaves slack: each holds just what its stretch gives, and none pushes."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from engineering.core import stressing, time_dependent
from engineering.core.batching import Batch
from tests.core.pieces import piece, rod

COURSE = [[2, 1.2], [94, 1.2]]
RODS = 3


def in_time(
    forces: list[float], axial: float, bent: list[float], shrinkage: float, again: tuple[int, ...] = ()
) -> time_dependent.Forces:
    """Three rods with these forces, brought back to them at the ages `again`; modulus × strain on axis r by a unit
    force of rod s is axial + bent_r · bent_s."""
    made = piece(rods=[rod(mark=f"R{k}", profile=COURSE) for k in range(RODS)], stressing={"restress": list(again)})
    batch = Batch.of(made)
    batch = replace(batch, concrete=replace(batch.concrete, shrinkage=np.array([shrinkage])))
    transfer, lever, none = np.array(forces)[:, None], np.array(bent), np.zeros((RODS, 1))
    shortening = (axial + np.outer(lever, lever))[..., None]
    plan = time_dependent.schedule(made)
    return time_dependent.forces_in_time(batch, plan, transfer, transfer, shortening, none, none)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.floats(5.0, 3000.0), min_size=RODS, max_size=RODS),
    st.floats(0.005, 0.3),
    st.lists(st.floats(-0.5, 0.5), min_size=RODS, max_size=RODS),
    st.floats(0.0003, 0.0015),
    st.sampled_from([(), (28, 90), (60,)]),
)
@example([40.0, 60.0, 2500.0], 0.3, [0.5, 0.5, 0.4], 0.0015, ())  # one goes slack, and by that the next
@example([40.0, 60.0, 2500.0], 0.3, [0.5, 0.5, 0.4], 0.0015, (28, 90))
def test_a_rod_holds_what_its_stretch_gives_and_never_pushes(
    forces: list[float], axial: float, bent: list[float], shrinkage: float, again: tuple[int, ...]
) -> None:
    """force = max(0, force at its last tightening − E A × shortening of its axis since − relaxation) at every age."""
    found = in_time(forces, axial, bent, shrinkage, again)
    rods = Batch.of(piece(rods=[rod(mark="R", profile=COURSE)])).rods
    area, stiffness = float(rods.area_in2[0, 0]), float(rods.area_in2[0, 0] * rods.modulus_psi[0, 0])
    lost = stiffness * (found.axis_strain + found.shrinkage_strain[:, None]) + found.relaxation_psi * area
    drawn, since = np.array(forces)[:, None], 0
    for step, what in enumerate(found.plan.happens):
        if what == "restress":
            since = step
            assert found.force_lbf[step] == pytest.approx(drawn, rel=1e-9)
        wanted = np.maximum(drawn - (lost[step] - lost[since]), 0.0)
        assert found.force_lbf[step] == pytest.approx(wanted, rel=1e-7, abs=1e-7 * max(forces))


def test_both_of_two_soft_rods_go_slack_and_stay_so() -> None:
    found = in_time([40.0, 60.0, 2500.0], 0.3, [0.5, 0.5, 0.4], 0.0015)
    assert found.force_lbf.min() == 0.0
    assert (found.force_lbf[-1, :2] == 0.0).all()


def by_every_choice(matrix: np.ndarray, drawn: np.ndarray) -> np.ndarray:
    """Forces of rods by trying every choice of slack ones: those that hold pull, those that do not would push."""
    count = len(drawn)
    for holds in product((True, False), repeat=count):
        on = np.array(holds, bool)
        force = np.zeros(count)
        force[on] = np.linalg.solve(matrix[np.ix_(on, on)], drawn[on])
        if (force >= -1e-9).all() and (drawn - matrix @ force <= 1e-6)[~on].all():
            return force
    raise AssertionError("no choice fits")


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.floats(100.0, 3000.0), min_size=RODS, max_size=RODS),
    st.floats(0.05, 1.0),
    st.lists(st.floats(-2.0, 2.0), min_size=RODS, max_size=RODS),
    st.sampled_from([[0.1, 1.0], [0.5, 1.0], [0.02, 0.5, 1.0]]),
)
@example([3000.0] * RODS, 1.0, [2.0, 1.0, 1.5], [0.02, 0.5, 1.0])  # the first goes slack while the others are drawn
def test_rods_go_slack_while_the_others_are_tightened(
    seated: list[float], axial: float, bent: list[float], steps: list[float]
) -> None:
    """Turn by turn against every choice of slack rods; a nut keeps its place between its own turns."""
    made = piece(rods=[rod(mark=f"R{k}", profile=COURSE) for k in range(RODS)], stressing={"steps": steps})
    batch, lever = Batch.of(made), np.array(bent)
    shortening = axial + np.outer(lever, lever)
    turns, forces = stressing.tighten(batch, shortening[..., None], np.array(seated)[:, None])
    stiffness = batch.rods.area_in2[0] * batch.rods.modulus_psi[0] / batch.concrete.modulus_at_stressing_psi[0]
    matrix = np.eye(RODS) + stiffness[:, None] * shortening
    drawn, tight = np.zeros(RODS), set[int]()
    for (step, turned), found in zip(turns, forces[..., 0], strict=True):
        others = sorted(tight - {turned})
        wanted = np.zeros(RODS)
        wanted[turned] = step * seated[turned]
        wanted[others] = by_every_choice(
            matrix[np.ix_(others, others)], drawn[others] - matrix[others, turned] * wanted[turned]
        )
        drawn[turned], tight = matrix[turned] @ wanted, tight | {turned}
        assert found == pytest.approx(wanted, rel=1e-8, abs=1e-6)


def test_a_piece_whose_first_rods_go_slack_says_so_turn_by_turn() -> None:
    made = piece(rods=[rod(mark=f"R{k}", profile=COURSE) for k in range(RODS)], stressing={"steps": [0.02, 0.5, 1.0]})
    lever = np.array([2.0, 1.0, 1.5])
    _, forces = stressing.tighten(Batch.of(made), (1.0 + np.outer(lever, lever))[..., None], np.full((RODS, 1), 3000.0))
    assert (forces >= 0.0).all()
    assert (forces[2:4] == 0.0).any()
