"""Whatever JSON says: a Piece, or a refusal with paths. Never another exception."""

import copy
import json
import random

from hypothesis import given, settings
from hypothesis import strategies as st

from engineering.core.contract import Piece, SpecificationRefused, from_json, parse
from engineering.core.contract.refusal import refusal_document

ODD = [
    None,
    True,
    False,
    0,
    -1,
    1,
    0.5,
    1e-12,
    1e300,
    -1e300,
    10**400,
    float("nan"),
    float("inf"),
    "",
    "3 in",
    "3/0 in",
    "x",
    "R1",
    "\ud800",
    "\u0000",
    "anywhere",
    [],
    {},
    [[]],
    [{}],
    [1, 2],
    {"type": "solid"},
    "6' 3\"",
    "99 years",
    "1 psi",
]

json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.sampled_from(ODD[:12]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=12,
)


def piece_or_refusal(document):
    """The piece, or the faults; any other exception goes through and fails the test."""
    try:
        return parse(document)
    except SpecificationRefused as refused:
        return refused.faults


def look_at(document):
    found = piece_or_refusal(document)
    if not isinstance(found, Piece):
        assert found
        assert all(fault.message for fault in found)
        json.dumps(refusal_document(SpecificationRefused(found)), ensure_ascii=False).encode()


def places(value, path=()):
    """Every place of a document, as a tuple of keys."""
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from places(item, (*path, key))


def changed(document, path, value):
    fresh = copy.deepcopy(document)
    target = fresh
    for key in path[:-1]:
        target = target[key]
    target[path[-1]] = value
    return fresh


@given(json_values)
def test_any_json_value(value):
    look_at(value)


@given(st.text(max_size=40) | st.binary(max_size=40))
def test_any_text(text):
    try:
        found = (from_json(text),)
    except SpecificationRefused as refused:
        found = refused.faults
    assert found


def test_every_place_of_a_piece_replaced_by_odd_values(accepted):
    """Each place with each odd value: some two thousand documents, each a piece or a refusal."""
    document = accepted["01-counter-cored"]
    for path in places(document):
        if path:
            for value in ODD:
                look_at(changed(document, path, value))


@settings(max_examples=200)
@given(st.integers(0, 2**32), st.integers(2, 8))
def test_several_places_at_once(accepted, seed, count):
    chance = random.Random(seed)
    document = copy.deepcopy(chance.choice(list(accepted.values())))
    for _ in range(count):
        path = chance.choice([p for p in places(document) if p])
        document = changed(document, path, copy.deepcopy(chance.choice(ODD)))
    look_at(document)


@given(
    json_values,
    st.sampled_from(["zones", "supports", "loads", "concrete", "rods", "stressing", "handling", "criteria"]),
)
def test_any_value_under_a_known_key(accepted, value, key):
    look_at({**accepted["01-counter-cored"], key: value})
