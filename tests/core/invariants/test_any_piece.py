"""Pieces put together at random: the engine never crashes, never gives a number that is none, never passes what it
has not checked."""

import json
import random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from engineering.core.checks import CHECKS
from engineering.core.contract import SpecificationRefused, parse
from engineering.core.pipeline import run_checks
from tests.core.pieces import ROD, document

SLEEVE = {"outside": 1.0, "friction": 0.15, "wobble": 0.0005}
ANCHOR = {"width": 3, "height": 2, "thickness": 0.6, "hole": 0.9}


def shape(dice: random.Random) -> dict[str, Any]:
    w, d = dice.uniform(17, 40), dice.uniform(2, 6)
    kind = dice.choice(["solid", "cored", "apron", "rails", "outline"])
    if kind == "cored":
        core = {"left": w * 0.3, "width": w * 0.4, "bottom": d * dice.uniform(0.1, 0.3), "height": d * 0.5}
        return {"type": kind, "width": w, "depth": d, "cores": [core]}
    if kind == "apron":
        return {"type": kind, "width": w, "depth": d, "front": {"thickness": w * 0.15, "drop": dice.uniform(1, 6)}}
    if kind == "rails":
        rails = [{"left": left, "width": w * 0.3, "bottom": 0, "height": d} for left in (0, w * 0.7)]
        return {"type": kind, "rails": rails}
    if kind == "outline":
        return {"type": kind, "outer": [[0, 0], [w, 0], [w * 0.9, d], [w * 0.1, d * dice.uniform(0.7, 1)]], "holes": []}
    return {"type": kind, "width": w, "depth": d}


def load(dice: random.Random, length: float) -> dict[str, Any]:
    found: dict[str, Any] = {"case": dice.choice(["dead", "live"]), "type": dice.choice(["area", "line", "point"])}
    found["value"] = dice.uniform(-20, 120)
    if found["type"] == "point":
        found["at"] = "anywhere" if found["case"] == "live" and dice.random() < 0.4 else dice.uniform(0, length)
    elif dice.random() < 0.4:
        found["from"], found["to"] = dice.uniform(0, length / 2), dice.uniform(length / 2, length)
    if found["case"] == "live":
        found["alone"] = dice.random() < 0.3
    return found


def rod(dice: random.Random, number: int, length: float) -> dict[str, Any]:
    ends = length * dice.uniform(0, 0.1), length * dice.uniform(0.9, 1)
    xs = [ends[0], ends[1]] if dice.random() < 0.4 else [ends[0], 0.5 * sum(ends), ends[1]]
    return {
        **ROD,
        "mark": f"R{number}",
        "across": dice.uniform(1.5, 4) + 6 * number,
        "sleeve": SLEEVE,
        "anchor": ANCHOR,
        "profile": [[x, dice.uniform(0.6, 1.6)] for x in xs],
        "grade": dice.choice(["A193 B7", "A307 A", "A193 B8M"]),
        "curve": dice.choice(["straight", "parabola"]) if len(xs) == 3 else "straight",
        "stressed_from": dice.choice(["left", "right", "both"]),
        "thread": dice.choice(["3/8-16 UNC", "1/2-13 UNC", "M16"]),
        "jacking_force": dice.uniform(500, 15000),
        "coating": dice.choice(["plain", "plated", "sealed"]),
    }


def any_piece(seed: int) -> dict[str, Any]:
    dice = random.Random(seed)
    length, posts = dice.uniform(40, 200), dice.choice([2, 2, 3, 4])
    ends = [length] if dice.random() < 0.5 else [0.2 * length, 0.7 * length, length]
    rods = [rod(dice, number, length) for number in range(dice.choice([0, 1, 2, 2]))]
    stressing = {"age": 7, "method": dice.choice(["torque", "elongation", "jack"]), "restress": dice.choice([[], [60]])}
    return document(
        length=length,
        zones=[{"to": end, "shape": shape(dice)} for end in ends],
        supports=[
            {"at": length * (k + 0.5 * dice.random()) / posts, "bearing": dice.uniform(0.5, 4)} for k in range(posts)
        ],
        loads=[load(dice, length) for _ in range(dice.randint(0, 4))],
        rods=rods or None,
        stressing={**stressing, "seating": dice.choice([0, 0.02])} if rods else None,
        installation={"age": 70},
        concrete={
            "shrinkage": dice.choice([0, 0.0005, 0.0015]),
            "creep": dice.choice([0, 1.6, 3.5]),
            "cure_age": 2,
            "flexural_yield": dice.choice([100, 1000]),
        },
        handling=dice.choice([None, {"lift_points": [length * 0.2, length * 0.8], "age": 2, "strength": 2500}]),
        environment={
            "exposure": dice.choice(["interior-dry", "chloride"]),
            "drying_difference": dice.choice([0, 0.0002]),
        },
        criteria={"support_tolerance": dice.choice([0, 0.05]), "support_pressure": 100},
    )


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_any_piece_gets_a_whole_answer_or_a_refusal(seed: int) -> None:
    try:
        result = run_checks(any_piece(seed))
    except SpecificationRefused:
        return  # impossible pieces are refused; `test_enough_of_them_are_possible` keeps this from being all
    json.dumps(result, allow_nan=False)
    names = [check["name"] for check in result["checks"]]
    assert all(any(name.startswith(known) for name in names) for known, _ in CHECKS)
    verdicts = {check["verdict"] for check in result["checks"]}
    worst = "fail" if "fail" in verdicts else "review" if "review" in verdicts else result["verdict"]
    assert result["verdict"] == worst
    for name, figure in result["figures"].items():
        assert figure["value"] is not None or figure["why"], name


def test_enough_of_them_are_possible() -> None:
    assert sum(possible(seed) for seed in range(60)) >= 20


def possible(seed: int) -> bool:
    try:
        parse(any_piece(seed))
    except SpecificationRefused:
        return False
    return True
