"""The worker with the engine itself: a result lands whole, and stressing finds in it every target it needs."""

import pytest

import engineering.actions
from engineering.core.contract import canonical_hash, parse
from engineering.core.version import ENGINE_VERSION
from engineering.models import JobStatus, Verdict
from engineering.tasks import perform_check_run
from jobs.targets import Measured, judge, target_at, targets_from, turns
from tests.factories import document, without_rods

pytestmark = pytest.mark.django_db


def si(given: dict) -> dict:
    """The same piece with every length and stress as a string, in a document whose own units are SI."""
    text = {
        **given,
        "units": "si",
        "length": "108 in",
        "zones": [{"to": "108 in", "shape": {"type": "solid", "width": "25 in", "depth": "3 in"}}],
        "supports": [{"at": f"{at} in", "bearing": "2 in"} for at in (4, 104)],
        "loads": [{"label": "use", "case": "live", "type": "area", "value": "40 psf"}],
        "handling": {"lift_points": ["22 in", "86 in"], "age": 2, "strength": "2500 psi"},
    }
    stresses = (
        "strength",
        "strength_at_stressing",
        "modulus",
        "modulus_at_stressing",
        "flexural_yield",
        "flexural_ultimate",
    )
    concrete = dict(given["concrete"]) | {key: f"{given['concrete'][key]} psi" for key in stresses}
    text["concrete"] = concrete | {"density": "130 pcf"}
    first = given["rods"][0] | {
        "across": "6 in",
        "profile": [["3 in", "1.25 in"], ["105 in", "1.25 in"]],
        "sleeve": {"outside": "0.75 in", "friction": 0.15, "wobble": "0.0005 1/ft"},
        "anchor": {"width": "3.5 in", "height": "1.75 in", "thickness": "0.625 in", "hole": "0.5625 in"},
        "pocket": {"width": "3.75 in", "height": "2 in"},
        "jacking_force": "8600 lbf",
    }
    text["rods"] = [first, {"mark": "R2", "like": "R1", "across": "19 in"}]
    return text


def checked(given: dict):
    run = engineering.actions.accept(given).check_runs.get()
    perform_check_run(run.pk)
    run.refresh_from_db()
    assert run.status == JobStatus.DONE, run.problem
    return run


def test_a_result_lands_whole():
    run = checked(document())
    assert run.verdict in Verdict.values
    assert (run.result["verdict"], run.result["engine"]) == (run.verdict, ENGINE_VERSION)
    assert run.result["specification"] == run.specification.sha256 == canonical_hash(document())
    assert run.is_current


def test_stressing_finds_its_targets_and_a_reading_on_them_is_in_tolerance():
    run = checked(document())
    targets = targets_from(run, parse(document()))
    assert set(targets["rods"]) == {"R1", "R2"}
    for turn in turns(targets):
        aim = target_at(targets, turn)
        read = Measured(aim["torque_lbf_ft"], aim["elongation_in"], targets["crown"]["transfer_in"])
        assert judge(targets, turn, read, all_tight=turn == turns(targets)[-1]).findings == []
    assert targets["crown"]["low_in"] < targets["crown"]["transfer_in"] < targets["crown"]["high_in"]
    assert targets["crown"]["limit_in"] > targets["crown"]["high_in"]


def test_the_same_piece_in_si_gives_the_same_targets():
    us = targets_from(checked(document()), parse(document()))
    got = targets_from(checked(si(document())), parse(si(document())))
    assert got["units"] == "si"
    for mark, aims in us["rods"].items():
        assert got["rods"][mark] == pytest.approx(aims, rel=1e-9)
    assert got["crown"] == pytest.approx(us["crown"], rel=1e-9)


def test_torque_is_k_d_f():
    """T = K·D·F: 0.20 × 0.5 in × 8600 lbf / 12 = 71.667 lbf·ft."""
    targets = targets_from(checked(document()), parse(document()))
    assert targets["rods"]["R1"]["torque_lbf_ft"] == pytest.approx(0.20 * 0.5 * 8600 / 12, rel=1e-9)


def test_a_piece_without_rods_is_checked_too():
    assert checked(without_rods()).verdict in Verdict.values
