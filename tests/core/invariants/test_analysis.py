"""What must hold for any piece: equilibrium of every load pattern, mirrors, superposition, places that are equal."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.contract import parse
from engineering.core.grid import deflection_matrix
from engineering.core.loads import Patch, apart, live_plan, patch_effects
from engineering.core.pipeline import run_checks
from engineering.core.statics import build_frame, effects_on
from tests.core.pieces import analysed, document, rod

FEW = settings(max_examples=12, deadline=None)


@st.composite
def supports(draw: Any) -> list[dict[str, Any]]:
    """Two to five supports at least 12 in apart, on a piece of 96 in."""
    count = draw(st.integers(2, 5))
    gaps = draw(st.lists(st.floats(12.0, 40.0), min_size=count, max_size=count))
    at = np.cumsum(gaps)
    at = 2.0 + (at - at[0]) * 92.0 / max(at[-1] - at[0], 1.0) * draw(st.floats(0.6, 1.0))
    return [{"at": float(x)} for x in at]


@st.composite
def loads(draw: Any) -> list[dict[str, Any]]:
    found = []
    for number in range(draw(st.integers(0, 4))):
        kind = draw(st.sampled_from(["area", "line", "point"]))
        start = draw(st.floats(0, 60))
        place = (
            {"at": draw(st.floats(0, 96))} if kind == "point" else {"from": start, "to": start + draw(st.floats(5, 36))}
        )
        found.append(
            {
                "label": f"l{number}",
                "case": draw(st.sampled_from(["dead", "live"])),
                "type": kind,
                "value": draw(st.floats(-60, 120).filter(lambda v: abs(v) > 1)),
                **place,
            }
        )
    for load in found:
        if load["case"] == "live":
            load["alone"] = draw(st.booleans())
    return found


def moment_of_loads(load: dict[str, Any]) -> tuple[float, float]:
    """A load's whole force [lbf] and its moment about x = 0 [lbf·in], by hand, on the 24 in wide strip."""
    if load["type"] == "point":
        return load["value"], load["value"] * load["at"]
    force = load["value"] * (24 / 144 if load["type"] == "area" else 1 / 12) * (load["to"] - load["from"])
    return force, force * (load["from"] + load["to"]) / 2


@FEW
@given(supports(), loads())
def test_reactions_balance_the_dead_loads(posts: list[dict[str, Any]], what: list[dict[str, Any]]) -> None:
    found = analysed(supports=posts, loads=what, rods=None, stressing=None)
    dead = [moment_of_loads(load) for load in what if load["case"] == "dead"]
    force = found.weight_lbf[0] + sum(f for f, _ in dead)
    turn = found.weight_lbf[0] * 48 + sum(m for _, m in dead)
    at = np.array([post["at"] for post in posts])
    assert found.loading.dead_reaction[0].sum() == pytest.approx(force, rel=1e-9, abs=1e-6)
    assert found.loading.dead_reaction[0] @ at == pytest.approx(turn, rel=1e-9, abs=1e-4)


@FEW
@given(supports(), loads())
@example([{"at": 2.0}, {"at": 94.0}], [{"label": "tip", "case": "live", "type": "point", "value": 2.0, "at": 96.0}])
def test_every_live_pattern_is_in_equilibrium(posts: list[dict[str, Any]], what: list[dict[str, Any]]) -> None:
    """Each part of a live load that can be on or off by itself: reactions carry its force and its moment about the left
    end, nothing is left at the right end but what hangs or stands there; so does every sum of parts. The parts together
    are the load."""
    found = analysed(supports=posts, loads=what, rods=None, stressing=None)
    described, grid = found.batch.piece, found.grid
    frame = build_frame(found.batch, grid, found.net.free_inertia_in4)
    plan, at = live_plan(described, grid), frame.supports_in
    moment, shear, reaction = apart(effects_on(frame, patch_effects(grid, at, plan.rows))[0], len(grid.x_in))
    parts = [[_force_of(patch) for patch in row] for row in plan.rows]
    for row, patches in enumerate(parts):
        force, turn = (sum(one[k] for one in patches) for k in (0, 1))
        size = 1.0 + sum(abs(one[0]) for one in patches)
        assert reaction[row].sum() == pytest.approx(force, abs=1e-8 * size)
        assert reaction[row] @ at == pytest.approx(turn, abs=1e-6 * size)
        assert moment[row, -1] == pytest.approx(0.0, abs=1e-6 * size * 96)
        end = grid.x_in[-1] - 1e-9
        tip = sum(patch.value for patch in plan.rows[row] if end <= patch.start_in == patch.end_in)
        assert shear[row, -1] == pytest.approx(tip - reaction[row, at >= end].sum(), abs=1e-6 * size)
    live = [moment_of_loads(load) for load in what if load["case"] == "live"]
    whole = sum(force for force, _ in live), sum(turn for _, turn in live)
    assert sum(one[0] for row in parts for one in row) == pytest.approx(whole[0], abs=1e-6)
    assert sum(one[1] for row in parts for one in row) == pytest.approx(whole[1], abs=1e-4)


def _force_of(patch: Patch) -> tuple[float, float]:
    """Force and moment about x = 0 of an elementary load."""
    point = patch.start_in == patch.end_in
    force = patch.value if point else patch.value * (patch.end_in - patch.start_in)
    return force, force * 0.5 * (patch.start_in + patch.end_in)


@FEW
@given(supports(), loads())
def test_moment_is_the_integral_of_shear(posts: list[dict[str, Any]], what: list[dict[str, Any]]) -> None:
    """In every panel, for loads that act together: the change of moment is the area of shear; both end at 0."""
    found = analysed(supports=posts, loads=what, rods=None, stressing=None)
    moment, shear = found.loading.dead_moment[0].reshape(-1, 3), found.loading.dead_shear[0].reshape(-1, 3)
    area = (shear * found.grid.weight_in.reshape(-1, 3)).sum(1)
    largest = np.abs(moment).max() + 1.0
    assert moment[:, 2] - moment[:, 0] == pytest.approx(area, abs=1e-8 * largest)
    assert moment[-1, 2] == pytest.approx(0.0, abs=1e-7 * largest)


@FEW
@given(supports())
def test_rods_alone_press_on_nothing(posts: list[dict[str, Any]]) -> None:
    """Secondary reactions balance each other, and their moments are the secondary moments."""
    found = analysed(supports=posts, rods=[rod(profile=[[2, 1.4], [40, 0.9], [94, 1.6]])])
    reaction, at = found.reaction_rods[0], np.array([post["at"] for post in posts])
    secondary = found.secondary_moment(found.tendons.transfer_lbf)[0]
    by_hand = np.maximum(found.grid.x_in[:, None] - at, 0.0) @ reaction
    scale = 1.0 + np.abs(secondary).max()
    assert reaction.sum() == pytest.approx(0.0, abs=1e-8 * scale)
    assert reaction @ at == pytest.approx(0.0, abs=1e-7 * scale)
    assert by_hand == pytest.approx(secondary, abs=1e-7 * scale)


@FEW
@given(supports())
def test_nothing_moves_on_the_supports(posts: list[dict[str, Any]]) -> None:
    """The deflected shape of a piece on any number of supports passes through all of them."""
    found = analysed(supports=posts)
    at = [post["at"] for post in posts]
    matrix = deflection_matrix(found.grid, at[0], at[-1])
    rise = matrix @ (found.loading.dead_moment[0] / found.net.free_inertia_in4[0])
    for x in at:
        here = np.abs(found.grid.x_in - x) < 1e-7
        assert rise[here] == pytest.approx(0.0, abs=1e-9 * np.abs(rise).max() + 1e-12)


def mirrored(doc: dict[str, Any]) -> dict[str, Any]:
    """The same piece seen from the back: right and left, front and rear exchanged."""
    length, width = doc["length"], 24
    turned = document(**doc)
    turned["supports"] = [{**s, "at": length - s["at"]} for s in reversed(doc["supports"])]
    turned["loads"] = [
        {
            **load,
            **(
                {"at": length - load["at"]}
                if "at" in load
                else {"from": length - load["to"], "to": length - load["from"]}
            ),
        }
        for load in doc["loads"]
    ]
    side = {"left": "right", "right": "left", "both": "both"}
    turned["rods"] = [
        {
            **r,
            "across": width - r["across"],
            "profile": [[length - x, y] for x, y in reversed(r["profile"])],
            "stressed_from": side[r["stressed_from"]],
        }
        for r in doc["rods"]
    ]
    turned["handling"]["lift_points"] = [length - x for x in reversed(doc["handling"]["lift_points"])]
    return turned


@FEW
@given(supports(), loads(), st.sampled_from(["left", "right", "both"]), st.floats(0.8, 1.9))
def test_a_mirror_changes_nothing(
    posts: list[dict[str, Any]], what: list[dict[str, Any]], end: str, level: float
) -> None:
    rods = [
        rod(profile=[[2, 1.2], [30, level], [94, 1.5]], stressed_from=end),
        rod(mark="R2", across=15, profile=[[5, 1.5], [90, 1.3]], stressed_from="right"),
    ]
    doc = document(supports=posts, loads=what, rods=rods, stressing={"order": ["R2", "R1"], "seating": 0.01})
    here, there = (analyse(Batch.of(_parsed(d))) for d in (doc, mirrored(doc)))
    for name in ("transfer_lbf", "elongation_in", "nut_turns", "far_lbf", "seated_lbf"):
        assert getattr(here.tendons, name) == pytest.approx(getattr(there.tendons, name), rel=1e-8), name
    assert here.time.final_lbf == pytest.approx(there.time.final_lbf, rel=1e-8)
    scale = np.abs(here.stresses.service_early.any_min).max()
    for stage in ("transfer", "service_early", "service_final", "sustained_final"):
        a, b = getattr(here.stresses, stage), getattr(there.stresses, stage)
        assert a.any_max[0].max() == pytest.approx(b.any_max[0].max(), abs=1e-7 * scale)
        assert a.any_min[0].min() == pytest.approx(b.any_min[0].min(), abs=1e-7 * scale)
    spans = np.sort(np.diff([post["at"] for post in posts]))
    if len(spans) == 1 or spans[-1] > spans[-2] + 0.01:  # of equal spans the figures take the first, on either side
        assert here.deflections.live == pytest.approx(there.deflections.live, rel=1e-3, abs=1e-6)  # top of a parabola


def _parsed(doc: dict[str, Any]) -> Any:
    return parse(doc)


def test_loads_add_up() -> None:
    """Moments, reactions and stresses of two dead loads together are those of each, summed."""
    one = {"label": "a", "case": "dead", "type": "line", "value": 20, "from": 10, "to": 50}
    two = {"label": "b", "case": "dead", "type": "point", "value": 90, "at": 70}
    posts = [{"at": 4}, {"at": 45}, {"at": 92}]
    runs = [analysed(supports=posts, loads=what) for what in ([], [one], [two], [one, two])]
    none, a, b, both = (run.loading for run in runs)
    for x in (4.0, 20.0, 45.0, 60.0, 70.0):
        at = [float(np.interp(x, run.grid.x_in, run.loading.dead_moment[0])) for run in runs]
        assert at[3] == pytest.approx(at[1] + at[2] - at[0], abs=1.0)  # between stations moments are read off chords
    assert both.dead_reaction == pytest.approx(a.dead_reaction + b.dead_reaction - none.dead_reaction, abs=1e-8)


def test_a_piece_without_loads_or_weight_has_no_stress_but_the_rods() -> None:
    found = analysed(loads=[], concrete={"density": 90.0}, rods=None, stressing=None)
    light = analyse(replace(found.batch, concrete=replace(found.batch.concrete, density_pcf=np.array([0.0]))))
    assert np.abs(light.stresses.service_early.any_max).max() == 0.0
    assert light.deflections.crown_final[0] == 0.0
    assert light.deflections.live[0] == 0.0


def test_what_is_symmetrical_names_the_left_place() -> None:
    """Of two places that only rounding tells apart the first: the answer does not hang on the machine's last digit."""
    ends = {"stressed_from": "both"}
    found = run_checks(
        document(supports=[{"at": 20}, {"at": 76}], rods=[rod(**ends), rod(mark="R2", across=18, **ends)])
    )["figures"]
    named = {
        name: figure["at"]
        for name, figure in found.items()
        if name.startswith(("stress.", "moment.", "shear.")) and figure["at"] is not None
    }
    assert len(named) == 4 * 4 + 4 * 2 + 4 + 1  # stages × faces, moments × ends, of the strength, shear
    assert {name: at for name, at in named.items() if at > 48 + 1e-9} == {}
