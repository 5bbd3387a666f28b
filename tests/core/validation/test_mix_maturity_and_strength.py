"""Materials help against published examples and recipes."""

import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engineering.core.maturity import (
    Interval,
    MaturityConstants,
    NoConstants,
    constants_for,
    equivalent_age_hours,
    strength_of_maturity,
    temperature_time_factor,
)
from engineering.core.mix import Ingredient, Mix, batch_for
from engineering.core.strength_gain import ACI_209_CURVES, StrengthTest, aci_209_ratio, fit_strength_curve

CASES = json.loads((Path(__file__).parent / "data" / "threads_mix_and_maturity.json").read_text("utf-8"))["cases"]


def intervals(case):
    hours, temperatures = CASES[case]["inputs"]["intervals_h"], CASES[case]["inputs"]["T_C"]
    return [Interval(h, t) for h, t in zip(hours, temperatures, strict=True)]


def test_mt_01_temperature_time_factor():
    """MT-01: an example after ASTM C1074, printed answer 540 C h."""
    assert temperature_time_factor(intervals("MT-01"), constants_for("portland")) == pytest.approx(540, rel=1e-12)


def test_equivalent_age_at_the_reference_is_the_age():
    """Identity of the formula: exact."""
    assert equivalent_age_hours([Interval(30, 23)], constants_for("portland")) == pytest.approx(30, rel=1e-14)


def test_below_the_datum_nothing_is_gained():
    assert temperature_time_factor([Interval(10, -5), Interval(10, 10)], constants_for("portland")) == 100


@pytest.mark.parametrize(("cement", "named"), [("csa", r"Rapid-setting \(CSA\)"), ("geopolymer", "geopolymer")])
def test_portland_constants_are_refused_for_another_cement(cement, named):
    with pytest.raises(NoConstants, match=named):
        constants_for(cement)


def test_measured_constants_serve_any_cement():
    own = MaturityConstants(5.0, 3500.0, 23.0, "cubes of mix C, three temperatures")
    assert temperature_time_factor([Interval(2, 30)], constants_for("csa", own)) == 50


@pytest.mark.parametrize("part", [Interval(-1, 20), Interval(math.nan, 20), Interval(1, math.nan), Interval(1, 300)])
def test_an_interval_that_cannot_be_is_refused(part):
    with pytest.raises(ValueError, match="cannot be right"):
        temperature_time_factor([part], constants_for("portland"))


def test_strength_of_maturity_is_half_where_rate_times_maturity_is_one():
    """By hand: S_u · 1/(1 + 1)."""
    assert strength_of_maturity(600.0, 8000.0, 1 / 500, 100.0) == pytest.approx(4000)


# ---- strength and age -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ACI_209_CURVES)
def test_the_published_curves_pass_through_one_at_28_days(kind):
    """By definition of f28; a and b are rounded to two digits in the standard, hence 1.5 %."""
    assert aci_209_ratio(28, *kind) == pytest.approx(1, rel=0.015)


def test_no_published_curve_for_csa():
    with pytest.raises(KeyError):
        aci_209_ratio(1, "csa")


def test_a_curve_is_found_again_from_points_on_it():
    """Exact points of f = 9000 · 0.4 (t − 0.5)/(1 + 0.4 (t − 0.5)); the start is looked for on a grid, hence 1 %."""
    tests = [StrengthTest(t, 9000 * 0.4 * (t - 0.5) / (1 + 0.4 * (t - 0.5))) for t in (1, 2, 3, 7, 14, 28)]
    curve = fit_strength_curve(tests)
    assert [curve.strength_psi(t) for t in (1, 2.5, 5, 20)] == pytest.approx(
        [9000 * 0.4 * (t - 0.5) / (1 + 0.4 * (t - 0.5)) for t in (1, 2.5, 5, 20)], rel=0.01
    )
    assert curve.is_tested(10)
    assert not curve.is_tested(0.5)


def test_the_published_curve_is_found_again():
    """ACI 209R-92 type III moist as 'tests' of a 7,000 psi concrete; start 0 is on the grid, so the fit is exact."""
    tests = [StrengthTest(t, 7000 * aci_209_ratio(t, "III")) for t in (1, 3, 7, 14, 28)]
    curve = fit_strength_curve(tests)
    assert curve.final_psi == pytest.approx(7000 / 0.92, rel=1e-6)
    assert curve.strength_psi(5) == pytest.approx(7000 * aci_209_ratio(5, "III"), rel=1e-6)


@given(st.floats(3000, 12000), st.floats(0.1, 2.0))
def test_age_and_strength_are_each_others_inverse(final, rate):
    curve = fit_strength_curve([StrengthTest(t, final * rate * t / (1 + rate * t)) for t in (1.0, 3.0, 7.0, 28.0)])
    age = curve.age_days(0.6 * curve.final_psi)
    assert age is not None
    assert curve.strength_psi(age) == pytest.approx(0.6 * curve.final_psi, rel=1e-9)
    assert curve.age_days(curve.final_psi * 1.01) is None


@pytest.mark.parametrize(
    "points",
    [
        [(1, 2000), (7, 5000)],
        [(1, 2000), (1, 2100), (7, 5000)],
        [(1, 5000), (7, 4000), (28, 3000)],
        [(1, 2000), (7, -1), (28, 6000)],
        [(0, 2000), (7, 4000), (28, 6000)],
    ],
)
def test_too_few_or_falling_tests_make_no_curve(points):
    with pytest.raises(ValueError, match=r"three ages|do not rise|cannot be right"):
        fit_strength_curve([StrengthTest(age, strength) for age, strength in points])


# ---- mix ------------------------------------------------------------------------------------------------------------

KINDS = {
    "water": "water",
    "polymer liquid": "polymer",
    "sand": "sand",
    "portland": "cement",
    "pozzolan": "pozzolan",
    "fibre": "fibre",
}


def recipe(air=0.0, solids=1.0, tolerance=0.01):
    """GF-03: a published shop recipe for premix; specific gravities are assumed there too."""
    given_values = CASES["GF-03"]["inputs"]
    return Mix(
        tuple(
            Ingredient(
                name,
                KINDS[name],
                weight,
                given_values["sg"][name],
                solids if name == "polymer liquid" else 1.0,
                tolerance,
            )
            for name, weight in given_values["lb"].items()
        ),
        air,
    )


def test_gf_03_published_recipe():
    """GF-03: total, fibre share and sand to binder follow from the recipe's own weights; 0.3 %."""
    mix, case = recipe(), CASES["GF-03"]
    found = {
        "total_lb": mix.weight_lb,
        "fibre_pct_of_total": 100 * mix.fibre_share,
        "sand_to_binder": mix.sand_to_binder,
        "volume_ft3": mix.volume_ft3,
        "unit_weight_pcf_air_free": mix.unit_weight_pcf,
    }
    assert found == pytest.approx(case["expected"], rel=case["tolerance"]["relative"])


def test_fibre_volume_share():
    """By hand, as the basis gives it: 3 % by weight at 128 pcf is 0.03 · 128/(2.68 · 62.4) = 2.3 % by volume."""
    mix = Mix(
        (
            Ingredient("fibre", "fibre", 3, 2.68),
            Ingredient("rest", "sand", 97, 97 / 62.4 / (100 / 128 - 3 / 2.68 / 62.4)),
        )
    )
    assert mix.unit_weight_pcf == pytest.approx(128)
    assert mix.fibre_volume_share == pytest.approx(0.02296, rel=1e-3)


def test_water_in_the_polymer_counts():
    """By hand: 6.5 + 2.5 · (1 − 0.5) = 7.75 lb on 23.5 lb of cement and pozzolan; solids 1.25/23.5."""
    mix = recipe(solids=0.5)
    assert mix.total_water_lb == pytest.approx(7.75)
    assert mix.water_to_cementitious == pytest.approx(7.75 / 23.5)
    assert mix.polymer_solids_share == pytest.approx(1.25 / 23.5)


def test_air_takes_room_and_no_weight():
    assert recipe(air=0.08).volume_ft3 == pytest.approx(recipe().volume_ft3 / 0.92)
    assert recipe(air=0.08).weight_lb == recipe().weight_lb


@given(st.floats(0.1, 50), st.floats(0, 0.3))
def test_a_pour_is_weighed_to_fill_the_form_and_the_waste(volume, waste):
    batch = batch_for(recipe(), volume, waste)
    assert batch.weight_lb / recipe().unit_weight_pcf == pytest.approx(volume * (1 + waste))
    assert [w.target_lb / batch.weight_lb for w in batch.weighings] == pytest.approx(
        [part.weight_lb / 57.6 for part in recipe().ingredients]
    )


def test_each_weighing_has_its_tolerance():
    weighing = batch_for(recipe(tolerance=0.02), 0.42, waste=0.0).weighings[2]
    assert weighing.name == "sand"
    assert (weighing.least_lb, weighing.most_lb) == pytest.approx((23.5 * 0.98, 23.5 * 1.02), rel=1e-3)
    assert weighing.holds(23.5)
    assert not weighing.holds(24.2)


@pytest.mark.parametrize(
    "part",
    [
        Ingredient("x", "gravel", 1, 2.6),
        Ingredient("x", "sand", 0, 2.6),
        Ingredient("x", "sand", 1, 26),
        Ingredient("x", "polymer", 1, 1.05, solids=1.2),
        Ingredient("x", "sand", 1, 2.6, tolerance=-0.1),
    ],
)
def test_an_ingredient_that_cannot_be_is_refused(part):
    with pytest.raises(ValueError, match="x: "):
        Mix((part,))


@pytest.mark.parametrize(("volume", "waste"), [(0, 0.1), (-1, 0.1), (1, -0.1), (1, 2), (math.nan, 0.1)])
def test_a_pour_that_cannot_be_is_refused(volume, waste):
    with pytest.raises(ValueError, match="a pour has"):
        batch_for(recipe(), volume, waste)
