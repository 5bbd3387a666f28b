"""The plan against `run_checks` with its ages as `restress`, and against the force curve of the result document."""

from typing import Any

import numpy as np
import pytest

from engineering.core.pipeline import run_checks
from engineering.core.retightening import SERVICE_CHECKS, plan_of, with_restress
from engineering.core.retightening_report import report
from tests.core.pieces import document

GRAVITY = ("not applicable", "pass", "caution", "review", "fail")


def soft(**changes: Any) -> dict[str, Any]:
    """A rod of low strength at a low stress: most of its force goes with shrinkage."""
    found = document(**changes)
    found["rods"][0].update(grade="F1554-36", jacking_force=3500)
    return found


def service(result: dict[str, Any]) -> dict[str, int]:
    return {
        check["name"]: max(GRAVITY.index(check["verdict"]), GRAVITY.index("caution"))
        for check in result["checks"]
        if check["name"].startswith(SERVICE_CHECKS)
    }


def course(result: dict[str, Any]) -> tuple[np.ndarray, np.ndarray]:
    curves = [result["series"][f"rod.R{k}.force_in_time"] for k in (1, 2)]
    return np.array(curves[0]["x"]), np.sum([curve["y"] for curve in curves], axis=0)


def test_with_the_plan_the_service_checks_hold_and_without_it_one_is_worse() -> None:
    given = soft()
    plan = plan_of(given)
    assert plan.holds
    assert plan.visits
    whole = document(concrete={"shrinkage": 0.0, "creep": 0.0})
    whole["rods"] = given["rods"]
    full = service(run_checks(whole))
    with_plan = service(run_checks(with_restress(given, [visit.age_days for visit in plan.visits])))
    without = service(run_checks(given))
    assert all(with_plan[name] <= full[name] for name in full)
    assert any(without[name] > full[name] for name in full)


def test_the_force_stays_over_the_need_and_every_visit_is_told_as_the_engine_has_it() -> None:
    given = soft()
    plan = plan_of(given)
    result = run_checks(with_restress(given, [visit.age_days for visit in plan.visits]))
    ages, force = course(result)
    assert np.all(force[ages > 28] >= plan.need.nominal_lbf * 0.999)
    for visit in plan.visits:
        at = np.flatnonzero(np.isclose(ages, visit.age_days))
        assert force[at[0]] == pytest.approx(visit.before_lbf, rel=1e-6)
        assert force[at[-1]] == pytest.approx(visit.after_lbf, rel=1e-6)
    figures = result["figures"]
    left = figures["rod.R1.force_final"]["value"] + figures["rod.R2.force_final"]["value"]
    assert left == pytest.approx(plan.left_lbf, rel=1e-6)


def test_each_visit_is_needed() -> None:
    given = soft()
    plan = plan_of(given)
    ages = [visit.age_days for visit in plan.visits]
    for leave_out in range(len(ages)):
        fewer = [age for k, age in enumerate(ages) if k != leave_out]
        ages_seen, force = course(run_checks(with_restress(given, fewer)))
        assert np.any(force[ages_seen > 28] < plan.need.nominal_lbf)


def test_a_strong_rod_needs_no_visit() -> None:
    plan = plan_of(document())
    assert plan.visits == ()
    assert plan.falls_days is None
    assert report(document())["better"] == "none"


def test_a_load_no_force_can_hold_is_said() -> None:
    given = soft(loads=[{"label": "use", "case": "live", "type": "area", "value": 260}])
    answer = report(given)
    assert answer["need"]["reachable"] is False
    assert answer["visits"] == []
    assert answer["better"] in ("stronger", "neither")
    assert "does not help" in answer["words"]


def test_a_stronger_rod_is_offered_and_holds_by_itself() -> None:
    answer = report(soft())
    assert answer["better"] == "stronger"
    best = answer["stronger"][0]
    assert best["thread"] in answer["words"]
    assert best["verdict"] in ("pass", "review")
    assert best["left"] < best["force"]


def test_no_rods_no_plan() -> None:
    with pytest.raises(ValueError, match="nothing to tighten"):
        plan_of(document(rods=[], stressing=None))
