"""Targets from a stored result, and the verdict on a reading."""

import pytest

from engineering.core.contract import parse
from engineering.models import CheckRun
from jobs import targets
from jobs.targets import Measured, ResultIncomplete, judge, next_turn, target_at, targets_from, turns
from tests.factories import document, make_design, newest, result_for

pytestmark = pytest.mark.django_db
LAST = ("R1", 1)


@pytest.fixture
def aims() -> dict:
    run = CheckRun.objects.get(specification__revision=newest(make_design()))
    return targets_from(run, parse(document()))


def said(aims, turn=LAST, all_tight=False, torque=80.0, stretch=0.25, crown=None):
    return judge(aims, turn, Measured(torque, stretch, crown), all_tight=all_tight)


def test_targets_are_read_from_the_result(aims):
    assert aims["rods"]["R1"] == {
        "torque_lbf_ft": 80.0,
        "elongation_in": 0.25,
        "nut_turns": 3.5,
        "force_jacking_lbf": 8600.0,
    }
    assert aims["crown"] == {"transfer_in": 0.10, "low_in": 0.07, "high_in": 0.13, "limit_in": 0.45}
    assert (aims["steps"], aims["order"], aims["method"]) == ([0.5, 1.0], ["R2", "R1"], "torque")


def test_an_si_result_comes_out_in_us_units():
    """1 in = 25.4 mm and 1 ft = 304.8 mm exactly; 1 lbf·ft = 1.3558179483 N·m (NIST SP 811, appendix B.8)."""
    revision = newest(make_design())
    result = result_for(revision)
    for figure in result["figures"].values():
        figure["value"] *= {"in": 25.4, "lbf·ft": 1.3558179483, "lbf": 4.4482216153, "ft³": 0.3048**3, "": 1}[
            figure["unit"]
        ]
    result["checks"][0]["capacity"] *= 25.4
    described = parse(document())
    si = type(described)(**{**described.__dict__, "units": "si"})
    got = targets_from(CheckRun(result=result, engine_version="1"), si)
    assert got["rods"]["R1"]["torque_lbf_ft"] == pytest.approx(80.0, rel=1e-9)
    assert got["rods"]["R1"]["elongation_in"] == pytest.approx(0.25, rel=1e-12)
    assert got["rods"]["R1"]["force_jacking_lbf"] == pytest.approx(8600.0, rel=1e-9)
    assert got["crown"]["limit_in"] == pytest.approx(0.45, rel=1e-12)


@pytest.mark.parametrize(
    ("figure", "value"), [("rod.R1.torque", None), ("crown.transfer_low", None), ("rod.R2.elongation", "much")]
)
def test_a_missing_target_is_told_not_guessed(figure, value):
    result = result_for(newest(make_design()))
    result["figures"][figure].update(value=value, why="it was not given")
    with pytest.raises(ResultIncomplete, match=f"The result has no {figure}: it was not given"):
        targets_from(CheckRun(result=result, engine_version="1"), parse(document()))


def test_a_missing_crown_limit_is_told_not_left_out():
    result = result_for(newest(make_design()))
    result["checks"] = []
    with pytest.raises(ResultIncomplete, match="no limit for the crown"):
        targets_from(CheckRun(result=result, engine_version="1"), parse(document()))


def test_turns_go_step_by_step_through_every_rod(aims):
    assert turns(aims) == [("R2", 0), ("R1", 0), ("R2", 1), ("R1", 1)]
    assert next_turn(aims, []) == ("R2", 0)
    assert next_turn(aims, [("R2", 0), ("R1", 0)]) == ("R2", 1)
    assert next_turn(aims, turns(aims)) is None


def test_a_step_asks_for_its_share(aims):
    assert target_at(aims, ("R1", 0)) == {
        "torque_lbf_ft": 40.0,
        "elongation_in": 0.125,
        "nut_turns": 1.75,
        "force_jacking_lbf": 4300.0,
    }


@pytest.mark.parametrize(
    ("stretch", "inside"), [(0.25, True), (0.2675, True), (0.2325, True), (0.2676, False), (0.2324, False)]
)
def test_stretch_within_seven_per_cent(aims, stretch, inside):
    """ACI 318-19 26.10.2(e): 7 %. 0.25 × 1.07 = 0.2675; 0.25 × 0.93 = 0.2325."""
    assert said(aims, stretch=stretch).within_tolerance is inside


@pytest.mark.parametrize(("torque", "inside"), [(83.2, True), (76.8, True), (83.3, False), (76.7, False)])
def test_torque_within_four_per_cent(aims, torque, inside):
    assert said(aims, torque=torque).within_tolerance is inside


def test_a_finding_says_by_how_much_and_what_to_do(aims):
    finding, apart = said(aims, stretch=0.30).findings
    assert finding == (
        "Stretch 0.3 in, target 0.25 in: 20 % over, 7 % allowed. Stop, slacken, and look for a yielding rod or a plate "
        "that crushes its bed."
    )
    assert apart.startswith("Torque and stretch do not agree: 8600 lbf by torque, 10320 lbf by stretch.")


def test_torque_and_stretch_are_judged_at_the_step_not_at_the_end(aims):
    assert said(aims, ("R1", 0), torque=40, stretch=0.125).within_tolerance
    assert len(said(aims, ("R1", 0)).findings) == 2


@pytest.mark.parametrize(("crown", "inside"), [(0.07, True), (0.13, True), (0.069, False), (0.131, False)])
def test_the_crown_band_holds_once_every_rod_is_tight(aims, crown, inside):
    assert said(aims, all_tight=True, crown=crown).within_tolerance is inside
    assert said(aims, all_tight=False, crown=crown).within_tolerance


def test_a_crown_over_its_limit_is_a_stop_at_any_turn(aims):
    verdict = said(aims, ("R1", 0), torque=40, stretch=0.125, crown=0.451)
    assert (verdict.stop, verdict.within_tolerance) == (True, False)
    assert verdict.findings[0].startswith("STOP. The crown is 0.451 in, over its limit of 0.45 in.")
    assert not said(aims, crown=0.45).stop


@pytest.mark.parametrize(
    ("kept", "words"), [({"stretch": None}, "stretch was not measured"), ({"torque": None}, "torque was not read")]
)
def test_what_was_not_read_is_not_within_tolerance(aims, kept, words):
    (finding,) = said(aims, **kept).findings
    assert words in finding


def test_the_crown_has_to_be_read_at_the_end(aims):
    (finding,) = said(aims, all_tight=True).findings
    assert "crown was not measured" in finding


def test_no_torque_is_asked_for_where_the_stretch_is_the_method(aims):
    assert said({**aims, "method": "elongation"}, torque=None).within_tolerance


def test_an_si_piece_is_told_in_its_own_units(aims):
    finding, _ = said({**aims, "units": "si"}, stretch=0.30).findings
    assert finding.startswith("Stretch 7.62 mm, target 6.35 mm: 20 % over")


def test_nothing_is_stored_by_reading(aims):
    before = CheckRun.objects.get().result
    said(aims)
    assert CheckRun.objects.get().result == before
    assert targets.STRETCH_TOLERANCE == 0.07
