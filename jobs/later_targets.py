"""What is said against a measurement made after the first stressing: lift-off, re-stressing."""

from __future__ import annotations

from typing import Any

from jobs.rod_forces import LIFT_OFF_TOLERANCE, TORQUE_TOLERANCE
from jobs.targets import ReadingVerdict, against, judge_crown
from jobs.words import say


def lift_off_findings(targets: dict[str, Any], force_lbf: float, expected_lbf: float | None) -> list[str]:
    """What a lift-off says against the force the result expects just after stressing."""
    if expected_lbf is None:
        return [say("The result has no force to compare the lift-off with. Ask the engineer.")]
    ask = say("Write down what the plates and nuts look like, and ask the engineer.")
    return against(
        say("Lift-off"), force_lbf, expected_lbf, LIFT_OFF_TOLERANCE, "force", targets["units"], low=ask, high=ask
    )


def brought_back_findings(targets: dict[str, Any], rod: str, value: float) -> list[str]:
    """One rod at a re-stressing: torque within the wrench's tolerance, or force within that of a lift-off."""
    aim, units = targets["rods"][rod], targets["units"]
    low, high = say("Bring it up to the target."), say("Slacken and bring it up to the target again.")
    if targets["method"] == "torque":
        return against(
            say("Rod {rod}: torque", rod=rod),
            value,
            aim["torque_lbf_ft"],
            TORQUE_TOLERANCE,
            "torque",
            units,
            low=low,
            high=high,
        )
    return against(
        say("Rod {rod}: force", rod=rod),
        value,
        aim["force_jacking_lbf"],
        LIFT_OFF_TOLERANCE,
        "force",
        units,
        low=low,
        high=high,
    )


def crown_findings(targets: dict[str, Any], crown_in: float | None) -> list[str]:
    """Only whether the crown or sag is over its limit: what it is to be at a later age no target says."""
    if crown_in is None or abs(crown_in) <= targets["crown"]["limit_in"]:
        return []
    verdict = ReadingVerdict()
    judge_crown(verdict, targets["crown"], crown_in, targets["units"], all_tight=False)
    return verdict.findings
