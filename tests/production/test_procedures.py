"""After the tightening: gauges, lift-off, re-stressing, slackening, breakage, incident, and the finish of the ends."""

from __future__ import annotations

import pytest

from jobs import gates, rod_forces, targets
from jobs.actions import pieces, production
from jobs.errors import BadEntry, GateClosed, NotNow
from jobs.floor_gates import rods_are_still_tight
from jobs.models import Incident, NonConformance, Piece, Restressing, Role, Stage, Stressing
from jobs.procedures import PROCEDURES
from jobs.standing import Standing
from tests.factories import (
    document,
    finish_ends,
    make_design,
    make_wrench,
    move,
    person,
    piece_at,
    read,
    start,
    stress,
)

pytestmark = pytest.mark.django_db

SLACKENING = PROCEDURES[Incident.Kind.SLACKENED].first


def codes(piece: Piece, to_stage: str) -> list[str]:
    return [blocker.code for blocker in gates.blockers(pieces.fresh(piece), to_stage)]


def slackened(piece: Piece, **fields: object) -> Incident:
    given = {"kind": "slackened", "what": "Re-bedding a plate.", "rods": ["R1"], "confirmed": SLACKENING}
    return production.record_incident(piece, by=person(Role.CREW), **{**given, **fields})


# ---- stretch, torque, gauge ------------------------------------------------------------------------------------------


def test_a_gauge_coarser_than_a_third_of_the_tolerance_is_refused_for_the_rod() -> None:
    """0.07 · 0.25 in / 3 = 0.00583 in."""
    piece = piece_at(Stage.STRIPPED)
    coarse = production.start_stressing(piece, by=person(), wrench=make_wrench(), gauge_resolution_in=0.006)
    with pytest.raises(BadEntry, match="finer gauge, or lift the nut off"):
        read(coarse, "R2", 0)
    assert not coarse.readings.exists()


def test_a_gauge_just_fine_enough_is_taken() -> None:
    piece = piece_at(Stage.STRIPPED)
    fine = production.start_stressing(piece, by=person(), wrench=make_wrench(), gauge_resolution_in=0.0058)
    assert read(fine, "R2", 0).within_tolerance


def test_lift_off_stands_for_the_stretch_where_the_gauge_is_too_coarse() -> None:
    piece = piece_at(Stage.STRIPPED)
    coarse = production.start_stressing(piece, by=person(), wrench=make_wrench(), gauge_resolution_in=1 / 16)
    assert read(coarse, "R2", 0, elongation_in=None, lift_off_lbf=4300).within_tolerance
    low = read(coarse, "R2", 0, elongation_in=None, lift_off_lbf=3900)
    assert "Lift-off" in low.findings[0]


def test_a_wrong_nut_factor_shows_at_once() -> None:
    """Torque on target, stretch 20 % short: K = 0.20/0.80 = 0.25."""
    piece = piece_at(Stage.STRIPPED)
    reading = read(start(piece), "R2", 0, elongation_in=0.8 * 0.125)
    assert any("nut factor here is about 0.25; the drawing has 0.20" in words for words in reading.findings)


def test_force_by_stretch_and_by_torque() -> None:
    target = {"torque_lbf_ft": 80.0, "elongation_in": 0.25, "force_jacking_lbf": 8600.0}
    found = rod_forces.forces(target, 0.2, 88.0, 0.225)
    assert found is not None
    assert (found.by_stretch_lbf, found.by_torque_lbf) == pytest.approx((7740, 9460))
    assert found.nut_factor == pytest.approx(0.2 * 1.1 / 0.9)
    assert not found.agree


def test_the_most_that_both_tolerances_allow_still_agrees() -> None:
    target = {"torque_lbf_ft": 80.0, "elongation_in": 0.25, "force_jacking_lbf": 8600.0}
    assert rod_forces.disagreement(target, 0.2, "us", 80 * 1.04, 0.25 / 1.07) == []
    assert rod_forces.disagreement(target, 0.2, "us", 80 * 1.05, 0.25 / 1.07) != []


def test_a_sag_over_the_limit_stops_too() -> None:
    piece = piece_at(Stage.STRIPPED)
    stressing = start(piece)
    reading = read(stressing, "R2", 0, crown_in=-stressing.targets["crown"]["limit_in"] - 0.01)
    assert reading.findings[-1].startswith("STOP. The sag is")
    with pytest.raises(NotNow, match="over its limit"):
        read(stressing, "R1", 0)


# ---- lift-off --------------------------------------------------------------------------------------------------------


def test_a_lift_off_in_tolerance_is_written_down() -> None:
    piece = piece_at(Stage.STRESSED)
    made = production.record_lift_off(piece, by=person(Role.CREW), rod="R1", force_lbf=7700, line_clear=True)
    assert (made.expected_lbf, made.within_tolerance) == (8000, True)
    assert not NonConformance.objects.exists()


def test_a_lift_off_out_of_tolerance_raises_a_non_conformance() -> None:
    piece = piece_at(Stage.STRESSED)
    made = production.record_lift_off(piece, by=person(Role.CREW), rod="R1", force_lbf=7000, line_clear=True)
    assert not made.within_tolerance
    assert NonConformance.objects.get().place == "rod R1"
    assert "non-conformance-open" in codes(piece, Stage.FINISHED)


def test_no_lift_off_before_the_line_is_clear_or_the_rods_are_tight() -> None:
    with pytest.raises(BadEntry, match="line of the rod"):
        production.record_lift_off(piece_at(Stage.STRESSED), by=person(), rod="R1", force_lbf=8000)
    with pytest.raises(NotNow, match="not stressed yet"):
        production.record_lift_off(piece_at(Stage.STRIPPED), by=person(), rod="R1", force_lbf=8000, line_clear=True)


# ---- re-stressing ----------------------------------------------------------------------------------------------------


@pytest.fixture
def to_restress() -> Piece:
    design = make_design(document=document(stressing={**document()["stressing"], "restress": [28, 365]}))
    return piece_at(Stage.STRESSED, design)


def restress(piece: Piece, **fields: object) -> object:
    given = {"age_days": 28.0, "values": {"R1": 80.0, "R2": 79.0}, "line_clear": True, "wrench": make_wrench()}
    return production.record_restressing(piece, by=person(Role.CREW), **{**given, **fields})


def test_every_rod_is_brought_back_once_at_each_age(to_restress: Piece) -> None:
    assert restress(to_restress).within_tolerance  # type: ignore[attr-defined]  # what the action made
    with pytest.raises(NotNow, match="at 28 days is done already"):
        restress(to_restress)
    with pytest.raises(BadEntry, match="no re-stressing at that age"):
        restress(to_restress, age_days=90.0)
    assert Restressing.objects.count() == 1


def test_a_rod_left_out_or_out_of_tolerance(to_restress: Piece) -> None:
    with pytest.raises(BadEntry, match="Rod R2 is missing"):
        restress(to_restress, values={"R1": 80.0})
    made = restress(to_restress, values={"R1": 80.0, "R2": 70.0})
    assert "Rod R2" in made.findings[0]  # type: ignore[attr-defined]  # what the action made
    assert restress(to_restress).within_tolerance  # type: ignore[attr-defined]  # a bad one leaves it due


def test_no_re_stressing_with_a_wrench_past_its_calibration(to_restress: Piece) -> None:
    with pytest.raises(GateClosed, match="calibration"):
        restress(to_restress, wrench=make_wrench(days=-1))


# ---- slackening, breakage, incident ----------------------------------------------------------------------------------


def test_slackening_asks_for_every_step_first() -> None:
    piece = piece_at(Stage.STRESSED)
    with pytest.raises(BadEntry, match="Every step"):
        slackened(piece, confirmed=SLACKENING[:-1])
    assert not Incident.objects.exists()


def test_slackened_rods_are_stressed_again_before_the_piece_moves_on() -> None:
    piece = piece_at(Stage.STRESSED)
    finish_ends(piece)
    assert codes(piece, Stage.FINISHED) == []
    slackened(piece)
    assert codes(piece, Stage.FINISHED) == ["rods-slack"]
    stress(pieces.fresh(piece))
    assert codes(piece, Stage.FINISHED) == []


@pytest.mark.parametrize("stage", [Stage.DELIVERED, Stage.INSTALLED])
def test_rods_slackened_on_the_site_are_stressed_again_there(stage: Stage) -> None:
    piece = piece_at(stage)
    with pytest.raises(GateClosed, match="may not be stressed"):  # tight: nothing to do
        start(piece)
    assert Stressing.objects.filter(piece=piece).count() == 1
    slackened(piece)
    stress(pieces.fresh(piece))
    assert pieces.fresh(piece).stage == stage
    assert rods_are_still_tight(Standing(piece)) == []


def test_a_broken_rod_ends_the_stressing_holds_the_piece_and_asks_the_engineer() -> None:
    piece = piece_at(Stage.STRIPPED)
    stressing = start(piece)
    production.record_incident(piece, by=person(Role.CREW), kind="broken-rod", rods=["R2"], what="Broke at 60 %.")
    stressing.refresh_from_db()
    piece = pieces.fresh(piece)
    assert (stressing.state, piece.stage, piece.held_from) == (Stressing.State.STOPPED, Stage.HELD, Stage.STRIPPED)
    assert NonConformance.objects.get().place == "R2"


def test_an_incident_is_taken_at_every_stage_and_needs_no_rod() -> None:
    piece = piece_at(Stage.INSTALLED)
    made = production.record_incident(
        piece, by=person(Role.CREW), kind="incident", what="A wedge slipped.", somebody_hurt=True
    )
    assert made.somebody_hurt
    assert pieces.fresh(piece).stage == Stage.INSTALLED


def test_a_rod_the_piece_does_not_have_is_refused() -> None:
    with pytest.raises(BadEntry, match="has no rod R9"):
        slackened(piece_at(Stage.STRESSED), rods=["R9"])


# ---- finish ----------------------------------------------------------------------------------------------------------


def test_the_ends_are_finished_before_the_piece_is() -> None:
    piece = piece_at(Stage.STRESSED)
    with pytest.raises(GateClosed, match="tails cut, pockets filled"):
        move(piece, Stage.FINISHED)
    finish_ends(piece, pockets_filled=False)
    assert codes(piece, Stage.FINISHED) == ["finish-not-recorded"]
    finish_ends(piece)
    assert move(piece, Stage.FINISHED).stage == Stage.FINISHED


def test_caps_and_grease_only_where_the_rods_are_sealed() -> None:
    rods = [{**document()["rods"][0], "coating": "sealed"}, document()["rods"][1]]
    piece = piece_at(Stage.STRESSED, make_design(document=document(rods=rods)))
    finish_ends(piece, capped=False, greased=False)
    assert "ends greased, ends capped" in gates.blockers(pieces.fresh(piece), Stage.FINISHED)[0].text


def test_targets_keep_the_nut_factor_and_the_force_after_transfer() -> None:
    stressing = start(piece_at(Stage.STRIPPED))
    assert (stressing.targets["nut_factor"], stressing.targets["force_transfer_lbf"]["R1"]) == (0.2, 8000)
    assert targets.target_at(stressing.targets, ("R1", 1))["force_jacking_lbf"] == 8600
