"""Each rule of the specification page, broken once: the path that is named, and nothing besides it."""

import json
import math
from typing import Any

import pytest

MISSING = object()
L = "6 ft 3-1/2 in"


def put(document: dict[str, Any], path: str, value: Any) -> None:
    """Set (or with MISSING take out) what stands at a path like `rods[0].profile[1][0]`."""
    keys: list[str | int] = []
    for part in path.replace("]", "").replace("[", ".#").split("."):
        keys.append(int(part[1:]) if part.startswith("#") else part)
    for key in keys[:-1]:
        document = document[key]
    if value is MISSING:
        del document[keys[-1]]
    else:
        document[keys[-1]] = value


def core(left: Any, width: Any, bottom: Any = 0.5, height: Any = 1.75) -> dict[str, Any]:
    return {"left": left, "width": width, "bottom": bottom, "height": height}


RAILS = {"type": "rails", "rails": [core(0, 4, 0, 3), core(21, 4, 0, 3)]}
APRON = {"type": "apron", "width": 25, "depth": 1, "front": {"thickness": 1.5, "drop": 2}}
SQUARE = [[0, 0], [25, 0], [25, 3], [0, 3]]
OUTLINE = {"type": "outline", "outer": SQUARE, "holes": [[[10, 1], [12, 1], [12, 2], [10, 2]]]}
POINT = {"case": "live", "type": "point", "value": 100, "at": 20}
AREA = {"case": "live", "type": "area", "value": 100}
SHAPE, ROD, LOAD = "zones[1].shape", "rods[0]", "loads[0]"


def shape(base: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    changed = json.loads(json.dumps(base))
    put(changed, path, value)
    return changed


# what is changed: path and value; then the paths that must be named, in any order
CASES: list[tuple[str, Any, list[str]]] = [
    # kinds, keys and choices
    ("format", "piece-specification/2", ["format"]),
    ("format", MISSING, ["format"]),
    ("units", "metric", ["units"]),
    ("units", MISSING, ["units"]),
    ("mark", MISSING, ["mark"]),
    ("mark", "C 104", ["mark"]),
    ("mark", "", ["mark"]),
    ("mark", "C-104\n", ["mark"]),
    ("mark", 104, ["mark"]),
    ("title", 7, ["title"]),
    ("title", "a\u0000b", ["title"]),
    ("title", "\ud800", ["title"]),
    ("title", "x" * 201, ["title"]),
    ("cast", "sideways", ["cast"]),
    ("colour", "red", ["colour"]),
    ("zones[0].colour", "red", ["zones[0].colour"]),
    ("zones[0].shape.colour", "red", ["zones[0].shape.colour"]),
    ("zones[1].shape.cores[1].colour", "red", ["zones[1].shape.cores[1].colour"]),
    ("supports[0].colour", "red", ["supports[0].colour"]),
    ("loads[2].colour", "red", ["loads[2].colour"]),
    ("concrete.colour", "red", ["concrete.colour"]),
    ("rods[1].colour", "red", ["rods[1].colour"]),
    ("rods[0].colour", "red", ["rods[0].colour"]),
    ("rods[0].sleeve.colour", "red", ["rods[0].sleeve.colour"]),
    ("rods[0].anchor.colour", "red", ["rods[0].anchor.colour"]),
    ("rods[0].pocket.colour", "red", ["rods[0].pocket.colour"]),
    ("stressing.colour", "red", ["stressing.colour"]),
    ("installation.colour", "red", ["installation.colour"]),
    ("environment.colour", "red", ["environment.colour"]),
    ("handling.colour", "red", ["handling.colour"]),
    ("criteria.colour", "red", ["criteria.colour"]),
    ("concrete", [], ["concrete"]),
    ("zones", {}, ["zones"]),
    ("zones", [], ["zones"]),
    ("zones[1]", 7, ["zones[1]"]),
    ("zones[1].shape", "solid", ["zones[1].shape"]),
    ("zones[1].shape.type", "round", ["zones[1].shape.type"]),
    ("zones[1].shape.type", MISSING, ["zones[1].shape.type"]),
    ("zones[1].to", MISSING, ["zones[1].to"]),
    ("handling", None, ["handling"]),
    ("rods[0].pocket", None, ["rods[0].pocket"]),
    ("supports[0].hold_down", 1, ["supports[0].hold_down"]),
    ("supports[0].hold_down", "true", ["supports[0].hold_down"]),
    ("loads[2].alone", "yes", ["loads[2].alone"]),
    ("handling.stressed", 0, ["handling.stressed"]),
    # numbers
    ("length", True, ["length"]),
    ("length", "96", ["length"]),
    ("length", "96 psi", ["length"]),
    ("length", "96 furlongs", ["length"]),
    ("length", math.nan, ["length"]),
    ("length", math.inf, ["length"]),
    ("length", 1e300, ["length"]),
    ("length", 10**400, ["length"]),
    ("length", -(10**5000), ["length"]),
    ("length", 0, ["length"]),
    ("length", -96, ["length"]),
    ("length", None, ["length"]),
    ("length", [96], ["length"]),
    ("length", "1e400 in", ["length"]),
    ("core_density", -1, ["core_density"]),
    ("sustained_live", 1.01, ["sustained_live"]),
    ("sustained_live", -0.1, ["sustained_live"]),
    ("sustained_live", "0.25", ["sustained_live"]),
    ("concrete.density", 0, ["concrete.density"]),
    ("concrete.density", "130 psf", ["concrete.density"]),
    ("concrete.strength", "7000 lbf", ["concrete.strength"]),
    ("concrete.strength", 0, ["concrete.strength"]),
    ("concrete.strength", MISSING, ["concrete.strength"]),
    ("concrete.strength_at_stressing", MISSING, ["concrete.strength_at_stressing"]),
    ("concrete.flexural_yield", MISSING, ["concrete.flexural_yield"]),
    ("concrete.flexural_ultimate", MISSING, ["concrete.flexural_ultimate"]),
    ("concrete.flexural_yield_at_stressing", -1, ["concrete.flexural_yield_at_stressing"]),
    ("concrete.shrinkage", MISSING, ["concrete.shrinkage"]),
    ("concrete.shrinkage", "0.0005", ["concrete.shrinkage"]),
    ("concrete.shrinkage", -0.0001, ["concrete.shrinkage"]),
    ("concrete.creep", MISSING, ["concrete.creep"]),
    ("concrete.creep", -1, ["concrete.creep"]),
    ("concrete.modulus", 0, ["concrete.modulus"]),
    ("concrete.variation_yield", 0.39, ["concrete.variation_yield"]),
    ("concrete.variation_ultimate", 0.5, ["concrete.variation_ultimate"]),
    ("concrete.variation_ultimate", -0.1, ["concrete.variation_ultimate"]),
    ("concrete.residual_tension", -1, ["concrete.residual_tension"]),
    ("concrete.cure_age", -1, ["concrete.cure_age"]),
    ("concrete.cure_age", "7 in", ["concrete.cure_age"]),
    ("environment.humidity", 101, ["environment.humidity"]),
    ("environment.exposure", "outside", ["environment.exposure"]),
    ("environment.drying_difference", "0.0001", ["environment.drying_difference"]),
    ("criteria.life", 0, ["criteria.life"]),
    ("criteria.life", "0.5 in", ["criteria.life"]),
    ("criteria.live_deflection", 0, ["criteria.live_deflection"]),
    ("criteria.remaining", 1.5, ["criteria.remaining"]),
    ("criteria.bursting", -1, ["criteria.bursting"]),
    ("criteria.support_pressure", 0, ["criteria.support_pressure"]),
    ("criteria.support_tolerance", -0.1, ["criteria.support_tolerance"]),
    ("criteria.cover", "3/8", ["criteria.cover"]),
    # zones and shapes
    ("zones[1].to", 6, ["zones[1].to"]),
    ("zones[1].to", 5, ["zones[1].to"]),
    ("zones[2].to", 95, ["zones[2].to"]),
    ("zones[0].shape.depth", 0, ["zones[0].shape.depth"]),
    ("zones[0].shape.width", "25 lbf", ["zones[0].shape.width"]),
    ("zones[0].shape.bottom", -1, ["zones[0].shape.bottom"]),
    ("zones[0].shape.bottom", 3.5, ["zones[0].shape.bottom"]),
    ("zones[1].shape.cores", [], ["zones[1].shape.cores"]),
    ("zones[1].shape.cores", MISSING, ["zones[1].shape.cores"]),
    ("zones[1].shape.cores[0].left", 0, ["zones[1].shape.cores[0].left"]),
    ("zones[1].shape.cores[0].bottom", 0, ["zones[1].shape.cores[0].bottom"]),
    ("zones[1].shape.cores[0].height", 2.5, ["zones[1].shape.cores[0].height"]),
    ("zones[1].shape.cores[1].width", 11, ["zones[1].shape.cores[1].width"]),
    ("zones[1].shape.cores[1].left", 26, ["zones[1].shape.cores[1].left"]),
    ("zones[1].shape.cores[1].left", 11, ["zones[1].shape.cores[1]"]),
    ("zones[1].shape.cores[1].left", 8, ["zones[1].shape.cores[1]"]),
    (SHAPE, {"type": "apron", "width": 25, "depth": 1}, [f"{SHAPE}.front"]),
    (SHAPE, shape(APRON, "front.thickness", 25), [f"{SHAPE}.front.thickness"]),
    (SHAPE, shape(APRON, "front.drop", 0), [f"{SHAPE}.front.drop"]),
    (SHAPE, shape(APRON, "back", {"thickness": 24, "drop": 2}), [f"{SHAPE}.back.thickness"]),
    (SHAPE, shape(APRON, "back", {"thickness": 2}), [f"{SHAPE}.back.drop"]),
    (SHAPE, shape(RAILS, "rails[1]", core(3, 22, 0, 3)), [f"{SHAPE}.rails[1]"]),
    (SHAPE, shape(RAILS, "rails[1].left", -1), [f"{SHAPE}.rails[1].left"]),
    (SHAPE, shape(RAILS, "rails", []), [f"{SHAPE}.rails"]),
    (SHAPE, shape(OUTLINE, "outer", [[0, 0], [25, 3], [25, 0], [0, 3]]), [f"{SHAPE}.outer"]),
    (SHAPE, shape(OUTLINE, "outer", [[0, 0], [25, 0]]), [f"{SHAPE}.outer"]),
    (SHAPE, shape(OUTLINE, "outer", [[0, 0], [10, 0], [25, 0]]), [f"{SHAPE}.outer"]),
    (SHAPE, shape(OUTLINE, "outer", [[0, 0], [0, 0], [25, 0], [25, 3]]), [f"{SHAPE}.outer"]),
    (SHAPE, shape(OUTLINE, "outer[2]", [25]), [f"{SHAPE}.outer[2]"]),
    (SHAPE, shape(OUTLINE, "outer[2][1]", "3"), [f"{SHAPE}.outer[2][1]"]),
    (SHAPE, shape(OUTLINE, "holes[0]", [[24, 1], [26, 1], [26, 2]]), [f"{SHAPE}.holes[0]"]),
    (SHAPE, shape(OUTLINE, "holes[0]", [[20, 0], [22, 1], [18, 1]]), [f"{SHAPE}.holes[0]"]),
    (SHAPE, shape(OUTLINE, "holes[0]", [[30, 1], [32, 1], [32, 2]]), [f"{SHAPE}.holes[0]"]),
    (SHAPE, shape(OUTLINE, "holes", [*OUTLINE["holes"], [[11, 1.2], [11.5, 1.2], [11.5, 1.5]]]), [f"{SHAPE}.holes[1]"]),
    (SHAPE, shape(OUTLINE, "holes[0]", "none"), [f"{SHAPE}.holes[0]"]),
    # supports and loads
    ("supports", MISSING, ["supports"]),
    ("supports", [{"at": 6}], ["supports"]),
    ("supports[1].at", 6, ["supports[1].at"]),
    ("supports[1].at", 97, ["supports[1].at"]),
    ("supports[1].at", -1, ["supports[1].at"]),
    ("supports[1].bearing", 0, ["supports[1].bearing"]),
    ("supports[1].at", MISSING, ["supports[1].at"]),
    (f"{LOAD}.case", "wind", [f"{LOAD}.case"]),
    (f"{LOAD}.type", "moment", [f"{LOAD}.type"]),
    (f"{LOAD}.value", "6 psf", [f"{LOAD}.value"]),
    (f"{LOAD}.value", MISSING, [f"{LOAD}.value"]),
    (f"{LOAD}.from", 97, [f"{LOAD}.from"]),
    (f"{LOAD}.to", 0, [f"{LOAD}.to"]),
    (f"{LOAD}.at", 20, [f"{LOAD}.at"]),
    (f"{LOAD}.across", 26, [f"{LOAD}.across"]),
    (f"{LOAD}.footprint", 4, [f"{LOAD}.footprint"]),
    (f"{LOAD}.alone", True, [f"{LOAD}.alone"]),
    ("loads[2].at", MISSING, ["loads[2].at"]),
    ("loads[2].at", "everywhere", ["loads[2].at"]),
    ("loads[2].at", 97, ["loads[2].at"]),
    ("loads[2].from", 7, ["loads[2].from"]),
    ("loads[2].footprint", 0, ["loads[2].footprint"]),
    # rods
    ("rods[0].thread", "1/2-14", ["rods[0].thread"]),
    ("rods[0].thread", "M5", ["rods[0].thread"]),
    ("rods[0].thread", "M12x1.25", ["rods[0].thread"]),
    ("rods[0].thread", 0.5, ["rods[0].thread"]),
    ("rods[0].thread", MISSING, ["rods[0].thread"]),
    ("rods[0].grade", "B7", ["rods[0].grade"]),
    ("rods[0].grade", 8.8, ["rods[0].grade"]),
    ("rods[0].grade", {"name": "x", "yield": 90000}, ["rods[0].grade.ultimate"]),
    ("rods[0].grade", {"name": "x", "yield": 90000, "ultimate": 80000}, ["rods[0].grade.ultimate"]),
    ("rods[0].grade", {"name": "x", "yield": 90000, "ultimate": 100000, "area": "1 in"}, ["rods[0].grade.area"]),
    ("rods[0].across", MISSING, ["rods[0].across"]),
    ("rods[0].across", 26, ["rods[0].across"]),
    ("rods[1].across", -1, ["rods[1].across"]),
    ("rods[0].profile", [[1.5, 1.25]], ["rods[0].profile"]),
    ("rods[0].profile[0]", [1.5, 1.25, 3], ["rods[0].profile[0]"]),
    ("rods[0].profile[0][1]", "1.25", ["rods[0].profile[0][1]"]),
    ("rods[0].profile[0][0]", -1, ["rods[0].profile[0][0]"]),
    ("rods[0].profile[1][0]", 97, ["rods[0].profile[1][0]"]),
    ("rods[0].profile[1][0]", 1.5, ["rods[0].profile[1][0]"]),
    ("rods[0].profile[0][1]", 3.4, ["rods[0].profile[0][1]"]),
    ("rods[0].profile[0][1]", -0.1, ["rods[0].profile[0][1]"]),
    ("rods[0].curve", "parabola", ["rods[0].profile"]),
    ("rods[0].curve", "circle", ["rods[0].curve"]),
    ("rods[0].sleeve", MISSING, ["rods[0].sleeve"]),
    ("rods[0].sleeve.outside", 0.5, ["rods[0].sleeve.outside"]),
    ("rods[0].sleeve.friction", MISSING, ["rods[0].sleeve.friction"]),
    ("rods[0].sleeve.friction", -0.1, ["rods[0].sleeve.friction"]),
    ("rods[0].sleeve.wobble", "0.0005 in", ["rods[0].sleeve.wobble"]),
    ("rods[0].stressed_from", "top", ["rods[0].stressed_from"]),
    ("rods[0].anchor", MISSING, ["rods[0].anchor"]),
    ("rods[0].anchor.hole", 0.5, ["rods[0].anchor.hole"]),
    ("rods[0].anchor.width", 0.5, ["rods[0].anchor.width"]),
    ("rods[0].anchor.height", 0.5, ["rods[0].anchor.height"]),
    ("rods[0].anchor.thickness", 0, ["rods[0].anchor.thickness"]),
    ("rods[0].anchor.yield", 0, ["rods[0].anchor.yield"]),
    ("rods[0].coating", "painted", ["rods[0].coating"]),
    ("rods[0].pocket.height", MISSING, ["rods[0].pocket.height"]),
    ("rods[0].jacking_force", MISSING, ["rods[0].jacking_force"]),
    ("rods[0].jacking_force", 0, ["rods[0].jacking_force"]),
    ("rods[0].jacking_force", "9500 lbf*ft", ["rods[0].jacking_force"]),
    ("rods[0].torque", 70, ["rods[0].jacking_force", "rods[0].torque"]),
    ("rods[0].tail", -1, ["rods[0].tail"]),
    ("rods[1].mark", "R1", ["rods[1].mark"]),
    ("rods[1].like", "R9", ["rods[1].like"]),
    ("rods[1].like", "R2", ["rods[1].like"]),
    ("rods[0].like", "R2", ["rods[0].like", "rods[1].like"]),
    ("rods[1].like", 1, ["rods[1].like"]),
    ("rods", 7, ["rods"]),
    ("rods[1]", 7, ["rods[1]"]),
    # stressing and what comes after it
    ("stressing", MISSING, ["stressing"]),
    ("stressing.age", MISSING, ["stressing.age"]),
    ("stressing.age", 0, ["stressing.age"]),
    ("stressing.method", MISSING, ["stressing.method"]),
    ("stressing.method", "hammer", ["stressing.method"]),
    ("stressing.nut_factor", 0, ["stressing.nut_factor"]),
    ("stressing.scatter", 1, ["stressing.scatter"]),
    ("stressing.scatter", -0.1, ["stressing.scatter"]),
    ("stressing.seating", -0.1, ["stressing.seating"]),
    ("stressing.steps", [], ["stressing.steps"]),
    ("stressing.steps", [0.5, 0.4, 1], ["stressing.steps[1]"]),
    ("stressing.steps", [0.5, 0.9], ["stressing.steps[1]"]),
    ("stressing.steps", [0, 1], ["stressing.steps[0]"]),
    ("stressing.steps", [0.5, 1.2], ["stressing.steps[1]"]),
    ("stressing.order", ["R1"], ["stressing.order"]),
    ("stressing.order", ["R1", "R1"], ["stressing.order[1]", "stressing.order"]),
    ("stressing.order", ["R1", "R2", "R3"], ["stressing.order[2]"]),
    ("stressing.order", ["R1", 2], ["stressing.order[1]", "stressing.order"]),
    ("stressing.order", "R1", ["stressing.order"]),
    ("stressing.restress", [7], ["stressing.restress[0]"]),
    ("stressing.restress", [28, 28], ["stressing.restress[1]"]),
    ("stressing.restress", ["31 years"], ["stressing.restress[0]"]),
    ("installation.age", 6, ["installation.age"]),
    ("installation.age", -1, ["installation.age"]),
    ("criteria.life", "20 d", ["criteria.life"]),
    ("handling.lift_points", [19], ["handling.lift_points"]),
    ("handling.lift_points", [19, 19], ["handling.lift_points[1]"]),
    ("handling.lift_points", [19, 97], ["handling.lift_points[1]"]),
    ("handling.age", MISSING, ["handling.age"]),
    ("handling.strength", MISSING, ["handling.strength"]),
    ("handling.multiplier", 0, ["handling.multiplier"]),
    ("handling.stressed", True, ["handling.stressed"]),
]


@pytest.mark.parametrize(("path", "value", "named"), CASES, ids=[f"{p}-{i}" for i, (p, _, _) in enumerate(CASES)])
def test_a_broken_rule_is_named_at_its_key_and_nowhere_else(counter, faults_of, path, value, named):
    put(counter, path, value)
    assert sorted(faults_of(counter)) == sorted(named)


@pytest.mark.parametrize("name", ["a-unknown-key", "b-missing-key", "d-wrong-dimension", "f-rod-outside"])
def test_documents_that_were_handed_over_to_be_refused(data_folder, faults_of, name):
    """Source: data/refused/EXPECTED.json, handed over with the specification page."""
    expected = json.loads((data_folder / "refused" / "EXPECTED.json").read_text("utf-8"))[name]["paths"]
    document = json.loads((data_folder / "refused" / f"{name}.json").read_text("utf-8"))
    assert sorted(faults_of(document)) == sorted(expected)


def test_all_faults_are_told_at_once(counter, faults_of):
    for path, value in (
        ("concrete.strength", MISSING),
        ("rods[0].jacking_force", MISSING),
        ("supports[1].at", 6),
        ("rods[0].profile[1][1]", 3.4),
        ("stressing.order", ["R1"]),
        ("criteria.life", "x"),
    ):
        put(counter, path, value)
    assert sorted(faults_of(counter)) == sorted(
        [
            "concrete.strength",
            "rods[0].jacking_force",
            "supports[1].at",
            "rods[0].profile[1][1]",
            "stressing.order",
            "criteria.life",
        ]
    )


def test_a_fault_of_a_rod_is_not_told_again_for_a_rod_like_it(counter, faults_of):
    put(counter, "rods[0].sleeve.friction", "slippery")
    assert list(faults_of(counter)) == ["rods[0].sleeve.friction"]


def test_the_message_says_where_the_rod_is_and_how_deep_the_section(counter, faults_of):
    put(counter, "rods[0].profile[0][1]", 3.4)
    assert faults_of(counter)["rods[0].profile[0][1]"] == "3.4 in lies outside the section, which is 3 in deep there"


def test_ten_thousand_zones_are_one_fault(counter, faults_of):
    counter["zones"] = [{"to": i + 1, "shape": {"type": "solid", "width": 25, "depth": 3}} for i in range(10_000)]
    assert faults_of(counter) == {"zones": "10000 given; there should be at most 100 zones"}


@pytest.mark.parametrize("document", [None, 7, "text", [], True, 1e400, [{}]])
def test_a_document_that_is_no_object_is_refused(faults_of, document):
    assert list(faults_of(document)) == [""]


def test_a_rod_in_the_foam_is_poor_but_not_refused(counter, faults_of):
    put(counter, "rods[0].across", 8)
    assert faults_of(counter) == {}
