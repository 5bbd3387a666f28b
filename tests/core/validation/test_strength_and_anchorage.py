"""Formulas of strength, anchorage, shear and tightening against published answers, tables and exact statics.

The cases and their sources stand in data/strength_and_anchorage.json; what is checked by hand says so beside it.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from engineering.core import anchorage, concrete_limits, shear, skin, strength, tightening
from engineering.core.block import above, edges_of, width_at

CASES = {
    case["id"]: case
    for case in json.loads((Path(__file__).parent / "data" / "strength_and_anchorage.json").read_text())
}
KGF_CM2 = 14.2233433  # psi
MPA_PSI = 6.894757e-3
T_BEAM = [(1.0, np.array([[24, 0], [36, 0], [36, 27], [60, 27], [60, 32], [0, 32], [0, 27], [24, 27.0]]))]


def case(name):
    found = CASES[name]
    return found["inputs"], found["expected"], found["tolerance"]["relative"]


def rectangle(width, depth):
    return [(1.0, np.array([[0, 0], [width, 0], [width, depth], [0, depth]], dtype=float))]


def flexure_of(rings, depth, width, rods, strength_psi, slenderness):
    """One section, one or more rods (depth, area, f_se, f_y, f_u, length)."""
    columns = [np.array([column], dtype=float).T for column in zip(*rods, strict=True)]
    one = [np.array([value], dtype=float) for value in (depth, depth, width)]
    return strength.flexure(
        rings, *one, strength.RodsAtSection(*columns), np.array([float(strength_psi)]), np.array([float(slenderness)])
    )


def test_area_above_a_level_of_a_t_beam_gives_the_centroid_of_mccormac_2_2():
    _, expected, tolerance = case("SEC-01")
    area, moment = above(T_BEAM, np.array([-1.0]))
    assert 32 - moment / area == pytest.approx(expected["ybar_from_top_in"], rel=tolerance)
    part, part_moment = above(T_BEAM, np.array([29.0]))
    assert (part[0], part_moment[0]) == pytest.approx((60 * 3, 60 * 3 * 30.5))  # by hand: 60 x 3 in rectangle
    assert width_at(T_BEAM, np.array([10.0, 29.0])) == pytest.approx([12.0, 60.0])


def test_first_moment_and_web_of_a_foam_core_strip():
    _, expected, tolerance = case("SEC-06")
    core = (-1.0, np.array([[4, 0.75], [20, 0.75], [20, 2.25], [4, 2.25]]))
    rings = [*rectangle(24, 3), core]
    area, moment = above(rings, np.array([1.5]))
    assert moment - 1.5 * area == pytest.approx(expected["Q_neutral_axis_in3"], rel=tolerance)
    assert width_at(rings, np.array([1.5])) == pytest.approx(expected["web_width_in"], rel=tolerance)


@pytest.mark.parametrize("name", ["FL-02", "FL-03"])
def test_block_and_phi_of_published_beams(name):
    given, expected, tolerance = case(name)
    fy = given["fy_psi"]
    found = flexure_of(
        rectangle(given["b_in"], given["d_in"] + 3),
        given["d_in"] + 3,
        given["b_in"],
        [(given["d_in"], given["As_in2"], fy, fy, fy * 1.5, 1e9)],
        given["fc_psi"],
        10,
    )
    # the steel sits 3 in above the bottom; the compression face is at the top
    assert found.block_in[0] == pytest.approx(expected["a_in"], rel=tolerance)
    assert found.neutral_in[0] == pytest.approx(expected["c_in"], rel=tolerance)
    assert found.phi[0] == pytest.approx(expected["phi"], rel=tolerance)
    assert found.design_lbf_in[0] / 12e3 == pytest.approx(expected["phiMn_ftk"], rel=tolerance)


def test_low_stress_strip_stays_with_the_published_equations_and_far_under_the_smeared_model():
    given, expected, tolerance = case("UB-11")
    found = flexure_of(
        rectangle(given["b_in"], 3),
        3,
        given["b_in"],
        [(given["dp_in"], given["Aps_in2"], given["fse_psi"], 105e3, 125e3, given["L_in"])],
        given["fc_psi"],
        40,
    )
    assert found.rod_stress_psi[0, 0] == pytest.approx(expected["AASHTO_psi"], rel=tolerance)
    assert found.rod_stress_psi[0, 0] < 0.6 * CASES["UB-10-udl"]["expected"]["fps_psi"]


def test_table_for_unbonded_tendons():
    given, expected, tolerance = case("UB-01")
    stress = strength.table_stress(given["fse_psi"], expected["rho_p"], given["fc_psi"], 40 * 12 / 30)
    assert stress == pytest.approx(expected["fps_psi"], rel=tolerance)
    given, expected, tolerance = case("UB-02")
    ratio = given["Ap_per_tendon_cm2"] / (given["spacing_cm"] * given["dp_cm"])
    stress = strength.table_stress(given["fse"] * KGF_CM2, ratio, given["fc"] * KGF_CM2, 1000 / 25)
    assert stress / KGF_CM2 == pytest.approx(expected["fps"], rel=tolerance)


def test_hogging_on_a_turned_section_equals_sagging_on_the_section():
    rod = (28, 1.0, 60e3, 105e3, 125e3, 120)
    sagging = flexure_of(T_BEAM, 32, 60, [rod], 5000, 20)
    turned = [(1.0, T_BEAM[0][1][::-1] * [1, -1] + [0, 32])]  # flange now at the bottom, face at y = 0
    columns = [np.array([[value]], float) for value in rod]
    hogging = strength.flexure(
        edges_of(turned).upside_down(),
        np.array([0.0]),
        np.array([32.0]),
        np.array([60.0]),
        strength.RodsAtSection(*columns),
        np.array([5000.0]),
        np.array([20.0]),
    )
    assert hogging.nominal_lbf_in[0] == pytest.approx(sagging.nominal_lbf_in[0])
    assert hogging.neutral_in[0] == pytest.approx(sagging.neutral_in[0])


def test_a_section_that_cannot_press_back_has_no_strength():
    found = flexure_of(
        rectangle(4, 2), 2, 4, [(1.2, 1.0, 90e3, 105e3, 125e3, 120)], 3000, 20
    )  # 90 k on 20 k of concrete
    assert found.crushed[0]
    assert found.nominal_lbf_in[0] == 0.0


def test_bearing_below_its_caps_by_hand():
    # 0.8 x 4,000 x sqrt(1.2 - 0.2) = 3,200 psi; 0.6 x 6,000 x sqrt(1.44) = 4,320 psi; a plate over an edge: nothing
    # left
    assert anchorage.bearing_at_stressing(4000, 1.2) == pytest.approx(3200)
    assert anchorage.bearing_in_service(6000, 1.44) == pytest.approx(4320)
    assert anchorage.bearing_at_stressing(4000, 0.15) == 0
    # the caps of post-tensioning practice (from memory): 1.25 f'ci and f'c, however far the concrete reaches
    assert anchorage.bearing_at_stressing(4000, 9.0) == pytest.approx(5000)
    assert anchorage.bearing_in_service(6000, 9.0) == pytest.approx(6000)


def test_spread_of_a_plate_meets_the_nearest_edge():
    rings = rectangle(25, 3)
    # by hand: plate 3 x 2.25 at z 2.5, y 1.25; 1.25 below against 1.125, 2.5 to the edge against 1.5
    assert anchorage.spread(rings, np.array([2.5]), np.array([1.25]), 3.0, 2.25) == pytest.approx([1.25 / 1.125])
    core = (-1.0, np.array([[4.2, 0.5], [10, 0.5], [10, 2.5], [4.2, 2.5]]))
    assert anchorage.spread([*rings, core], np.array([2.5]), np.array([1.5]), 3.0, 1.0) == pytest.approx([1.7 / 1.5])


def test_bursting_by_hand():
    # 0.25 x 12,000 x (1 - 3/8) = 1,875 lbf on 4 x 0.5 x 8 = 16 in2
    assert anchorage.bursting_force(12e3, 3, 8) == pytest.approx(1875)
    assert anchorage.bursting_stress(anchorage.bursting_force(12e3, 3, 8), 8, 4) == pytest.approx(1875 / 16)
    assert anchorage.bursting_force(12e3, 9, 8) == 0
    assert anchorage.upright_breadth(3, 3, 2.0) == 4.0
    assert anchorage.upright_breadth(3, 3, 9.0) == 4.5
    assert anchorage.side_distance(rectangle(25, 3), np.array([22.5]), np.array([1.0])) == pytest.approx([2.5])


def test_twist_while_tightening():
    given, expected, tolerance = case("TQ-03")
    sigma, tau = given["F_lb"] / given["At_in2"], tightening.twist_stress(given["T_thread_inlb"], given["At_in2"])
    assert (sigma, tau) == pytest.approx((expected["sigma_psi"], expected["tau_psi"]), rel=tolerance)
    assert tightening.equivalent_stress(sigma, tau) == pytest.approx(expected["vonMises_psi"], rel=tolerance)
    given, expected, tolerance = case("EL-01")
    assert tightening.torque(given["K"], given["d_in"], expected["F_lb"]) == pytest.approx(
        expected["T_inlb"], rel=tolerance
    )


def test_shear_stress_at_a_fibre_and_the_floor_of_the_simplified_method():
    given, expected, tolerance = case("BM-15")
    rings = rectangle(given["b_in"], given["h_in"])
    area, moment = above(rings, np.array([3.0]))
    tau = shear.elastic_stress(given["V_lb"], moment - 2.0 * area, 1 * 4**3 / 12, width_at(rings, np.array([3.0])))
    assert tau == pytest.approx(-expected["tau_psi"], rel=tolerance)
    # McCormac 19.5: V_c not over 5 sqrt(f'c) b d = 68,305 lb; the floor is 2/5 of it
    given, expected, tolerance = case("SH-01")
    floor = shear.lower_bound(given["fc_psi"], 1.0) * given["b_in"] * given["dp_section_in"]
    assert floor == pytest.approx(0.4 * expected["Vc_max_lb"], rel=tolerance)


def test_shear_of_plain_concrete():
    """ACI 318-19 14.5.5.1 in its SI edition, from memory: 0.11 lambda sqrt(f'c) MPa, phi 0.60; its two digits."""
    found = shear.plain_limit(np.array([25.0, 36.0]) / MPA_PSI, np.array([1.0, 0.75]))
    assert found * MPA_PSI == pytest.approx([0.6 * 0.11 * 5.0, 0.6 * 0.11 * 0.75 * 6.0], rel=0.01)


@pytest.mark.parametrize("level", [0.0, 1.0, 4.5])
def test_first_moment_of_the_upper_part_of_a_triangle(level):
    """Exact statics: base 8 below, height 6; what lies above is a triangle again, its centroid a third up. The same for
    a trapezoid as that triangle less its tip above 5."""
    triangle = [(1.0, np.array([[0, 0], [8, 0], [3, 6.0]]))]
    trapezoid = [(1.0, np.array([[0, 0], [8, 0], [3 + 5 / 6, 5.0], [2.5, 5.0]]))]
    tip = np.array([8 / 6 / 2, 8 / 6 / 2 * (5 + 1 / 3)])  # area, and first moment about the base
    height = 6.0 - level
    area = 0.5 * 8 * height / 6 * height
    whole = np.array([area, area * (level + height / 3)])
    assert np.ravel(above(triangle, np.array([level]))) == pytest.approx(whole, rel=1e-12)
    assert np.ravel(above(trapezoid, np.array([level]))) == pytest.approx(whole - tip, rel=1e-12)
    for rings in (triangle, trapezoid):
        assert width_at(rings, np.array([level + 0.1])) == pytest.approx(8 * (height - 0.1) / 6, rel=1e-12)


def test_lightness_and_block_share_of_aci_318_19():
    # by hand from 19.2.4.1(a) and Table 22.2.2.4.3
    assert concrete_limits.lightness(np.array([90, 120, 130, 140])) == pytest.approx([0.75, 0.9, 0.975, 1.0])
    assert concrete_limits.block_share(np.array([3000, 4000, 5000, 7000, 9000])) == pytest.approx(
        [0.85, 0.85, 0.80, 0.70, 0.65]
    )


def test_strip_of_skin_by_hand():
    # fixed ends: full length load w b^2/12; load P over the whole span gives P b/12; a point P b/8
    assert skin.area_moment(2.0, 6.0) == pytest.approx(6.0)
    assert skin.point_moment(300.0, 6.0, 6.0) * (6 + 3) == pytest.approx(300 * 6 / 12)
    assert skin.point_moment(300.0, 1e-9, 6.0) * 3 == pytest.approx(300 * 6 / 8)
    assert skin.tension(10.0, 0.5) == pytest.approx(240.0)
