"""What the tablet needs to go on with a round by itself: every turn with its words and bands, in the drawing's units.

Numbers and words only; which reading counts as what is judged by `jobs.targets` when it reaches the book. The page's
script compares what is typed with these bands at once, and shows the next turn while the book is out of reach.
"""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from engineering.core.contract.units import QUANTITIES
from jobs import rod_forces, targets
from jobs.models import Stressing
from jobs.views.units import shown, unit

FIELDS = (
    ("torque_lbf_ft", "torque_lbf_ft", "torque", rod_forces.TORQUE_TOLERANCE),
    ("elongation_in", "elongation_in", "length", rod_forces.STRETCH_TOLERANCE),
    ("lift_off_lbf", "force_jacking_lbf", "force", rod_forces.LIFT_OFF_TOLERANCE),
)


def plan(now: Stressing, blocks: Any) -> dict[str, Any]:
    """`blocks(turn)`: the targets of a turn as the page shows them (`jobs.views.stressing.turn_of`)."""
    kept, units = now.targets, now.targets["units"]
    every = targets.turns(kept)
    length = QUANTITIES["length"]
    return {
        "turns": [_turn(now, turn, blocks(turn), last=turn == every[-1]) for turn in every],
        "crown": {name: length.from_us(kept["crown"][f"{name}_in"], units) for name in ("low", "high", "limit")},
        "crownUnit": unit("length", units),
        "byTorque": kept["method"] == "torque",
        "apart": rod_forces.APART,
        "words": words(),
    }


def _turn(now: Stressing, turn: tuple[str, int], drawn: Any, *, last: bool) -> dict[str, Any]:
    kept, units = now.targets, now.targets["units"]
    wanted = targets.target_at(kept, turn)
    rod, step = turn
    bands = {}
    for field, key, quantity, tolerance in FIELDS:
        aim = QUANTITIES[quantity].from_us(wanted[key], units)
        bands[field] = {"aim": aim, "off": tolerance * abs(aim), "shown": shown(wanted[key], quantity, units)}
    return {
        "rod": rod,
        "step": step,
        "title": title(drawn),
        "under": under(drawn, len(kept["steps"])),
        "button": button(drawn),
        "shown": [[block["value"], block["note"]] for block in drawn.shown],
        "bands": bands,
        "coarse": rod_forces.gauge_too_coarse(kept, rod, now.gauge_resolution_in),
        "finest": QUANTITIES["length"].from_us(rod_forces.finest_gauge_in(kept, rod), units),
        "last": last,
        "final": step == len(kept["steps"]) - 1,
    }


def title(turn: Any) -> str:
    return _("rod {rod}, to {share} %").format(rod=turn.rod, share=f"{100 * turn.share:.0f}")


def under(turn: Any, steps: int) -> str:
    return _("Step {step} of {steps}").format(step=turn.step + 1, steps=steps)


def button(turn: Any) -> str:
    return _("Write down rod {rod}, step {step}").format(rod=turn.rod, step=turn.step + 1)


def words() -> dict[str, str]:
    """What the script says of a reading before the book has it."""
    return {
        "in": _("in"),
        "over": _("over, at most {most}"),
        "under": _("under, at least {least}"),
        "again": _("Again: {title}"),
        "inTolerance": _("IN tolerance"),
        "outOfTolerance": _("OUT of tolerance"),
        "onTablet": _("on this tablet; the book has the last word"),
        "goOn": _("Leave it as it is and go on to the next rod"),
        "coarse": _(
            "The gauge is too coarse for rod {rod}, which needs {finest} or finer. Take a finer gauge, or lift the nut "
            "off with a jack and write down that force."
        ),
        "begun": _("Begun on this tablet. The book gets it, and every reading after it, when it can be reached."),
        "allRead": _("Every rod is read on this tablet, in tolerance at its last step."),
        "finished": _("Finished on this tablet. The book gets it, after every reading, and looks at it again."),
        "stopped": _("Stopped on this tablet. A new round begins when the book has it."),
        "torque_lbf_ft_over": _("Torque over: slacken and bring it up to the target again."),
        "torque_lbf_ft_under": _("Torque under: bring it up to the target."),
        "elongation_in_over": _(
            "Stretch over: stop, slacken, look for a yielding rod or a plate that crushes its bed."
        ),
        "elongation_in_under": _(
            "Stretch under: look for a slipping nut or a plate that beds in, then tighten further in small turns."
        ),
        "lift_off_lbf_over": _("Lift-off over: slacken, and bring it up to the target again."),
        "lift_off_lbf_under": _("Lift-off under: tighten further in small turns and lift off again."),
        "noStretch": _("The stretch was not measured. Measure it: torque alone says little about force."),
        "noTorque": _("The torque was not read. Read it from the wrench."),
        "noCrown": _("The crown was not measured. Measure it now that every rod is at its last step."),
        "disagree": _(
            "Torque and stretch do not agree. Believe the stretch, tighten no further, and ask the engineer."
        ),
        "crownOut": _("The crown is outside {low} to {high}. Do not tighten further; ask the engineer."),
        "crownStop": _("STOP. Over the limit of {limit}. Stand clear, slacken, ask the engineer."),
        "forces": _("Force by stretch {stretch} %, by torque {torque} % of what this step asks for."),
    }
