"""Pieces beyond the six: every shape, draped and parabolic rods, both ends stressed, restressed, slack, overhanging, on
four supports, loaded upward, anywhere and alone. US units and plain numbers only, for the naive calculation."""

from typing import Any

from tests.core.pieces import document, rod

SOLID = {"type": "solid", "width": 24, "depth": 3}
CORED = {
    "type": "cored",
    "width": 24,
    "depth": 3,
    "cores": [
        {"left": 4, "width": 7, "bottom": 0.75, "height": 1.5},
        {"left": 14, "width": 5, "bottom": 0.75, "height": 1.25},
    ],
}
APRON = {
    "type": "apron",
    "width": 24,
    "depth": 2,
    "front": {"thickness": 2, "drop": 4},
    "back": {"thickness": 1.5, "drop": 2.5},
}
RAILS = {
    "type": "rails",
    "rails": [
        {"left": 0, "width": 4, "bottom": 0, "height": 3},
        {"left": 20, "width": 4, "bottom": 0.5, "height": 2.5},
    ],
}
OUTLINE = {
    "type": "outline",
    "outer": [[0, 0], [24, 0], [22, 3], [2, 3.5]],
    "holes": [[[8, 1], [12, 1], [12, 2], [8, 2.2]]],
}
PARABOLA = rod(profile=[[1, 1.5], [40, 0.9], [95, 1.6]], curve="parabola", stressed_from="both")


def one_zone(shape: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"to": 96, "shape": shape}]


def straight(
    mark: str, across: float, left: float, right: float, ends: tuple[float, float] = (2, 94)
) -> dict[str, Any]:
    return rod(mark=mark, across=across, profile=[[ends[0], left], [ends[1], right]])


PIECES: dict[str, dict[str, Any]] = {
    "apron, two legs": document(
        zones=one_zone(APRON),
        rods=[straight("R1", 8, 5, 5, (0, 96)), straight("R2", 18, 5, 5, (0, 96))],
        environment={"drying_difference": 0.0003},
    ),
    "rails": document(
        zones=one_zone(RAILS),
        rods=[straight("R1", 2.2, 1.4, 1.2), straight("R2", 21.5, 1.7, 1.7)],
        loads=[
            {"case": "live", "type": "area", "value": 60},
            {"case": "dead", "type": "line", "value": 10, "from": 20, "to": 50},
        ],
    ),
    "outline with a hole": document(
        zones=one_zone(OUTLINE), rods=[straight("R1", 5, 1.5, 1.5), straight("R2", 18, 1.5, 1.2)]
    ),
    "parabola from both ends, seating": document(
        rods=[PARABOLA, {**straight("R2", 18, 1.5, 1.2, (1, 95)), "stressed_from": "left"}],
        stressing={"seating": 0.02, "order": ["R2", "R1"]},
    ),
    "tightened again twice": document(
        rods=[PARABOLA, straight("R2", 18, 1.25, 1.25)],
        stressing={"seating": 0.01, "restress": [28, 90]},
        concrete={"cure_age": 3},
    ),
    "anywhere, alone, upward": document(
        loads=[
            {"case": "live", "type": "point", "value": 300, "at": "anywhere", "alone": True},
            {"case": "live", "type": "point", "value": -150, "at": 30, "alone": True},
            {"case": "live", "type": "area", "value": 40},
            {"case": "dead", "type": "point", "value": 80, "at": 60},
            {"case": "live", "type": "line", "value": -12, "from": 50, "to": 80},
        ]
    ),
    "no rods": document(
        rods=None,
        stressing=None,
        loads=[{"case": "live", "type": "area", "value": 40}, {"case": "dead", "type": "line", "value": 8}],
    ),
    "one rod goes slack": document(
        rods=[
            rod(thread="3/8-16 UNC", grade="F1554-36", jacking_force=900),
            straight("R2", 18, 1.25, 1.25),
        ],
        concrete={"shrinkage": 0.0013, "creep": 3.0},
    ),
    "two overhangs": document(
        supports=[{"at": 20}, {"at": 70}],
        loads=[
            {"case": "live", "type": "area", "value": 60},
            {"case": "live", "type": "point", "value": 250, "at": 96, "alone": True},
        ],
        rods=[
            rod(profile=[[2, 1.5], [20, 2.0], [50, 1.1], [70, 2.0], [94, 1.5]]),
            straight("R2", 18, 1.5, 1.5),
        ],
    ),
    "four supports, stepped": document(
        length=150,
        zones=[
            {"to": 40, "shape": SOLID},
            {"to": 110, "shape": CORED},
            {"to": 150, "shape": {"type": "solid", "width": 24, "depth": 4}},
        ],
        supports=[{"at": 5}, {"at": 50}, {"at": 95}, {"at": 146}],
        rods=[
            rod(profile=[[2, 2.3], [26, 2.0], [50, 2.9], [70, 2.2], [95, 2.9], [120, 2.0], [148, 2.4]], across=3),
            {**straight("R2", 21, 2.5, 2.5, (2, 148)), "stressed_from": "left"},
        ],
        loads=[
            {"case": "live", "type": "area", "value": 50},
            {"case": "dead", "type": "line", "value": 10},
            {"case": "live", "type": "point", "value": 200, "at": "anywhere", "alone": True},
        ],
        handling={"lift_points": [30, 120], "age": 2, "strength": 2500},
    ),
    "soffit lifted in the middle": document(
        zones=[
            {"to": 10, "shape": SOLID},
            {"to": 86, "shape": {"type": "solid", "width": 24, "depth": 2, "bottom": 0.5}},
            {"to": 96, "shape": SOLID},
        ]
    ),
}
