"""Rods above the middle push a piece down: its crown is negative, and more force makes it smaller, not greater."""

from jobs import targets

TARGETS = {
    "units": "us",
    "method": "elongation",
    "steps": [1.0],
    "order": ["R1"],
    "rods": {"R1": {"torque_lbf_ft": 80.0, "elongation_in": 0.25, "nut_turns": 3.0, "force_jacking_lbf": 8600.0}},
    "crown": {"transfer_in": -0.0196, "low_in": -0.0184, "high_in": -0.0209, "limit_in": 0.4},
}


def findings(crown_in: float) -> list[str]:
    return targets.judge(
        TARGETS, ("R1", 0), targets.Measured(elongation_in=0.25, crown_in=crown_in), all_tight=True
    ).findings


def test_a_crown_on_its_target_is_in_tolerance() -> None:
    assert findings(-0.0196) == []


def test_a_crown_outside_its_band_is_out_on_either_side() -> None:
    assert "should be from -0.0209 in to -0.0184 in" in findings(-0.03)[0]
    assert "should be from -0.0209 in to -0.0184 in" in findings(-0.01)[0]
