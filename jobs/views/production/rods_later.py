"""What the pages of lift-off and re-stressing carry so that the tablet can judge an entry that waits on it.

Bands and words only, in the units of the drawing; the book judges every entry again (`jobs.later_targets`).
"""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from engineering.core.contract.units import QUANTITIES
from jobs.models import Stressing
from jobs.rod_forces import LIFT_OFF_TOLERANCE, TORQUE_TOLERANCE
from jobs.views.stressing_plan import words as words_of_readings
from jobs.views.units import shown, unit
from jobs.words import tell

SCRIPT = "jobs/rods-later.js"
TEMPLATE = "jobs/production/rods_later.html"


def lift_off_plan(done: Stressing) -> dict[str, Any]:
    """`fields`: none of its own; which band counts, the rod that is chosen says."""
    forces, units = done.targets.get("force_transfer_lbf", {}), done.targets["units"]
    bands = {rod: _band(forces[rod], "force", LIFT_OFF_TOLERANCE, units) for rod in forces}
    return {"kind": "lift-off", "rods": bands, "crown": None, "words": _words()}


def restressing_plan(done: Stressing) -> dict[str, Any]:
    """`fields`: the form's field of each rod, in the order of the drawing."""
    key, quantity, tolerance = _by(done)
    units, rods = done.targets["units"], done.targets["rods"]
    order = done.targets["order"]
    length = QUANTITIES["length"]
    limit = length.from_us(done.targets["crown"]["limit_in"], units)
    return {
        "kind": "re-stressing",
        "rods": {rod: _band(rods[rod][key], quantity, tolerance, units) for rod in order},
        "fields": {rod: f"rod_{number}" for number, rod in enumerate(order)},
        "crown": {"limit": limit, "unit": unit("length", units)},
        "words": _words(),
    }


def _by(done: Stressing) -> tuple[str, str, float]:
    if done.targets["method"] == "torque":
        return "torque_lbf_ft", "torque", TORQUE_TOLERANCE
    return "force_jacking_lbf", "force", LIFT_OFF_TOLERANCE


def _band(aim_us: float, quantity: str, tolerance: float, units: str) -> dict[str, float]:
    aim = QUANTITIES[quantity].from_us(aim_us, units)
    return {"aim": aim, "off": tolerance * abs(aim)}


def lift_off_aims(done: Stressing) -> list[dict[str, str]]:
    """Rod by rod the force just after stressing, and the band about it."""
    forces, units = done.targets.get("force_transfer_lbf", {}), done.targets["units"]
    known = [rod for rod in done.targets["order"] if rod in forces]
    return [_aim(rod, forces[rod], "force", LIFT_OFF_TOLERANCE, units) for rod in known]


def restressing_aims(done: Stressing) -> list[dict[str, str]]:
    """Rod by rod the torque or force it is brought back to, and the band about it."""
    key, quantity, tolerance = _by(done)
    rods, units = done.targets["rods"], done.targets["units"]
    return [_aim(rod, rods[rod][key], quantity, tolerance, units) for rod in done.targets["order"]]


def _aim(rod: str, aim: float, quantity: str, tolerance: float, units: str) -> dict[str, str]:
    low, high = (shown((1 + sign * tolerance) * aim, quantity, units) for sign in (-1, 1))
    return {
        "label": tell("Rod {rod}", rod=rod),
        "unit": unit(quantity, units),
        "value": shown(aim, quantity, units),
        "note": tell("{low} to {high}", low=low, high=high),
    }


def _words() -> dict[str, str]:
    shared = ("in", "over", "under", "inTolerance", "outOfTolerance", "onTablet", "crownStop")
    known = words_of_readings()
    return {name: known[name] for name in shared} | {
        "rod": _("Rod {rod}"),
        "rodOver": _("Rod {rod} over: slacken and bring it up to the target again."),
        "rodUnder": _("Rod {rod} under: bring it up to the target."),
        "liftOut": _(
            "Rod {rod} lifted off out of tolerance. Write down what the plates and nuts look like, and ask the "
            "engineer."
        ),
        "liftUnknown": _("The result has no force to compare the lift-off of rod {rod} with. Ask the engineer."),
        "again": _("Re-stressing at {age}"),
        "allAges": _("Every age that the drawing names is written down here. The book gets it when it can be reached."),
    }
