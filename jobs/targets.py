"""What each rod is to show while it is tightened, and what a reading says against it.

The targets are read from the stored result document and kept with the stressing as they stood when it began. Nothing is
calculated here but step × target and how far a reading is from it. All in US units.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.core.contract.units import QUANTITIES, format_quantity
from engineering.models import CheckRun
from jobs.errors import ShopError
from jobs.models import Stressing
from jobs.rod_forces import LIFT_OFF_TOLERANCE, STRETCH_TOLERANCE, TORQUE_TOLERANCE, disagreement
from jobs.words import say

CROWN_CHECK = "crown at stressing"
ROD_FIGURES = {"torque": "torque", "elongation": "length", "nut_turns": "number", "force_jacking": "force"}
ROD_KEYS = {
    "torque": "torque_lbf_ft",
    "elongation": "elongation_in",
    "nut_turns": "nut_turns",
    "force_jacking": "force_jacking_lbf",
}
CROWN_FIGURES = {"crown.transfer": "transfer_in", "crown.transfer_low": "low_in", "crown.transfer_high": "high_in"}


class ResultIncomplete(ShopError):
    code, http_status = "result-incomplete", 409


def targets_from(run: CheckRun, described: DescribedPiece) -> dict[str, Any]:
    """The stressing targets of a finished run, as kept in `Stressing.targets`. ResultIncomplete where one is not
    there.
    """
    if run.result is None or described.stressing is None:
        raise ResultIncomplete("There is no result to take the stressing targets from. Run the checks again.")
    stressing, units = described.stressing, described.units
    return {
        "engine": run.engine_version,
        "units": units,
        "method": stressing.method,
        "scatter": stressing.scatter,
        "nut_factor": stressing.nut_factor,
        "steps": list(stressing.steps),
        "order": list(stressing.order),
        "rods": {
            mark: {
                ROD_KEYS[name]: _figure(run.result, f"rod.{mark}.{name}", quantity, units)
                for name, quantity in ROD_FIGURES.items()
            }
            for mark in stressing.order
        },
        "force_transfer_lbf": {
            mark: QUANTITIES["force"].to_us(figure["value"], units)
            for mark in stressing.order
            if (figure := run.result["figures"].get(f"rod.{mark}.force_transfer")) and figure["value"] is not None
        },
        "crown": {key: _figure(run.result, name, "length", units) for name, key in CROWN_FIGURES.items()}
        | {"limit_in": _crown_limit_in(run.result, units)},
    }


def _figure(result: dict[str, Any], name: str, quantity: str, units: str) -> float:
    figure = result["figures"].get(name, {"value": None, "why": "it is not in the result"})
    if not isinstance(figure["value"], int | float):
        raise ResultIncomplete(f"The result has no {name}: {figure['why']}. Stressing needs it; ask the engineer.")
    return QUANTITIES[quantity].to_us(figure["value"], units)


def _crown_limit_in(result: dict[str, Any], units: str) -> float:
    """L over `criteria.crown`, as the check of the crown at stressing has it for its capacity."""
    for check in result["checks"]:
        if check["name"] == CROWN_CHECK and check["capacity"] is not None:
            return QUANTITIES["length"].to_us(check["capacity"], units)
    raise ResultIncomplete("The result has no limit for the crown at stressing. Stressing needs it; ask the engineer.")


# ---- what comes next -------------------------------------------------------------------------------------------------


Turn = tuple[str, int]  # rod, 0-based step


def turns(targets: dict[str, Any]) -> list[Turn]:
    """Every turn of the job in its order: at each step every rod, in the order of the specification."""
    return [(rod, step) for step in range(len(targets["steps"])) for rod in targets["order"]]


def next_turn(targets: dict[str, Any], read: Iterable[Turn]) -> Turn | None:
    """The first turn nothing is read of; None when every rod was at its last step."""
    done = set(read)
    return next((turn for turn in turns(targets) if turn not in done), None)


def target_at(targets: dict[str, Any], turn: Turn) -> dict[str, float]:
    """Torque, stretch and nut turns a rod is to show at a step: step × target."""
    rod, step = turn
    return {name: targets["steps"][step] * value for name, value in targets["rods"][rod].items()}


def rods_out(stressing: Stressing) -> list[str]:
    """The rods whose newest reading at the last step is missing or out of tolerance, in words."""
    readings = stressing.newest_readings
    last = len(stressing.targets["steps"]) - 1
    words: list[str] = []
    for rod in stressing.targets["order"]:
        reading = readings.get((rod, last))
        if reading is None:
            words.append(say("Rod {rod} is not at its last step.", rod=rod))
        elif not reading.within_tolerance:
            words.append(
                say(
                    "Rod {rod} is out of tolerance at its last step: {findings}",
                    rod=rod,
                    findings=" ".join(reading.findings),
                )
            )
    return words


# ---- the verdict on one reading --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Measured:
    """What was read after one turn. None: not read."""

    torque_lbf_ft: float | None = None
    elongation_in: float | None = None
    crown_in: float | None = None
    lift_off_lbf: float | None = None


@dataclass
class ReadingVerdict:
    findings: list[str] = field(default_factory=list)
    stop: bool = False  # over the crown's limit: no further turn before somebody has looked

    @property
    def within_tolerance(self) -> bool:
        return not self.findings


def judge(targets: dict[str, Any], turn: Turn, measured: Measured, *, all_tight: bool) -> ReadingVerdict:
    """What the reading says against its targets, and what to do. `all_tight`: with it every rod is at its last step."""
    verdict, target, units = ReadingVerdict(), target_at(targets, turn), targets["units"]
    if measured.lift_off_lbf is not None:
        verdict.findings += against(
            say("Lift-off"),
            measured.lift_off_lbf,
            target["force_jacking_lbf"],
            LIFT_OFF_TOLERANCE,
            "force",
            units,
            low=say("Tighten further in small turns and lift off again."),
            high=say("Slacken, and bring it up to the target again."),
        )
    if measured.elongation_in is None and measured.lift_off_lbf is not None:
        pass  # what a jack lifts is the force itself
    elif measured.elongation_in is None:
        verdict.findings.append(say("The stretch was not measured. Measure it: torque alone says little about force."))
    else:
        verdict.findings += against(
            say("Stretch"),
            measured.elongation_in,
            target["elongation_in"],
            STRETCH_TOLERANCE,
            "length",
            units,
            low=say("Look for a slipping nut or a plate that beds in, then tighten further in small turns."),
            high=say("Stop, slacken, and look for a yielding rod or a plate that crushes its bed."),
        )
    if targets["method"] == "torque":
        if measured.torque_lbf_ft is None:
            verdict.findings.append(say("The torque was not read. Read it from the wrench."))
        else:
            verdict.findings += against(
                say("Torque"),
                measured.torque_lbf_ft,
                target["torque_lbf_ft"],
                TORQUE_TOLERANCE,
                "torque",
                units,
                low=say("Bring it up to the target."),
                high=say("Slacken and bring it up to the target again."),
            )
    verdict.findings += disagreement(
        target, targets.get("nut_factor"), units, measured.torque_lbf_ft, measured.elongation_in
    )
    judge_crown(verdict, targets["crown"], measured.crown_in, units, all_tight=all_tight)
    return verdict


def judge_crown(
    verdict: ReadingVerdict, crown: dict[str, float], measured_in: float | None, units: str, *, all_tight: bool
) -> None:
    if measured_in is None:
        if all_tight:
            verdict.findings.append(
                say("The crown was not measured. Measure it now that every rod is at its last step.")
            )
        return
    is_at = format_quantity(measured_in, "length", units, 3)
    if abs(measured_in) > crown["limit_in"]:
        verdict.stop = True
        verdict.findings.append(
            say(
                "STOP. The {crown} is {is_at}, over its limit of {limit}. Stand clear of the rods' line, slacken, "
                "and ask the engineer.",
                crown=say("crown") if measured_in > 0 else say("sag"),
                is_at=is_at,
                limit=format_quantity(crown["limit_in"], "length", units, 3),
            )
        )
        return
    least, most = sorted(
        (crown["low_in"], crown["high_in"])
    )  # rods above the middle push a piece down: more force, less crown
    if all_tight and not least <= measured_in <= most:
        verdict.findings.append(
            say(
                "The crown is {is_at}; it should be from {least} to {most}. Do not tighten further; ask the engineer.",
                is_at=is_at,
                least=format_quantity(least, "length", units, 3),
                most=format_quantity(most, "length", units, 3),
            )
        )


def against(
    what: str, measured: float, target: float, tolerance: float, quantity: str, units: str, *, low: str, high: str
) -> list[str]:
    """One finding where a reading is further from its target than the tolerance, else none."""
    off = measured - target
    if abs(off) <= tolerance * abs(target) * (1 + 1e-9):
        return []
    where = say(
        "{what} {measured}, target {target}",
        what=what,
        measured=format_quantity(measured, quantity, units, 3),
        target=format_quantity(target, quantity, units, 3),
    )
    return [
        say(
            "{where}: {off} {over}, {most} % allowed. {then}",
            where=where,
            off=_by_how_much(off, target),
            over=say("over") if off > 0 else say("under"),
            most=f"{100 * tolerance:.0f}",
            then=high if off > 0 else low,
        )
    ]


def _by_how_much(off: float, target: float) -> str:
    return f"{100 * abs(off / target):.0f} %" if target else "all of it"
