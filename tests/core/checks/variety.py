"""Pieces of every kind for tests of the checks: shapes, supports, rods, loads. And the same piece in the other
units."""

import re
from typing import Any

from engineering.core.contract.units import QUANTITIES
from tests.core.pieces import ROD, document

APRON = {"type": "apron", "width": 24, "depth": 2.5, "front": {"thickness": 2, "drop": 4}}
RAILS = {
    "type": "rails",
    "rails": [{"left": 0, "width": 5, "bottom": 0, "height": 3}, {"left": 19, "width": 5, "bottom": 0, "height": 3}],
}
OUTLINE = {
    "type": "outline",
    "outer": [[0, 0.5], [1, 0], [23, 0], [24, 0.5], [24, 3], [0, 3]],
    "holes": [[[10, 1], [14, 1], [14, 2], [10, 2]]],
}
CORED = {"type": "cored", "width": 24, "depth": 3, "cores": [{"left": 9, "width": 6, "bottom": 0.75, "height": 1.5}]}


def _zones(shape: dict[str, Any], length: float = 96) -> list[dict[str, Any]]:
    return [{"to": length, "shape": shape}]


TORQUED = {"stressing": {"age": 7, "method": "torque", "scatter": 0.25}}
VARIETY: dict[str, dict[str, Any]] = {
    "no rods": document(rods=None, stressing=None),
    "no handling, no modulus": {
        **document(handling=None),
        "concrete": {k: v for k, v in document()["concrete"].items() if not k.startswith("modulus")},
    },
    "apron": document(
        zones=_zones(APRON),
        rods=[{**ROD, "across": 8, "profile": [[0, 5], [96, 5]]}, {"mark": "R2", "like": "R1", "across": 18}],
    ),
    "rails": document(
        zones=_zones(RAILS), rods=[{**ROD, "across": 2.5}, {"mark": "R2", "like": "R1", "across": 21.5}], **TORQUED
    ),
    "outline": document(zones=_zones(OUTLINE), rods=[{**ROD, "across": 5}, {"mark": "R2", "like": "R1", "across": 19}]),
    "cored, person on the skin": document(
        zones=[
            {"to": 8, "shape": {"type": "solid", "width": 24, "depth": 3}},
            {"to": 88, "shape": CORED},
            {"to": 96, "shape": {"type": "solid", "width": 24, "depth": 3}},
        ],
        rods=[{**ROD, "across": 4}, {"mark": "R2", "like": "R1", "across": 20}],
        loads=[
            {"case": "live", "type": "point", "value": 300, "at": "anywhere", "alone": True},
            {"case": "dead", "type": "area", "value": 10},
            {"case": "live", "type": "area", "value": 40, "across": 6},
        ],
        criteria={"support_pressure": 100},
    ),
    "overhang, parabola, both ends": document(
        supports=[{"at": 4}, {"at": 66, "bearing": 2}],
        rods=[
            {**ROD, "profile": [[1, 1.5], [48, 2.2], [95, 1.5]], "curve": "parabola", "stressed_from": "both"},
            {"mark": "R2", "like": "R1", "across": 18},
        ],
        loads=[
            {"case": "live", "type": "area", "value": 60},
            {"case": "live", "type": "point", "value": 200, "at": 95, "alone": True},
        ],
    ),
    "three supports, off level": document(
        supports=[{"at": 4}, {"at": 48}, {"at": 92}],
        criteria={"support_tolerance": 0.05, "support_pressure": 50},
        rods=[
            {**ROD, "profile": [[2, 1.5], [26, 1.2], [48, 1.9], [70, 1.2], [94, 1.5]]},
            {"mark": "R2", "like": "R1", "across": 18},
        ],
    ),
    "three supports, one-sided drying, restressed": document(
        supports=[{"at": 4}, {"at": 40}, {"at": 92}],
        environment={"drying_difference": 0.0002, "humidity": 35},
        stressing={"age": 7, "method": "torque", "restress": [60], "seating": 0.01},
        installation={"age": 70},
        rods=[{**ROD, "profile": [[2, 1.5], [94, 1.3]]}, {"mark": "R2", "like": "R1", "across": 18}],
    ),
    "weak and heavy: cracked by its own weight": document(
        concrete={"flexural_yield": 40, "flexural_ultimate": 90, "residual_tension": 20},
        rods=[{**ROD, "jacking_force": 300}, {"mark": "R2", "like": "R1", "across": 18}],
    ),
    "lifted stressed, load that lifts": document(
        handling={"lift_points": [30, 60], "age": 30, "strength": 6000, "stressed": True},
        loads=[
            {"case": "live", "type": "line", "value": -40},
            {"case": "dead", "type": "point", "value": 30, "at": 90},
        ],
    ),
    "one slack rod of soft steel, jacked": document(
        rods=[{**ROD, "across": 12, "grade": "A307 A", "thread": "3/8-16 UNC", "jacking_force": 1200}],
        concrete={"shrinkage": 0.0015, "creep": 3.5},
        stressing={"age": 7, "method": "jack"},
    ),
    "crushed, plated, in chloride": document(
        rods=[{**ROD, "jacking_force": 16000, "coating": "plated"}, {"mark": "R2", "like": "R1", "across": 6.5}],
        environment={"exposure": "chloride"},
        concrete={"strength_at_stressing": 2200},
    ),
}

# key -> quantity, for keys whose name tells it; a load's value depends on its type
_QUANTITY = {
    "length": (
        "length",
        "to",
        "width",
        "depth",
        "left",
        "bottom",
        "height",
        "thickness",
        "drop",
        "at",
        "bearing",
        "across",
        "footprint",
        "outside",
        "hole",
        "from",
        "cover",
        "support_tolerance",
        "tail",
        "seating",
    ),
    "stress": (
        "strength",
        "strength_at_stressing",
        "flexural_yield",
        "flexural_ultimate",
        "residual_tension",
        "yield",
        "ultimate",
        "support_pressure",
    ),
    "modulus": ("modulus", "modulus_at_stressing"),
    "force": ("jacking_force",),
    "density": ("density", "core_density"),
    "wobble": ("wobble",),
}
QUANTITY = {key: quantity for quantity, keys in _QUANTITY.items() for key in keys}
POINTS = ("profile", "outer", "holes", "lift_points")


def in_other_units(document: dict[str, Any]) -> dict[str, Any]:
    """The same piece written in the other system, to full precision; strings carry their own units and stay."""
    other = "us" if document["units"] == "si" else "si"
    turned = _turn(document, other)
    turned["units"] = other
    return turned


def _turn(node: Any, other: str) -> Any:
    if isinstance(node, list):
        return [_turn(one, other) for one in node]
    if not isinstance(node, dict):
        return node
    found = {}
    for key, value in node.items():
        if key in POINTS:
            found[key] = _points(value, other)
        elif key == "value":
            found[key] = _number(
                value, {"area": "area load", "line": "line load", "point": "force"}[node["type"]], other
            )
        elif key in QUANTITY:
            found[key] = _number(value, QUANTITY[key], other)
        else:
            found[key] = _turn(value, other)
    return found


def _points(value: Any, other: str) -> Any:
    return [_points(one, other) for one in value] if isinstance(value, list) else _number(value, "length", other)


def _number(value: Any, quantity: str, other: str) -> Any:
    if isinstance(value, str | dict) or value is None:
        return value if not isinstance(value, str) or not re.fullmatch(r"[\d.]+", value) else float(value)
    kind = QUANTITIES[quantity]
    return kind.from_us(value, "si") if other == "si" else kind.to_us(value, "si")
