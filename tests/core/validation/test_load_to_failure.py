"""Load-to-failure against closed forms and published equations; the independent fibre model stands in
tests/core/independent."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from engineering.core import load_test_model
from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.checks import Reading
from engineering.core.contract import parse
from engineering.core.crack import Crack
from engineering.core.fibres import ConcreteLaw, RodLaw, circle_below, gauss_fibres, thin_layers
from engineering.core.load_to_failure import LoadTest, load_test
from tests.core.pieces import ROD, document

CASES = {
    case["id"]: case
    for case in json.loads((Path(__file__).parent / "data" / "strength_and_anchorage.json").read_text())
}


def broken(piece: dict[str, Any]) -> LoadTest:
    return load_test(Reading(analyse(Batch.check_run(parse(piece)))))


def strip(**changes: Any) -> dict[str, Any]:
    """24 x 3 in, span 120 in, ends flush with the supports as nearly as the format allows."""
    rods = [
        {
            **ROD,
            "thread": "5/8-11 UNC",
            "grade": "A193 B7",
            "profile": [[0, 1.0], [120, 1.0]],
            "across": 6,
            "sleeve": {"outside": 0.7, "friction": 0, "wobble": 0},
            "jacking_force": 9040,
            "anchor": {"width": 3, "height": 1.9, "thickness": 0.625, "hole": 0.6875},
        },
        {"mark": "R2", "like": "R1", "across": 18},
    ]
    return document(
        **{
            "length": 120,
            "zones": [{"to": 120, "shape": {"type": "solid", "width": 24, "depth": 3}}],
            "rods": rods,
            "supports": [{"at": 0, "bearing": 0.5}, {"at": 120, "bearing": 0.5}],
            "handling": None,
            **changes,
        }
    )


def test_plain_strip_cracks_at_limit_of_proportionality() -> None:
    # by hand: S = 24 x 3²/6 = 36 in3, M = 36 x 1,000 = 36,000 lbf·in = (W + self weight) L/8
    found = broken(strip(rods=None, stressing=None, concrete={"residual_tension": 0}))
    weight = 24 * 3 * 120 * 130 / 1728
    assert found.first_crack_lbf == pytest.approx(
        36_000 * 8 / 120 - weight, rel=0.03
    )  # the law's compression is a parabola
    assert found.peak_lbf == pytest.approx(found.first_crack_lbf, rel=0.03)
    assert found.mode == "fibre tension"


def test_residual_tension_carries_a_plain_strip_as_a_plastic_hinge() -> None:
    # by hand: a stress block of 600 psi over nearly the whole depth, M near 600 x 24 x 3²/2 = 64,800 lbf·in, and
    # never over it
    found = broken(strip(rods=None, stressing=None, concrete={"residual_tension": 600}))
    weight = 24 * 3 * 120 * 130 / 1728
    moment = (found.peak_lbf + weight) * 120 / 8
    assert 0.80 * 64_800 < moment < 64_800
    assert found.peak_lbf > 1.2 * found.first_crack_lbf


def test_a_limited_crack_stays_with_the_published_equations_where_smearing_promises_double() -> None:
    """Low-stress strip (f_se 40 ksi, L/d_p 60): equations give 53 to 66 ksi, the smeared model 92 (UB-10, UB-11)."""
    piece = strip(
        concrete={
            "strength": 8000,
            "flexural_yield": 100,
            "flexural_ultimate": 300,
            "residual_tension": 0,
            "modulus": 8_000_000,
            "shrinkage": 0,
            "creep": 0,
        }
    )
    found = broken(piece)
    stress = found.curve[-1].rod_strain * 29e6
    expected = CASES["UB-11"]["expected"]
    assert found.curve[-1].edge_strain >= 0.004
    assert expected["rotation_10c_psi"] * 0.9 < stress[0] < expected["Naaman_uniform_psi"] * 1.05
    assert stress[0] < 0.8 * CASES["UB-10-udl"]["expected"]["fps_psi"]


def test_more_force_lifts_the_first_crack_and_the_peak() -> None:
    loads = [
        broken(strip(rods=[{**strip()["rods"][0], "jacking_force": force}, strip()["rods"][1]]))
        for force in (3000, 6000, 9000)
    ]
    cracks, peaks = [one.first_crack_lbf for one in loads], [one.peak_lbf for one in loads]
    assert cracks == sorted(cracks)
    assert peaks == sorted(peaks)


def test_mirrored_piece_fails_alike() -> None:
    rod = {**strip()["rods"][0], "profile": [[0, 1.2], [40, 0.9], [120, 1.4]]}
    turned = {**rod, "profile": [[0, 1.4], [80, 0.9], [120, 1.2]]}
    one, other = (broken(strip(rods=[r, {"mark": "R2", "like": "R1", "across": 18}])) for r in (rod, turned))
    assert one.first_crack_lbf == pytest.approx(other.first_crack_lbf, rel=1e-4)
    assert one.peak_lbf == pytest.approx(other.peak_lbf, rel=1e-3)


def test_soft_rods_end_it_by_yielding() -> None:
    """Thin, strongly stressed soft rods low in a strip of low fibre strength: they stretch while the load still
    rises."""
    rod = {
        **strip()["rods"][0],
        "grade": "A307 A",
        "jacking_force": 7900,
        "profile": [[0, 0.6], [120, 0.6]],
        "anchor": {"width": 3, "height": 1.15, "thickness": 0.625, "hole": 0.6875},
    }
    found = broken(
        strip(
            rods=[rod, {"mark": "R2", "like": "R1", "across": 18}],
            concrete={"flexural_yield": 150, "flexural_ultimate": 400, "residual_tension": 100},
        )
    )
    assert found.mode == "rod yield"
    assert found.yield_lbf is not None
    assert found.yield_lbf <= found.peak_lbf


def test_an_overhang_cracks_on_top() -> None:
    found = broken(strip(supports=[{"at": 0, "bearing": 0.5}, {"at": 60, "bearing": 0.5}]))
    assert found.crack_at_in == pytest.approx(60)
    assert found.peak_lbf >= found.first_crack_lbf


def test_three_supports_give_the_first_crack_only() -> None:
    found = broken(strip(supports=[{"at": 0}, {"at": 60}, {"at": 120}]))
    assert found.first_crack_lbf > 0
    assert found.peak_lbf is None
    assert "more than two supports" in found.why["peak"]


def test_laws() -> None:
    law = ConcreteLaw(7000, 2.5e6, 1000, 300)
    stress, tangent = law.uncracked(np.array([-0.0056, -0.0112, 0.0001, 0.0]))
    assert stress == pytest.approx([-7000, -7000, 250, 0])  # peak at 2 f'c/E = 0.0056, level after it
    assert tangent == pytest.approx([0, 0, 2.5e6, 2.5e6])
    low, high = np.array([0.0, 0.0005, 0.002, 0.011]), np.array([0.0002, 0.0006, 0.003, 0.012])
    assert law.cracked_layers(low, high - low) == pytest.approx([250, 300, 300, 0])
    rod = RodLaw(np.array([1.0]), np.array([29e6]), np.array([36e3]), np.array([60e3]), np.array([0.10]))
    for strain, force in ((-0.001, 0), (0.001, 29e3), (0.01, 36e3), (0.015, 36e3), (0.0575, 48e3), (0.10, 60e3)):
        assert rod.force(np.array([strain])) == pytest.approx([force])


def test_fibres_have_the_section_s_area_and_inertia() -> None:
    square = [
        (1.0, np.array([[0, 0], [24, 0], [24, 3], [0, 3.0]])),
        (-1.0, np.array([[4, 0.75], [20, 0.75], [20, 2.25], [4, 2.25]])),
    ]
    level, area = gauss_fibres(square)
    assert area.sum() == pytest.approx(48)  # SEC-06
    assert (area * (level - 1.5) ** 2).sum() == pytest.approx(49.5)
    low, high, thin = thin_layers(square)
    assert thin.sum() == pytest.approx(48)
    assert (thin * (0.5 * (low + high) - 1.5) ** 2).sum() == pytest.approx(49.5, rel=1e-3)
    assert circle_below(np.array([-1.0, 0.0, 1.0]), 1.0) == pytest.approx([0, np.pi / 2, np.pi])


def test_the_cracked_length_is_one_depth() -> None:
    """A crack in the middle of the 120 in span, 3 in deep: it opens over 3 in, 3/120 of each rod lies in it, and a unit
    kink there sinks the middle by L/4 (geometry)."""
    model = load_test_model.test_model(analyse(Batch.check_run(parse(strip()))))
    crack = Crack.at(model, model.middle, True)
    assert crack.length_in == pytest.approx(3)
    assert crack.share == pytest.approx([3 / 120, 3 / 120])
    assert crack.sag_in == pytest.approx(120 / 4)
