"""Published beams, forces and regressions of tests that no other file here covers (data/more_published.json)."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from engineering.core import strength, tightening
from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.contract import parse
from engineering.core.strength_along import cracking_moments
from tests.core.pieces import analysed, document, piece, rod

CASES = {c["id"]: c for c in json.loads((Path(__file__).parent / "data" / "more_published.json").read_text("utf-8"))}
KGF_CM2, CM, MM, MPA = 14.2233433, 1 / 2.54, 1 / 25.4, 145.0377377
TFM = 1e5 * KGF_CM2 * CM**3  # a ton-force metre [lbf·in]


def case(name: str) -> tuple[dict[str, Any], dict[str, Any], float]:
    found = CASES[name]
    return found["inputs"], found["expected"], found["tolerance"]["relative"]


def beam(width: float, depth: float, level: float | None, final_lbf: float, lop_psi: float) -> Any:
    """The analysis of a rectangular beam, 240 in, one straight rod whose force at end of life is this; a hair of a
    sleeve, because the published beams have bonded tendons and gross sections."""
    spec = piece(
        length=240,
        zones=[{"to": 240, "shape": {"type": "solid", "width": width, "depth": depth}}],
        supports=[{"at": 0}, {"at": 240}],
        loads=[],
        handling=None,
        concrete={"flexural_yield": lop_psi, "flexural_ultimate": 2 * lop_psi},
        rods=[]
        if level is None
        else [
            rod(
                across=width / 2,
                profile=[[0, level], [240, level]],
                sleeve={"outside": 0.51, "friction": 0.0, "wobble": 0.0},
            )
        ],
        stressing=None if level is None else {"seating": 0},
    )
    batch = Batch.of(spec)
    if level is not None:
        lasting = replace(batch.concrete, shrinkage=np.zeros(1), creep=np.zeros(1))
        rods = replace(batch.rods, jacking_lbf=np.array([[final_lbf]]), yield_psi=np.array([[1e12]]))
        batch = replace(batch, rods=rods, concrete=lasting)
    return analyse(batch)


def rectangle(width: float, depth: float) -> Any:
    return [(1.0, np.array([[0, 0], [width, 0], [width, depth], [0, depth]], dtype=float))]


def block(width: float, depth: float, strength_psi: float, *steel: tuple[float, float, float, float, float]) -> Any:
    """Flexure with steel (depth, area, f_se, f_y, l)."""
    columns = [np.array([column], dtype=float).T for column in zip(*steel, strict=True)]
    d, area, effective, yields, length = columns
    rods = strength.RodsAtSection(d, area, effective, yields, np.full_like(yields, 1e12), length)
    one = [np.array([value], dtype=float) for value in (depth, depth, width)]
    return strength.flexure(rectangle(width, depth), *one, rods, np.array([strength_psi]), np.array([20.0]))


def test_sec_05_cracking_moment_of_a_plain_beam() -> None:
    """McCormac & Brown, example 2.1 and 2.11."""
    given, expected, tolerance = case("SEC-05")
    found = beam(given["b_in"], given["h_in"], None, 0, 7.5 * given["fc_psi"] ** 0.5)
    assert found.gross.inertia_in4[0, 0] == pytest.approx(expected["I_in4"], rel=tolerance)
    assert cracking_moments(found)[0][0].min() == pytest.approx(expected["Mcr_inlb"], rel=tolerance)
    assert 25 * 12e3 * found.stresses.per_moment[2, 0].max() == pytest.approx(expected["f_psi"], rel=tolerance)


@pytest.mark.parametrize("name", ["FL-04", "FL-05"])
def test_cracking_moment_of_a_stressed_beam(name: str) -> None:
    """Licensing examination papers: compression of the tendon at the bottom, and M_cr. Sleeve 0.2 in²: 0.5 % more."""
    given, expected, tolerance = case(name)
    b, h = given["b_cm"] * CM, given["h_cm"] * CM
    level = h - given["dp_cm"] * CM
    force = given.get("Fe_kgf", given.get("fse", 0) * given["Aps_cm2"]) * KGF_CM2 * CM**2
    lop = 2.0 * given["fc"] ** 0.5 * KGF_CM2
    found = beam(b, h, level, force, lop)
    assert found.time.final_lbf[0, 0] == pytest.approx(force, rel=1e-6)
    middle = int(np.argmin(np.abs(found.grid.x_in - 120)))
    bottom = -found.stresses.rods_final[2, 0, middle] / KGF_CM2
    key = "f_ce" if name == "FL-04" else "f_b_pre"
    assert bottom == pytest.approx(expected[key], rel=tolerance + 0.005)
    assert cracking_moments(found)[0][0, middle] / TFM == pytest.approx(expected["Mcr_tfm"], rel=tolerance + 0.005)


def test_stresses_after_shortening() -> None:
    """ES-01: the printed P_e on the beam gives the printed stresses at both faces; the pretensioned loss itself is
    another case than ours, the stress at the tendon that it rests on is not."""
    given, expected, tolerance = case("ES-01")
    b, h, e = (given[key] * CM for key in ("b_cm", "h_cm", "e_cm"))
    force = given["Aps_cm2"] * given["fpi_kgf_cm2"] * KGF_CM2 * CM**2
    found = beam(b, h, h / 2 - e, force, 500)
    middle = int(np.argmin(np.abs(found.grid.x_in - 120)))
    at_rod = float(found.tendons.shortening[0, 0, 0]) * force / KGF_CM2
    assert at_rod == pytest.approx(expected["f_cgp"], rel=tolerance + 0.01)  # the net section of a 0.2 in² sleeve
    printed = beam(b, h, h / 2 - e, expected["Pe_kgf"] * KGF_CM2 * CM**2, 500).stresses.rods_transfer[:, 0, middle]
    assert printed[0] / KGF_CM2 == pytest.approx(expected["f_top"], rel=tolerance + 0.015)
    assert printed[2] / KGF_CM2 == pytest.approx(expected["f_bot"], rel=tolerance + 0.015)


def test_block_and_strength_at_the_printed_tendon_stress() -> None:
    """FL-01 and FL-04: bonded tendons; with the printed f_ps our block, c, strain and φM_n are the printed ones."""
    given, expected, tolerance = case("FL-01")
    psi = expected["fps_ksi"] * 1e3
    found = block(given["b_in"], 24, given["fc_psi"], (given["dp_in"], given["Aps_in2"], psi, psi, 1e9))
    assert found.block_in[0] == pytest.approx(expected["a_in"], rel=tolerance)
    assert found.neutral_in[0] == pytest.approx(expected["c_in"], rel=tolerance)
    assert found.design_lbf_in[0] / 12e3 == pytest.approx(expected["phiMn_ftk"], rel=tolerance)
    given, expected, tolerance = case("FL-04")
    psi, area = expected["fps"] * KGF_CM2, given["Aps_cm2"] * CM**2
    strength_psi = given["fc"] * KGF_CM2
    found = block(given["b_cm"] * CM, given["h_cm"] * CM, strength_psi, (given["dp_cm"] * CM, area, psi, psi, 1e9))
    assert found.block_in[0] / CM == pytest.approx(expected["a_cm"], rel=tolerance)
    assert found.tension_strain[0] == pytest.approx(expected["eps_t"], rel=0.01)  # β1 0.801 there rounded to 0.80
    assert found.design_lbf_in[0] / TFM == pytest.approx(expected["phiMn_tfm"], rel=tolerance)


def test_torque_of_a_stud() -> None:
    given, expected, tolerance = case("EL-04")
    force = given["frac"] * given["Sp_psi"] * given["At_in2"]
    assert tightening.torque(given["K"], given["Ds_in"], force) == pytest.approx(expected["T_inlb"], rel=tolerance)


def test_band_of_force_from_torque() -> None:
    """TQ-01: 1,800 lbf·in on 5/8-11 with K 0.2 and ±35 %: nominal, high and low of a check run."""
    given, expected, tolerance = case("TQ-01")
    one = rod(thread="5/8-11 UNC", torque=given["T_inlb"] / 12, sleeve={"outside": 0.8, "friction": 0, "wobble": 0})
    del one["jacking_force"]
    anchor = {**one["anchor"], "hole": 0.7}
    spec = parse(document(rods=[{**one, "anchor": anchor}], stressing={"method": "torque", "scatter": given["u"]}))
    force = Batch.check_run(spec).rods.jacking_lbf[:3, 0]
    assert force == pytest.approx(
        [expected["P_nom_lb"], expected["P_max_lb"], expected["P_min_before_relax_lb"]], rel=tolerance
    )
    area = Batch.of(spec).rods.area_in2[0, 0]
    assert force[0] / area == pytest.approx(expected["stress_nom_psi"], rel=tolerance)


def test_strength_combinations() -> None:
    """LD-01: 1.4 D, and 1.2 D + 1.6 L (the printed 690 k holds 30 k of roof load besides)."""
    given, expected, _ = case("LD-01")
    found = analysed(rods=None, stressing=None)
    dead, live = (np.full_like(found.loading.dead_moment, given[key]) for key in ("D_k", "L_k"))
    loading = replace(found.loading, dead_moment=dead, live_moment_max=0 * live, live_moment_min=0 * live)
    assert loading.factored_max.max() == pytest.approx(expected["9-1"])
    assert replace(loading, live_moment_max=live).factored_max.max() == pytest.approx(expected["9-2"] - 0.5 * 60)


def test_predicted_over_measured_of_unbonded_beams(capsys: pytest.CaptureFixture[str]) -> None:
    """Du & Tao, PCI J. 30(6), 1985: the regression through 22 to 26 beams (UB-06), beam size and loading as published,
    strengths assumed (UB-12). The engine's f_ps (AASHTO LRFD 5.6.3.1.2) on the same beams, bonded bars at yield.

    A rule for design must stay on the safe side of the mean of tests. The smeared model gives 1.09 to 1.40 there.
    """
    ratios = []
    for number in ("10", "20", "30"):
        given, _, _ = case(f"UB-12-{number}")
        _, measured, _ = case(f"UB-06-{number}")
        tendon = (given["dp_mm"] * MM, given["Aps_mm2"] * MM**2, given["fpe_MPa"] * MPA, 1e9, given["L_mm"] * MM)
        bars = (given["ds_mm"] * MM, given["As_mm2"] * MM**2, given["fy_MPa"] * MPA, given["fy_MPa"] * MPA, 1e9)
        found = block(given["b_mm"] * MM, given["h_mm"] * MM, given["fc_peak_MPa"] / 0.85 * MPA, tendon, bars)
        gain = found.rod_stress_psi[0, 0] / MPA - given["fpe_MPa"]
        ratios.append(gain / measured["d_fps_MPa"])
    mean, spread = float(np.mean(ratios)), float(np.std(ratios, ddof=1))
    with capsys.disabled():
        print(f"\ngain of stress, predicted/measured: {np.round(ratios, 2)}; mean {mean:.2f}, scatter {spread:.2f}")
    assert 0.2 < mean < 1.0
    assert max(ratios) < 1.09
