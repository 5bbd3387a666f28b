"""What the stressing page shows of a round under way: its crown drawn, the last verdict, the force by both measures."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from engineering.core.contract.units import QUANTITIES
from engineering.queries import described_piece
from jobs import rod_forces, targets
from jobs.crown_drawing import Crown, drawing, factor
from jobs.models import Stressing, StressingReading
from jobs.views.units import shown, unit
from jobs.words import tell

ORDER_OF_TARGETS = {"torque": ("torque", "stretch"), "elongation": ("stretch", "torque"), "jack": ("force", "stretch")}
Read = dict[tuple[str, int], StressingReading]


def crown_picture(now: Stressing, read: Read) -> dict[str, Any]:
    """The crown as predicted for the end and for the rods as far as they are read, and as measured last."""
    kept, units = now.targets, now.targets["units"]
    drawn = described_piece(now.revision.specification)
    shares = [max((kept["steps"][step] for at, step in read if at == rod), default=0.0) for rod in kept["order"]]
    measured = [row for row in read.values() if row.crown_in is not None]
    newest = max(measured, key=lambda row: (row.recorded_at, row.pk), default=None)
    crown = Crown(
        length_in=drawn.length_in,
        supports_in=tuple(support.at_in for support in drawn.supports),
        predicted_in=kept["crown"]["transfer_in"],
        predicted_now_in=kept["crown"]["transfer_in"] * sum(shares) / max(len(shares), 1),
        limit_in=kept["crown"]["limit_in"],
        measured_in=newest.crown_in if newest else None,
    )
    length = unit("length", units)
    told = _("Measured {measured}, predicted {predicted} {unit} when all are tight.").format(
        measured=f"{shown(crown.measured_in, 'length', units)}",
        predicted=shown(crown.predicted_in, "length", units),
        unit=length,
    )
    about = _(
        "Heights drawn {factor} times too large. Between the supports the line is a plain parabola; the dotted line is "
        "about what the rods read so far should give."
    ).format(factor=factor(crown))
    one_unit_in = QUANTITIES["length"].to_us(1.0, units)
    return {"svg": drawing(crown, caption=f"{told} {about}", unit_in=one_unit_in), "told": told, "about": about}


def findings_of(now: Stressing, read: Read, last: StressingReading | None) -> list[str]:
    """Of the last reading, judged again to be said in the person's language; the kept words where they differ."""
    if last is None:
        return []
    measured = targets.Measured(last.torque_lbf_ft, last.elongation_in, last.crown_in, last.lift_off_lbf)
    tight = targets.next_turn(now.targets, read) is None
    again = targets.judge(now.targets, (last.rod, last.step), measured, all_tight=tight).findings
    return again if [str(words) for words in again] == last.findings else last.findings


def forces_words(now: Stressing, last: StressingReading | None) -> str:
    """What stretch and torque of the last reading each say about the force, side by side."""
    if last is None:
        return ""
    target = targets.target_at(now.targets, (last.rod, last.step))
    nut_factor = now.targets.get("nut_factor")
    found = rod_forces.forces(target, nut_factor, last.torque_lbf_ft, last.elongation_in)
    if found is None:
        return ""
    units = now.targets["units"]
    force = unit("force", units)
    told = _("Force by stretch {stretch}, by torque {torque}.").format(
        stretch=f"{shown(found.by_stretch_lbf, 'force', units)} {force}",
        torque=f"{shown(found.by_torque_lbf, 'force', units)} {force}",
    )
    if not found.nut_factor:
        return told
    return f"{told} " + _("Nut factor about {found}, drawing {drawn}.").format(
        found=f"{found.nut_factor:.2f}", drawn=nut_factor
    )


@dataclass
class Turn:
    """What the crew sees of one rod at one step."""

    rod: str
    step: int
    share: float
    shown: list[dict[str, Any]] = field(default_factory=list)


def turn_of(now: Stressing, turn: tuple[str, int]) -> Turn:
    """Torque, stretch or force to reach, the one the method goes by first."""
    kept, units = now.targets, now.targets["units"]
    wanted = targets.target_at(kept, turn)
    low, high = (
        (1 - rod_forces.STRETCH_TOLERANCE) * wanted["elongation_in"],
        (1 + rod_forces.STRETCH_TOLERANCE) * wanted["elongation_in"],
    )
    blocks = {
        "torque": {
            "label": tell("Torque"),
            "value": shown(wanted["torque_lbf_ft"], "torque", units),
            "unit": unit("torque", units),
            "note": tell("± 4 %, the wrench's own"),
        },
        "stretch": {
            "label": tell("Stretch"),
            "value": shown(wanted["elongation_in"], "length", units),
            "unit": unit("length", units),
            "note": tell("{low} to {high}", low=shown(low, "length", units), high=shown(high, "length", units)),
        },
        "force": {
            "label": tell("Jack force"),
            "value": shown(wanted["force_jacking_lbf"], "force", units, 4),
            "unit": unit("force", units),
            "note": "",
        },
        "turns": {
            "label": tell("Turns of the nut"),
            "value": shown(wanted["nut_turns"], "number", units),
            "unit": "",
            "note": tell("from snug, both ends together"),
        },
    }
    first = ORDER_OF_TARGETS.get(kept["method"], ("torque", "stretch"))
    return Turn(turn[0], turn[1], kept["steps"][turn[1]], [blocks[name] for name in (*first, "turns")])


def crown_shown(kept: dict[str, Any]) -> dict[str, str]:
    crown, units = kept["crown"], kept["units"]
    return {name: shown(crown[f"{name}_in"], "length", units) for name in ("transfer", "low", "high", "limit")} | {
        "unit": unit("length", units)
    }


def ladder(now: Stressing, read: Read, turn: Turn | None) -> list[dict[str, Any]]:
    """Every rod with its steps: not yet, in, out, or the one in hand."""
    rows = []
    for rod in now.targets["order"]:
        steps = []
        for step, share in enumerate(now.targets["steps"]):
            reading = read.get((rod, step))
            state = "" if reading is None else "done" if reading.within_tolerance else "out"
            steps.append(
                {
                    "share": share,
                    "state": state,
                    "now": bool(turn and (turn.rod, turn.step) == (rod, step)),
                    "again": f"{rod}:{step}",
                }
            )
        rows.append({"rod": rod, "steps": steps})
    return rows
