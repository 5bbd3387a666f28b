"""A piece twice as large, the same piece in other units, and more force: what must follow whatever the numbers are."""

import copy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.checks import Reading
from engineering.core.contract import parse
from engineering.core.load_to_failure import load_test
from engineering.core.pipeline import run_checks
from tests.core.checks.variety import in_other_units
from tests.core.pieces import document, rod

FEW = settings(max_examples=8, deadline=None, derandomize=True)
STEEL = {"name": "made up", "yield": 105000, "ultimate": 125000, "area": 0.14}


def sized(scale: float, **changes: Any) -> dict[str, Any]:
    """Every length times `scale`, areas times its square; weights and wobble per length over it, so that all stresses
    stay: line loads per foot times it, point loads and forces times its square."""
    s = scale
    sleeve = {"outside": 0.75 * s, "friction": 0.15, "wobble": 0.0005 / s}
    rods = [
        rod(
            mark=f"R{k}",
            grade={**STEEL, "area": STEEL["area"] * s**2},
            across=across * s,
            profile=[[2 * s, 1.4 * s], [40 * s, level * s], [94 * s, 1.5 * s]],
            sleeve=sleeve,
            anchor={"width": 3 * s, "height": 2.25 * s, "thickness": 0.5 * s, "hole": 0.5625 * s},
            jacking_force=8000 * s**2,
        )
        for k, (across, level) in enumerate(((6, 1.0), (17, 1.2)))
    ]
    found = document(
        length=96 * s,
        zones=[{"to": 96 * s, "shape": {"type": "solid", "width": 24 * s, "depth": 3 * s}}],
        supports=[{"at": 10 * s, "bearing": 2 * s}, {"at": 60 * s, "bearing": 2 * s}],
        loads=[
            {"case": "live", "type": "area", "value": 50},
            {"case": "dead", "type": "line", "value": 10 * s},
            {"case": "live", "type": "point", "value": 200 * s**2, "at": 90 * s, "alone": True},
        ],
        concrete={"density": 300 / s},
        rods=rods,
        handling={"lift_points": [20 * s, 76 * s], "age": 2, "strength": 2500},
    )
    return {**found, **changes}


POWER = {"in": 1, "lbf": 2, "psi": 0, "lbf·in": 3, "in2": 2, "in3": 3, "in4": 4, "ft3": 3}
LEFT_OUT = ("load_test.", ".length", ".nut_turns", ".torque")  # tail, nut and pitch stay as they are


@pytest.mark.parametrize("scale", [1.3, 2.0])
def test_scaling(scale: float) -> None:
    """Stresses stay; lengths, forces, moments go with their power of the scale."""
    small, large = (run_checks(sized(s))["figures"] for s in (1.0, scale))
    seen = 0
    for name, figure in small.items():
        if figure["value"] is None or figure["unit"] not in POWER or any(part in name for part in LEFT_OUT):
            continue
        seen += 1
        wanted = figure["value"] * scale ** POWER[figure["unit"]]
        assert large[name]["value"] == pytest.approx(wanted, rel=1e-6, abs=1e-7), name
    assert seen > 80


def test_load_to_failure_scales_too() -> None:
    small, large = (run_checks(sized(s))["figures"] for s in (1.0, 2.0))
    for name in ("first_crack", "peak", "shear_bound"):
        wanted = 4 * small[f"load_test.{name}"]["value"]
        assert large[f"load_test.{name}"]["value"] == pytest.approx(wanted, rel=0.003), name


@FEW
@given(
    st.floats(2000, 11000), st.floats(0.8, 1.8), st.floats(10, 250), st.sampled_from(["torque", "elongation", "jack"])
)
def test_us_and_si_give_the_same_verdicts(force: float, level: float, load: float, method: str) -> None:
    rods = [rod(jacking_force=force, profile=[[2, level], [94, level]]), {"mark": "R2", "like": "R1", "across": 18}]
    here = document(rods=rods, stressing={"method": method}, loads=[{"case": "live", "type": "area", "value": load}])
    us, si = run_checks(here), run_checks(in_other_units(copy.deepcopy(here)))
    assert us["verdict"] == si["verdict"]
    for a, b in zip(us["checks"], si["checks"], strict=True):
        assert (a["name"], a["verdict"], a["variant"]) == (b["name"], b["verdict"], b["variant"])
        assert (
            a["ratio"] == pytest.approx(b["ratio"], rel=1e-6, abs=1e-9)
            if a["ratio"] is not None
            else b["ratio"] is None
        )


@FEW
@given(st.floats(0.8, 2.2), st.floats(1000, 6000), st.floats(1.1, 2.0))
def test_more_force_never_lowers_the_first_crack_until_the_top_governs(level: float, force: float, more: float) -> None:
    """In the middle of the span. Where the first crack opens at the bottom, more force holds it together longer; a rod
    so high that it pulls the bottom apart (above the kern) is the one exception, and named."""
    loads = [first_crack(level, f) for f in (force, force * more)]
    if level < 1.5 + 3 / 6:  # inside the kern or below: the bottom is pressed
        assert loads[1] >= loads[0] * (1 - 1e-3)
    else:
        assert loads[1] <= loads[0] * (1 + 1e-3)


def first_crack(level: float, force: float) -> float:
    one = rod(profile=[[2, level], [94, level]], jacking_force=force, anchor={**rod()["anchor"], "height": 1.1})
    piece = parse(document(rods=[one, {"mark": "R2", "like": "R1", "across": 18}]))
    found = load_test(Reading(analyse(Batch.check_run(piece))))
    assert found.first_crack_lbf is not None
    return float(found.first_crack_lbf)
