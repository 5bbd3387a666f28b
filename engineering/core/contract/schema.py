"""The specification as a JSON schema (draft 2020-12): kinds, keys and choices. The rest `parse` tells."""

import copy
from functools import cache
from typing import Any

from engineering.core.contract.parse import FORMAT
from engineering.core.contract.rods import COATINGS, CURVES, ENDS, MOST_POINTS, MOST_RODS
from engineering.core.contract.schedule import EXPOSURES, MOST_RESTRESS, MOST_STEPS, SCATTER
from engineering.core.contract.shapes import MOST_CORES, MOST_CORNERS, MOST_HOLES, MOST_RAILS
from engineering.core.contract.situation import MOST_LOADS, MOST_SUPPORTS
from engineering.core.contract.values import LONGEST_TEXT
from engineering.core.contract.zones import MOST_ZONES
from engineering.core.tables import grades

Schema = dict[str, Any]

_NUMBER: Schema = {"type": "number"}
_FLAG: Schema = {"type": "boolean"}
_TEXT: Schema = {"type": "string", "maxLength": LONGEST_TEXT}
_MARK: Schema = {"type": "string", "pattern": "^[A-Za-z0-9_-]{1,40}$"}
_QUANTITY_KIND: Schema = {
    "type": ["number", "string"],
    "maxLength": 80,
    "description": "a number in the document's unit, or text with its own unit",
}
_QUANTITY: Schema = {"$ref": "#/$defs/quantity"}
_POINT: Schema = {"type": "array", "prefixItems": [_QUANTITY, _QUANTITY], "items": False, "minItems": 2}


def schema() -> Schema:
    """A fresh copy of the schema; safe to change."""
    return copy.deepcopy(_whole())


@cache  # made when first asked for: the tables of grades it names import this package themselves
def _whole() -> Schema:
    keys = {
        "format": {"const": FORMAT},
        "mark": _MARK,
        "title": _TEXT,
        "units": _choice("us", "si"),
        "cast": _choice("face-up", "face-down"),
        "length": _QUANTITY,
        "zones": _list(_zone(), 1, MOST_ZONES),
        "core_density": _QUANTITY,
        "supports": _list(_support(), 2, MOST_SUPPORTS),
        "loads": _list(_load(), 0, MOST_LOADS),
        "sustained_live": {"type": "number", "minimum": 0, "maximum": 1},
        "concrete": _concrete(),
        "rods": _list(_rod(), 0, MOST_RODS),
        "stressing": _stressing(),
        "installation": _object({"age": _QUANTITY}, []),
        "environment": _environment(),
        "handling": _handling(),
        "criteria": _criteria(),
    }
    required = ["format", "mark", "units", "length", "zones", "supports", "concrete"]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Piece specification, format 1",
        "$defs": {"quantity": _QUANTITY_KIND},
        **_object(keys, required),
        "if": {"required": ["rods"], "properties": {"rods": {"minItems": 1}}},
        "then": {"required": ["stressing"]},
    }


def _object(keys: Schema, required: list[str]) -> Schema:
    return {"type": "object", "properties": keys, "required": required, "additionalProperties": False}


def _list(item: Schema, least: int, most: int) -> Schema:
    return {"type": "array", "items": item, "minItems": least, "maxItems": most}


def _choice(*words: str) -> Schema:
    return {"type": "string", "enum": list(words)}


def _sizes(*names: str) -> Schema:
    return dict.fromkeys(names, _QUANTITY)


def _zone() -> Schema:
    box = _sizes("left", "width", "bottom", "height")
    leg = _object(_sizes("thickness", "drop"), ["thickness", "drop"])
    ring = _list(_POINT, 3, MOST_CORNERS)
    slab = _sizes("width", "depth")
    shapes = [
        _shape("solid", slab, ["width", "depth"]),
        _shape("cored", {**slab, "cores": _list(_object(box, list(box)), 1, MOST_CORES)}, ["width", "depth", "cores"]),
        {
            **_shape("apron", {**slab, "front": leg, "back": leg}, ["width", "depth"]),
            "anyOf": [{"required": ["front"]}, {"required": ["back"]}],
        },
        _shape("rails", {"rails": _list(_object(box, list(box)), 1, MOST_RAILS)}, ["rails"]),
        _shape("outline", {"outer": ring, "holes": _list(ring, 0, MOST_HOLES)}, ["outer"]),
    ]
    return _object({"to": _QUANTITY, "shape": {"oneOf": shapes}}, ["to", "shape"])


def _shape(kind: str, keys: Schema, required: list[str]) -> Schema:
    return _object({"type": {"const": kind}, **keys, "bottom": _QUANTITY}, ["type", *required])


def _support() -> Schema:
    return _object({**_sizes("at", "bearing"), "hold_down": _FLAG}, ["at"])


def _load() -> Schema:
    shared = {"label": _TEXT, "case": _choice("dead", "live"), "value": _QUANTITY, "across": _QUANTITY, "alone": _FLAG}
    spread = _object({**shared, "type": _choice("area", "line"), **_sizes("from", "to")}, ["case", "type", "value"])
    point = _object(
        {**shared, "type": {"const": "point"}, **_sizes("at", "footprint")}, ["case", "type", "value", "at"]
    )
    return {"oneOf": [spread, point]}


def _concrete() -> Schema:
    needed = ["density", "strength", "strength_at_stressing", "flexural_yield", "flexural_ultimate"]
    silent = ["modulus", "modulus_at_stressing", "flexural_yield_at_stressing", "residual_tension", "cure_age"]
    share = {"type": "number", "minimum": 0, "exclusiveMaximum": 0.39}
    plain = {"variation_yield": share, "variation_ultimate": share, "shrinkage": _NUMBER, "creep": _NUMBER}
    return _object({"label": _TEXT, **_sizes(*needed, *silent), **plain}, [*needed, "shrinkage", "creep"])


def _rod() -> Schema:
    own = {"name": {**_TEXT, "minLength": 1}, **_sizes("yield", "ultimate", "modulus", "area"), "elongation": _NUMBER}
    grade = {"oneOf": [_choice(*grades.GRADES), _object(own, ["name", "yield", "ultimate"])]}
    sleeve = _object({**_sizes("outside", "wobble"), "friction": _NUMBER}, ["outside", "friction", "wobble"])
    plate = _sizes("width", "height", "thickness", "hole")
    keys = {
        "mark": _MARK,
        "like": _TEXT,
        "thread": _TEXT,
        "grade": grade,
        "across": _QUANTITY,
        "profile": _list(_POINT, 2, MOST_POINTS),
        "curve": _choice(*CURVES),
        "sleeve": sleeve,
        "stressed_from": _choice(*ENDS),
        "anchor": _object({**plate, "yield": _QUANTITY}, list(plate)),
        "pocket": _object(_sizes("width", "height"), ["width", "height"]),
        "coating": _choice(*COATINGS),
        **_sizes("jacking_force", "jacking_stress", "torque", "tail"),
    }
    whole = {"required": ["thread", "grade", "across", "profile", "sleeve", "anchor"]}
    return {**_object(keys, ["mark"]), "if": {"not": {"required": ["like"]}}, "then": whole}


def _stressing() -> Schema:
    step = {"type": "number", "exclusiveMinimum": 0, "maximum": 1}
    keys = {
        "age": _QUANTITY,
        "method": _choice(*SCATTER),
        "nut_factor": _NUMBER,
        "scatter": _NUMBER,
        "seating": _QUANTITY,
        "steps": _list(step, 1, MOST_STEPS),
        "order": {"type": "array", "items": _TEXT},
        "restress": _list(_QUANTITY, 0, MOST_RESTRESS),
    }
    return _object(keys, ["age", "method"])


def _environment() -> Schema:
    humidity = {"type": "number", "minimum": 0, "maximum": 100}
    return _object({"humidity": humidity, "exposure": _choice(*EXPOSURES), "drying_difference": _NUMBER}, [])


def _handling() -> Schema:
    keys = {
        "lift_points": _list(_QUANTITY, 2, 2),
        **_sizes("age", "strength", "flexural_yield"),
        "multiplier": _NUMBER,
        "stressed": _FLAG,
    }
    return _object(keys, ["lift_points", "age", "strength"])


def _criteria() -> Schema:
    plain = ("live_deflection", "long_deflection", "uplift_factor", "remaining", "crown")
    sizes = (
        "life",
        "cover",
        "transfer_tension",
        "sustained_tension",
        "service_tension",
        "bursting",
        "support_pressure",
        "support_tolerance",
    )
    return _object({**dict.fromkeys(plain, _NUMBER), **_sizes(*sizes)}, [])
