"""The JSON schema takes what `parse` takes, and refuses what is of the wrong kind."""

import copy

import jsonschema
import pytest

from engineering.core.contract import schema

VALIDATOR = jsonschema.Draft202012Validator(schema())

STRUCTURAL = [
    ("format", "x"),
    ("mark", "a b"),
    ("units", "imperial"),
    ("cast", 1),
    ("length", True),
    ("length", [1]),
    ("zones", []),
    ("zones", [{"to": 96}]),
    ("zones", [{"to": 96, "shape": {"type": "solid", "width": 25}}]),
    ("zones", [{"to": 96, "shape": {"type": "solid", "width": 25, "depth": 3, "cores": []}}]),
    ("zones", [{"to": 96, "shape": {"type": "apron", "width": 25, "depth": 3}}]),
    ("supports", [{"at": 3}]),
    ("supports", [{"at": 3}, {"at": 9, "hold_down": 1}]),
    ("sustained_live", "0.2"),
    ("sustained_live", 2),
    ("loads", [{"case": "live", "type": "point", "value": 3}]),
    ("loads", [{"case": "live", "type": "area", "at": 3, "value": 3}]),
    ("loads", [{"case": "snow", "type": "area", "value": 3}]),
    ("concrete", {"density": 130}),
    ("stressing", {"age": 7}),
    ("stressing", {"age": 7, "method": "hammer"}),
    ("stressing", {"age": 7, "method": "jack", "steps": []}),
    ("environment", {"exposure": "wet"}),
    ("handling", {"age": 2, "strength": 2500}),
    ("handling", None),
    ("criteria", {"lifetime": 3}),
    ("rods", [{"mark": "R1"}]),
    ("rods", [{"like": "R1"}]),
    ("extra", 1),
    ("installation", {"age": None}),
]


def test_it_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(schema())


def test_it_takes_the_pieces_handed_over(accepted):
    assert [name for name, document in accepted.items() if not VALIDATOR.is_valid(document)] == []


@pytest.mark.parametrize(("key", "value"), STRUCTURAL, ids=[f"{key}-{i}" for i, (key, _) in enumerate(STRUCTURAL)])
def test_both_refuse_what_is_of_the_wrong_kind(counter, faults_of, key, value):
    counter[key] = value
    assert not VALIDATOR.is_valid(counter)
    assert faults_of(counter)


@pytest.mark.parametrize("key", ["format", "mark", "units", "length", "zones", "supports", "concrete", "stressing"])
def test_both_miss_a_missing_key(counter, faults_of, key):
    del counter[key]
    assert not VALIDATOR.is_valid(counter)
    assert key in faults_of(counter)


@pytest.mark.parametrize(
    "key",
    ["title", "cast", "core_density", "loads", "sustained_live", "installation", "environment", "handling", "criteria"],
)
def test_both_take_a_document_without_a_key_that_has_a_default(counter, faults_of, key):
    del counter[key]
    assert VALIDATOR.is_valid(counter)
    assert faults_of(counter) == {}


def test_a_copy_may_be_changed():
    before = copy.deepcopy(schema())
    schema()["properties"].clear()
    assert schema() == before
