"""Beams, sections and stresses against published answers and exact statics (data/beams_rods_and_time.json)."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from engineering.core import sections, statics, tendons
from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.block import edges_of
from engineering.core.grid import build_grid, deflection_matrix
from engineering.core.loads import Patch, apart, patch_effects
from tests.core.pieces import piece, rod

CASES = {c["id"]: c for c in json.loads((Path(__file__).parent / "data" / "beams_rods_and_time.json").read_text())}
W, P, E, SPAN, ARM = 10.0, 300.0, 3e6, 96.0, 30.0


def near(case: str, key: str) -> Any:
    found = CASES[case]
    return pytest.approx(found["expected"][key], rel=found["tolerance"]["relative"])


def strip(length: float, supports: list[float], marks: list[float] | None = None) -> tuple[Batch, Any, Any]:
    """A 24 × 2.5 in strip (I = 31.25 in4) without rods; marks: x where loads begin, so that stations lie there."""
    loads = [{"label": "mark", "case": "live", "type": "point", "value": 1, "at": at} for at in marks or []]
    spec = piece(
        length=length,
        zones=[{"to": length, "shape": {"type": "solid", "width": 24, "depth": 2.5}}],
        rods=None,
        stressing=None,
        handling=None,
        supports=[{"at": at} for at in supports],
        loads=loads,
    )
    batch = Batch.of(spec)
    grid = build_grid(spec)
    layout = tendons.lay_out(batch, grid)
    net = sections.sections_of(batch, grid, layout).net
    return batch, grid, statics.build_frame(batch, grid, net.free_inertia_in4)


def solve(length: float, supports: list[float], patches: list[Patch]) -> tuple[Any, Any, Any, Any]:
    """Grid, moments, reactions and drops of one load."""
    _, grid, frame = strip(length, supports, [p.start_in for p in patches] + [p.end_in for p in patches])
    effects = statics.effects_on(frame, patch_effects(grid, frame.supports_in, (tuple(patches),)))
    moment, _, reaction = apart(effects, len(grid.x_in))
    drop = -deflection_matrix(grid, supports[0], supports[-1]) @ (moment[0, 0] / (E * 31.25))
    return grid, moment[0, 0], reaction[0, 0], drop


def test_simple_span_uniform() -> None:
    _, moment, reaction, drop = solve(SPAN, [0, SPAN], [Patch(W, 0, SPAN)])
    assert reaction[0] == near("BM-01", "R_lb")
    assert moment.max() == near("BM-01", "Mmax_inlb")
    assert drop.max() == near("BM-01", "Dmax_in")


def test_deflected_shape_of_a_simple_span_everywhere() -> None:
    """w x (L³ − 2 L x² + x³)/(24 E I) at every station, the middles of panels too: the integration is exact there."""
    grid, _, _, drop = solve(SPAN, [0, SPAN], [Patch(W, 0, SPAN)])
    x = grid.x_in
    by_hand = W * x * (SPAN**3 - 2 * SPAN * x**2 + x**3) / (24 * E * 31.25)
    assert drop == pytest.approx(by_hand, rel=1e-9, abs=1e-12)


def test_simple_span_point() -> None:
    _, moment, _, drop = solve(SPAN, [0, SPAN], [Patch(P, 48, 48)])
    assert moment.max() == near("BM-02", "Mmax_inlb")
    assert drop.max() == near("BM-02", "Dmax_in")


def test_third_points() -> None:
    grid, moment, _, drop = solve(SPAN, [0, SPAN], [Patch(P, 32, 32), Patch(P, 64, 64)])
    assert moment.max() == near("BM-03", "Mmax_inlb")
    assert drop.max() == near("BM-03", "Dmid_in")
    assert drop[grid.x_in == 32][0] == near("BM-03", "D_load_point_in")


@pytest.mark.parametrize(
    ("case", "patches"),
    [
        ("BM-04", [Patch(W, 0, SPAN + ARM)]),
        ("BM-05", [Patch(W, SPAN, SPAN + ARM)]),
        ("BM-06", [Patch(P, SPAN + ARM, SPAN + ARM)]),
    ],
)
def test_overhang(case: str, patches: list[Patch]) -> None:
    _, moment, reaction, drop = solve(SPAN + ARM, [0, SPAN], patches)
    expected = CASES[case]["expected"]
    found = {
        "R1_lb": reaction[0],
        "R1_uplift_lb": reaction[0],
        "R2_lb": reaction[1],
        "D_tip_in": drop[-1],
        "M_pos_inlb": moment.max(),
        "M_neg_inlb": moment.min(),
        "M_support_inlb": moment.min(),
        "D_backspan_up_in": drop.min(),
    }
    for key in expected:
        assert found[key] == near(case, key), key


def test_cantilever() -> None:
    """The overhang beyond two supports a hundredth of an inch apart is a cantilever."""
    for case, patch, key in (("BM-07", Patch(W, 0.01, 30.01), "M_inlb"), ("BM-08", Patch(P, 30.01, 30.01), "M_inlb")):
        _, moment, _, drop = solve(30.01, [0, 0.01], [patch])
        assert moment.min() == near(case, key)
        assert drop[-1] == near(case, "D_tip_in")


def test_two_and_three_spans() -> None:
    _, moment, reaction, drop = solve(2 * SPAN, [0, SPAN, 2 * SPAN], [Patch(W, 0, 2 * SPAN)])
    assert (reaction[0], reaction[1]) == (near("BM-09", "R_end_lb"), near("BM-09", "R_mid_lb"))
    assert (moment.min(), moment.max()) == (near("BM-09", "M_support_inlb"), near("BM-09", "M_span_inlb"))
    assert drop.max() == near("BM-09", "Dmax_in")
    assert (reaction[0], moment.min(), drop.max()) == (
        near("BM-12", "R_prop_lb"),
        near("BM-12", "M_fix_inlb"),
        near("BM-12", "Dmax_in"),
    )  # by symmetry half of it
    grid, moment, reaction, drop = solve(3 * SPAN, [0, SPAN, 2 * SPAN, 3 * SPAN], [Patch(W, 0, 3 * SPAN)])
    assert (reaction[0], reaction[1]) == (near("BM-10", "R_end_lb"), near("BM-10", "R_int_lb"))
    assert (moment.min(), moment.max()) == (near("BM-10", "M_support_inlb"), near("BM-10", "M_end_span_inlb"))
    assert moment[grid.x_in == 1.5 * SPAN][0] == near("BM-10", "M_mid_span_inlb")
    assert drop.max() == near("BM-10", "Dmax_in")


def test_a_middle_support_off_level() -> None:
    """Two equal spans, the middle support lower by d: M = 3 E I d/L² over it, sagging; an end one lower by d: half of
    that, hogging (force method, textbook)."""
    spec = piece(
        supports=[{"at": 0}, {"at": 48}, {"at": 96}],
        rods=None,
        stressing=None,
        handling=None,
        criteria={"support_tolerance": 0.05},
    )
    found = analyse(Batch.of(spec))
    over = int(np.argmin(np.abs(found.grid.x_in - 48)))
    by_hand = 3 * 2.5e6 * 54 * 0.05 / 48**2
    assert found.loading.settlement_moment[:, 0, over] == pytest.approx([-by_hand / 2, by_hand, -by_hand / 2], rel=1e-6)


def test_picking_up() -> None:
    _, moment, _, _ = solve(144, [0.20711 * 144, 0.79289 * 144], [Patch(W, 0, 144)])
    assert (moment.min(), moment.max()) == (near("BM-13", "M_neg_inlb"), near("BM-13", "M_pos_inlb"))
    _, moment, _, _ = solve(144, [0, (1 - 0.29289) * 144], [Patch(W, 0, 144)])
    assert (moment.min(), moment.max()) == (near("BM-14", "M_neg_inlb"), near("BM-14", "M_pos_inlb"))


def test_t_beam_section() -> None:
    """McCormac & Brown, example 2.2: the T upside down is the same ring turned over."""
    ring = np.array([[[24, 0], [36, 0], [36, 27], [60, 27], [60, 32], [0, 32], [0, 27], [24, 27.0]]])
    moments = sections.edge_moments(edges_of([(1.0, ring[:, None])])).sum(axis=1)
    found = sections.properties(moments, np.array([32.0]), np.array([0.0]))
    assert 32 - found.centroid_in[0] == near("SEC-01", "ybar_from_top_in")
    assert found.inertia_in4[0] == near("SEC-01", "I_in4")
    moment = 80 * 12000.0
    assert moment * found.centroid_in[0] / found.inertia_in4[0] == near("SEC-01", "f_bottom_psi")
    assert moment * (32 - found.centroid_in[0]) / found.inertia_in4[0] == near("SEC-01", "f_top_psi")


def test_foam_core_section() -> None:
    cores = [
        {"left": 4, "width": 8, "bottom": 0.75, "height": 1.5},
        {"left": 13, "width": 8, "bottom": 0.75, "height": 1.5},
    ]
    found = analyse(
        Batch.of(
            piece(
                zones=[{"to": 96, "shape": {"type": "cored", "width": 24, "depth": 3, "cores": cores}}],
                rods=None,
                stressing=None,
                core_density=0.0,
            )
        )
    )
    assert found.gross.area_in2[0, 0] == near("SEC-06", "A_in2")
    assert found.gross.inertia_in4[0, 0] == near("SEC-06", "I_in4")
    assert found.gross.inertia_in4[0, 0] / 1.5 == near("SEC-06", "S_in3")
    assert found.weight_lbf[0] / 8.0 == near("SEC-06", "weight_plf")


def big_beam(width: float, depth: float, span: float, force: float, level: float, **concrete: Any) -> Batch:
    """A rectangular beam with one rod along its whole length whose force is set as if there were no friction, in a hair
    of a sleeve: the published beams have bonded tendons and gross sections."""
    spec = piece(
        length=span,
        zones=[{"to": span, "shape": {"type": "solid", "width": width, "depth": depth}}],
        supports=[{"at": 0}, {"at": span}],
        loads=[],
        concrete=concrete,
        handling=None,
        stressing={"scatter": 0.05},
        rods=[
            rod(
                across=width / 2,
                profile=[[0, level], [span, level]],
                sleeve={"outside": 0.51, "friction": 0.0, "wobble": 0.0},
                jacking_force=14000,
            )
        ],
    )
    batch = Batch.of(spec)
    return replace(batch, rods=replace(batch.rods, jacking_lbf=np.array([[force]])))


def test_stresses_of_an_eccentric_tendon() -> None:
    """McCormac & Brown, example 19.1, and its kern (19.2). A sleeve of 0.2 in² in 288 in²."""
    found = analyse(big_beam(12, 24, 240, 250e3, 3.0))
    load = 3000 / 12 * 240**2 / 8
    per_moment, rods = found.stresses.per_moment[:, 0], found.stresses.rods_transfer[:, 0]
    middle = int(np.argmin(np.abs(found.grid.x_in - 120)))
    top, bottom = (rods[c, middle] / 1000 for c in (0, 2))
    assert (top, bottom) == (near("PS-01", "f_top_end_ksi"), near("PS-01", "f_bot_end_ksi"))
    assert top + load * per_moment[0, middle] / 1000 == pytest.approx(
        CASES["PS-01"]["expected"]["f_top_mid_ksi"], rel=0.01
    )
    assert bottom + load * per_moment[2, middle] / 1000 == pytest.approx(
        CASES["PS-01"]["expected"]["f_bot_mid_ksi"], rel=0.01
    )
    kern = analyse(big_beam(12, 24, 240, 250e3, 12 - CASES["PS-02"]["expected"]["e_kern_in"]))
    assert kern.stresses.rods_transfer[2, 0, middle] / 1000 == near("PS-02", "f_bot_ksi")
    assert abs(kern.stresses.rods_transfer[0, 0, middle]) < 4.0


def test_camber_of_a_straight_tendon() -> None:
    """McCormac & Brown, example 19.4: 4,000 ksi at release, 150 lb/ft3, 30 ft; the printed loads on gross sections."""
    batch = big_beam(12, 20, 360, 1.2 * 175000, 4.0, density=150.0, modulus_at_stressing=4e6, modulus=4.1e6)
    found, bare = analyse(batch), analyse(replace(batch, rods=replace(batch.rods, jacking_lbf=np.array([[1e-6]]))))
    net, own = found.deflections.crown_transfer[0], bare.deflections.crown_transfer[0]
    assert -own == near("CB-01", "D_selfweight_in")
    assert net - own == pytest.approx(0.638, rel=0.005)
    assert net == pytest.approx(0.496, rel=0.01)  # a small difference of the two


def test_side_bow_of_a_rod_off_the_middle() -> None:
    """The same example lying on its side: what lifted the beam 0.638 in now bows it sideways as much, and not up."""
    batch = big_beam(20, 12, 360, 1.2 * 175000, 6.0, modulus_at_stressing=4e6, modulus=4.1e6)
    aside = replace(batch, rods=replace(batch.rods, across_in=np.array([[4.0]])))
    found, bare = analyse(aside), analyse(replace(aside, rods=replace(aside.rods, jacking_lbf=np.array([[1e-6]]))))
    assert found.deflections.lateral[0, -1] == pytest.approx(0.638, rel=0.005)
    assert found.deflections.lateral_at[0, -1] == pytest.approx(180.0, abs=12.0)
    assert found.deflections.crown_transfer[0] == pytest.approx(bare.deflections.crown_transfer[0], rel=0.01)
