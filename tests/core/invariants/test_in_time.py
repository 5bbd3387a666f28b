"""Rods and concrete in time: steps against finer steps and against a closed form, losses in full, the drying bow."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engineering.core import sections, tendons, time_dependent
from engineering.core.analysis import Analysis, analyse
from engineering.core.batching import Batch
from tests.core.pieces import analysed, piece, rod

FEW = settings(max_examples=12, deadline=None)


def test_one_rod_as_many() -> None:
    """A rod on the centroid's line, split into four of a quarter each at its place, strains the concrete the same."""
    base = {
        "across": 12,
        "profile": [[2, 1.2], [94, 1.2]],
        "sleeve": {"outside": 0.51, "friction": 0.15, "wobble": 0.0005},
    }
    one = Batch.of(piece(rods=[rod(**base)], stressing={"steps": [1.0]}))
    four = Batch.of(piece(rods=[rod(mark=f"R{k}", **base) for k in range(4)], stressing={"steps": [1.0]}))
    quarter = replace(four.rods, area_in2=four.rods.area_in2 / 4, jacking_lbf=four.rods.jacking_lbf / 4)
    a = analyse(one)
    layout = tendons.lay_out(four, a.grid)
    assert layout.height_in[0] == pytest.approx(tendons.lay_out(one, a.grid).height_in[0])
    plan = time_dependent.schedule(one.piece)
    shortening, none = np.moveaxis(a.tendons.shortening, 0, -1), np.zeros((1, 1))
    transfer, seated = a.tendons.transfer_lbf.T, a.tendons.seated_lbf.T
    single = time_dependent.forces_in_time(one, plan, transfer, seated, shortening, none, none)
    many = time_dependent.forces_in_time(
        replace(four, rods=quarter),
        plan,
        np.repeat(transfer, 4, 0) / 4,
        np.repeat(seated, 4, 0) / 4,
        np.repeat(np.repeat(shortening, 4, 0), 4, 1),
        np.zeros((4, 1)),
        np.zeros((4, 1)),
    )
    assert many.force_lbf.sum(1) == pytest.approx(single.force_lbf[:, 0], rel=1e-9)


def test_more_steps_change_little() -> None:
    """The steps in time against six times as many: within 0.1 % of the force, restressing included."""
    for restress in ([], [28, 90]):
        batch = Batch.of(piece(stressing={"restress": restress}))
        a = analyse(batch)
        layout = tendons.lay_out(batch, a.grid)
        at = tendons.lever(batch, layout, sections.sections_of(batch, a.grid, layout).own)
        own, later = (
            tendons.axis_strain_of_moment(layout, at, m)
            for m in (a.loading.self_moment, a.loading.dead_moment - a.loading.self_moment + a.loading.sustained_moment)
        )
        fine = time_dependent.forces_in_time(
            batch,
            time_dependent.schedule(batch.piece, 160),
            a.tendons.transfer_lbf.T,
            a.tendons.seated_lbf.T,
            np.moveaxis(a.tendons.shortening, 0, -1),
            own,
            later,
        )
        assert a.time.final_lbf == pytest.approx(fine.force_lbf[-1].T, rel=0.001)


@FEW
@given(st.floats(0.5, 3.0), st.floats(0.0002, 0.0012), st.floats(3000, 12000))
def test_steps_against_the_age_adjusted_modulus(creep: float, shrinkage: float, force: float) -> None:
    """Trost-Bazant with chi 0.8, one step: loss of a concentric rod within 3 % of its force (Ghali & Favre)."""
    found = analysed(
        concrete={"creep": creep, "shrinkage": shrinkage, "modulus": 2e6, "modulus_at_stressing": 2e6},
        loads=[],
        rods=[
            rod(
                across=12,
                profile=[[0, 1.5], [96, 1.5]],
                jacking_force=force,
                sleeve={"outside": 0.75, "friction": 0, "wobble": 0},
            )
        ],
    )
    area, net = found.batch.rods.area_in2[0, 0], found.net.area_in2[0].min()
    n, stress = 29e6 / 2e6, found.tendons.transfer_lbf[0, 0] / net
    days = found.time.ages_days[-1] - 7
    phi = creep * time_dependent.creep_share(np.array(days))
    shrunk = shrinkage * time_dependent.shrinkage_share(np.array(days))
    lost = (29e6 * shrunk + n * phi * stress) / (1 + n * area / net * (1 + 0.8 * phi))
    expected = max(found.tendons.transfer_lbf[0, 0] - lost * area - found.time.relaxation_psi[0, 0] * area, 0.0)
    assert found.time.final_lbf[0, 0] == pytest.approx(expected, abs=0.03 * found.tendons.transfer_lbf[0, 0])


def test_a_slack_rod_stays_at_nought_and_a_restressed_one_returns() -> None:
    weak = analysed(rods=[rod(jacking_force=300), rod(mark="R2", across=18)])
    course = weak.time.force_lbf[0, :, 0]
    assert course.min() == 0.0
    assert weak.time.final_lbf[0, 0] == 0.0
    again = analysed(stressing={"restress": [28, 90]})
    for age in (28, 90):
        after = again.time.force_lbf[0, np.flatnonzero(again.time.ages_days == age)[-1]]
        assert after == pytest.approx(again.tendons.seated_lbf[0], rel=1e-12)
    assert (again.time.final_lbf > analysed().time.final_lbf).all()


def test_losses_are_attributed_in_full() -> None:
    """Without restressing and without slack: transfer less final is creep, shrinkage and relaxation of the rod."""
    found: Analysis = analysed(rods=[rod(profile=[[2, 1.4], [50, 0.9], [94, 1.3]]), rod(mark="R2", across=17)])
    parts = found.time.creep_psi + found.time.shrinkage_psi + found.time.relaxation_psi
    lost = (found.tendons.transfer_lbf - found.time.final_lbf) / found.batch.rods.area_in2
    assert parts == pytest.approx(lost, rel=1e-9)


def test_drying_bow() -> None:
    """d L²/(8 h) on a simple span, no stress in a determinate piece; on three supports restraint fades."""
    flat, bowed = analysed(), analysed(environment={"drying_difference": 0.0003})
    assert bowed.deflections.crown_drying[0] == pytest.approx(0.0003 * 88**2 / (8 * 3), rel=1e-6)
    assert bowed.stresses.service_final.any_max == pytest.approx(flat.stresses.service_final.any_max)
    held = analysed(supports=[{"at": 4}, {"at": 48}, {"at": 92}], environment={"drying_difference": 0.0003})
    peak = held.loading.drying_moment[0]
    assert peak[np.argmax(np.abs(peak))] == pytest.approx(
        1.5 * 2.5e6 * held.net.free_inertia_in4[0].min() * 0.0003 / 3, rel=0.03
    )
    assert 0.2 < held.time.drying_left[0] < 0.7
