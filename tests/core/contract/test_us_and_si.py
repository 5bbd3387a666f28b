"""One piece written in either system, or in strings, is the same piece."""

import dataclasses
from typing import Any

import pytest

from engineering.core.contract import parse

PSI, LBF, IN, PCF, PSF, PLF = (
    0.006894757293168361,
    4.4482216152605,
    25.4,
    16.018463373960142,
    0.04788025898033584,
    0.014593902937206363,
)
FACTORS = {
    "length": IN,
    "to": IN,
    "from": IN,
    "at": IN,
    "bearing": IN,
    "width": IN,
    "depth": IN,
    "left": IN,
    "bottom": IN,
    "height": IN,
    "across": IN,
    "outside": IN,
    "thickness": IN,
    "hole": IN,
    "footprint": IN,
    "lift_points": IN,
    "profile": IN,
    "seating": IN,
    "tail": IN,
    "cover": IN,
    "strength": PSI,
    "strength_at_stressing": PSI,
    "modulus": PSI,
    "modulus_at_stressing": PSI,
    "flexural_yield": PSI,
    "flexural_ultimate": PSI,
    "residual_tension": PSI,
    "density": PCF,
    "core_density": PCF,
    "jacking_force": LBF,
    "wobble": 1 / 0.3048,
    "yield": PSI,
    "ultimate": PSI,
}
LOAD_FACTORS = {"area": PSF, "line": PLF, "point": LBF}


def to_si(value: Any, key: str = "", load: str = "") -> Any:
    """The document with every plain number in SI, by factors written here and not by the engine's."""
    if isinstance(value, dict):
        kind = value.get("type", "")
        return {k: to_si(v, k, kind if k == "value" else "") for k, v in value.items()} | (
            {"units": "si"} if "units" in value else {}
        )
    if isinstance(value, list):
        return [to_si(item, key) for item in value]
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return value
    return value * (LOAD_FACTORS[load] if load else FACTORS.get(key, 1.0))


def same(one: Any, other: Any) -> bool:
    if dataclasses.is_dataclass(one):
        return type(one) is type(other) and all(
            same(getattr(one, f.name), getattr(other, f.name))
            for f in dataclasses.fields(one)
            if f.name not in ("units", "specification_hash")
        )
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return one == other if isinstance(one, str) or one is None else one == pytest.approx(other, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("name", ["01-counter-cored", "04-bar-cantilever", "05-three-supports", "24-stepped-depth"])
def test_the_same_piece_in_si(accepted, name):
    assert same(parse(accepted[name]), parse(to_si(accepted[name])))


def test_the_same_piece_in_strings(counter):
    written = parse(counter)
    counter |= {"length": "8 ft", "units": "si", "core_density": "2 pcf"}
    counter["zones"] = [{"to": f"{z['to']} in", "shape": z["shape"]} for z in counter["zones"]]
    for zone in counter["zones"]:
        zone["shape"] |= {"width": "2 ft 1 in", "depth": "3 in"}
        for core in zone["shape"].get("cores", []):
            core |= {key: f"{value} in" for key, value in core.items()}
    for support, at in zip(counter["supports"], ("1/2 ft", "7' 6\""), strict=True):
        support |= {"at": at, "bearing": "2 in"}
    for load, value in zip(counter["loads"], ("6 plf", "45 psf", "0.3 kip"), strict=True):
        load["value"] = value
    counter["loads"][2]["at"] = "4 ft"
    concrete = counter["concrete"]
    concrete |= {"density": "130 pcf"} | {
        key: f"{concrete[key]} psi"
        for key in (
            "strength",
            "strength_at_stressing",
            "modulus",
            "modulus_at_stressing",
            "flexural_yield",
            "flexural_ultimate",
            "residual_tension",
        )
    }
    concrete["cure_age"] = "1 week"
    rod = counter["rods"][0]
    rod |= {
        "across": "2-1/2 in",
        "profile": [["1½ in", "1 1/4 in"], ["7 ft 10-1/2 in", "1.25 in"]],
        "jacking_force": "9.5 kip",
    }
    rod["sleeve"] |= {"outside": "3/4 in", "wobble": "0.0005 1/ft"}
    rod["anchor"] = {"width": "3 in", "height": "2-1/4 in", "thickness": "1/2 in", "hole": "9/16 in"}
    rod["pocket"] = {"width": "3.25 in", "height": "2.4 in"}
    counter["rods"][1]["across"] = "22.5 in"
    counter["stressing"] |= {"age": "7 d"}
    counter["handling"] |= {"lift_points": ["19 in", "77 in"], "age": "48 h", "strength": "2.5 ksi"}
    assert same(parse(counter), written)
