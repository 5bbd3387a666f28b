"""Document → form → document is the same document; faults land on their fields; the form's buttons do what they say."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs import starters
from jobs.forms.specification import TooMuch, document_of, fits_the_form, lay_out, read_fields, rework, tree_of
from jobs.forms.specification.document import field_pairs, quantity

EXAMPLES = Path(__file__).parents[1] / "core" / "independent" / "data"  # where they are from: the README there
DOCUMENTS = {
    path.stem: json.loads(path.read_text(encoding="utf-8"))
    for path in sorted(EXAMPLES.glob("*.json"))
    if json.loads(path.read_text(encoding="utf-8")).get("format") == "piece-specification/1"
}
DOCUMENTS |= {starter.name: starters.document(starter.name) for starter in starters.starters()}


@dataclass
class Fault:
    path: str
    message: str


def through_the_form(document: dict[str, Any]) -> dict[str, Any]:
    """As a browser would send it: names and text, with the line ends of forms."""
    pairs = [(name, text.replace("\n", "\r\n")) for name, text in field_pairs(tree_of(document))]
    return document_of(read_fields(pairs))


def test_there_are_examples_to_go_through() -> None:
    assert len(DOCUMENTS) >= 10


@pytest.mark.parametrize("name", sorted(DOCUMENTS))
def test_an_example_comes_back_as_the_same_document(name: str) -> None:
    assert through_the_form(DOCUMENTS[name]) == DOCUMENTS[name]
    assert fits_the_form(DOCUMENTS[name])


LENGTHS = st.one_of(
    st.integers(-10_000, 10_000),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.sampled_from(["6 ft 3-1/2 in", "6' 3-1/2\"", "75 1/2 in", "3/8 in", "1.83 m", "2.5 MPa", "9.2 kip"]),
)
WORDS = st.text(st.characters(codec="utf-8", exclude_characters="\r\n\0"), max_size=30)
BLOCKS = st.lists(
    st.fixed_dictionaries({"left": LENGTHS, "width": LENGTHS, "bottom": LENGTHS, "height": LENGTHS}), max_size=3
)
LEGS = st.fixed_dictionaries({"thickness": LENGTHS, "drop": LENGTHS})
RINGS = st.lists(st.lists(LENGTHS, min_size=2, max_size=2), min_size=3, max_size=6)
SLAB = {"width": LENGTHS, "depth": LENGTHS}
SHAPES = st.one_of(
    st.fixed_dictionaries({"type": st.just("solid"), **SLAB}, optional={"bottom": LENGTHS}),
    st.fixed_dictionaries({"type": st.just("cored"), **SLAB, "cores": BLOCKS}),
    st.fixed_dictionaries({"type": st.just("apron"), **SLAB}, optional={"front": LEGS, "back": LEGS}),
    st.fixed_dictionaries({"type": st.just("rails"), "rails": BLOCKS}),
    st.fixed_dictionaries(
        {"type": st.just("outline"), "outer": RINGS}, optional={"holes": st.lists(RINGS, max_size=2)}
    ),
)
ZONES = st.lists(st.fixed_dictionaries({"to": LENGTHS, "shape": SHAPES}), min_size=1, max_size=4)
SUPPORTS = st.lists(
    st.fixed_dictionaries({"at": LENGTHS}, optional={"bearing": LENGTHS, "hold_down": st.booleans()}), max_size=4
)
LOADS = st.lists(
    st.fixed_dictionaries(
        {
            "case": st.sampled_from(["dead", "live"]),
            "type": st.sampled_from(["area", "line", "point"]),
            "value": LENGTHS,
        },
        optional={
            "label": WORDS,
            "at": st.one_of(LENGTHS, st.just("anywhere")),
            "from": LENGTHS,
            "alone": st.booleans(),
        },
    ),
    max_size=4,
)
GRADES = st.one_of(
    st.sampled_from(["A193 B7", "8.8", "4.6"]),
    st.fixed_dictionaries(
        {"name": WORDS.filter(bool), "yield": LENGTHS, "ultimate": LENGTHS}, optional={"area": LENGTHS}
    ),
)
RODS = st.lists(
    st.fixed_dictionaries(
        {
            "mark": st.sampled_from(["R1", "L", "m-2"]),
            "grade": GRADES,
            "profile": st.lists(st.lists(LENGTHS, min_size=2, max_size=2), max_size=5),
        },
        optional={
            "like": st.just("R1"),
            "pocket": st.fixed_dictionaries({}, optional={"width": LENGTHS, "height": LENGTHS}),
            "jacking_force": LENGTHS,
        },
    ),
    max_size=3,
)
SPECIFICATIONS = st.fixed_dictionaries(
    {
        "format": st.just("piece-specification/1"),
        "mark": st.sampled_from(["C-1", "B_2"]),
        "units": st.sampled_from(["us", "si"]),
        "length": LENGTHS,
        "zones": ZONES,
        "supports": SUPPORTS,
    },
    optional={
        "title": WORDS,
        "loads": LOADS,
        "rods": RODS,
        "environment": st.just({}),
        "criteria": st.fixed_dictionaries({}, optional={"bursting": LENGTHS, "life": LENGTHS}),
        "stressing": st.fixed_dictionaries(
            {"age": LENGTHS},
            optional={
                "steps": st.lists(LENGTHS, max_size=4),
                "order": st.lists(st.sampled_from(["R1", "L"]), max_size=3),
                "restress": st.just([]),
            },
        ),
    },
)


@given(SPECIFICATIONS)
def test_any_document_of_the_format_comes_back_as_the_same_document(document: dict[str, Any]) -> None:
    assert through_the_form(document) == document


@given(st.one_of(st.integers(), st.floats(allow_nan=False, allow_infinity=False)))
def test_a_number_is_read_as_the_number_it_was(number: int | float) -> None:
    assert quantity(repr(number)) == number


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("108", 108),
        (" .5 ", ".5"),
        ("3/8", "3/8"),
        ("6' 3-1/2\"", "6' 3-1/2\""),
        ("1e3", 1000.0),
        ("NaN", "NaN"),
        ("1_000", "1_000"),
        ("٣", "٣"),
    ],
)
def test_what_is_no_plain_number_stays_the_text_that_was_typed(typed: str, meant: Any) -> None:
    document = document_of(read_fields([("length", typed)]))
    assert document["length"] == (0.5 if meant == ".5" else meant)


def test_a_document_with_more_than_the_form_knows_does_not_fit() -> None:
    document = starters.document("bench")
    assert not fits_the_form({**document, "colour": "red"})
    assert not fits_the_form({**document, "rods": [{"mark": "R1", "nut": {}}]})
    assert not fits_the_form({**document, "title": None})
    assert not fits_the_form({**document, "zones": document["zones"] * 61})


def test_forty_zones_stay_far_below_the_limit_of_fields(settings: Any) -> None:
    zone = DOCUMENTS["foam-core-counter"]["zones"][1]
    document = {**DOCUMENTS["foam-core-counter"], "zones": [zone] * 40}
    paper = lay_out(tree_of(document))
    assert fits_the_form(document)
    assert (
        sum(_fields(entry) for chapter in paper.chapters for entry in chapter.entries)
        < settings.DATA_UPLOAD_MAX_NUMBER_FIELDS / 2
    )


def _fields(entry: Any) -> int:
    return (entry.kind in ("cell", "part")) + sum(_fields(inner) for inner in entry.inside)


def test_more_rows_than_the_form_takes_are_refused_in_words() -> None:
    with pytest.raises(TooMuch, match="at most 60 zones, and 61 came"):
        read_fields((f"zones[{number}].to", "1") for number in range(61))
    with pytest.raises(TooMuch, match="characters"):
        read_fields([("title", "x" * 5000)])


def test_names_that_are_none_of_the_forms_are_passed_over() -> None:
    tree = read_fields(
        [
            ("zones[0].to", "9"),
            ("zones[0].colour", "red"),
            ("__proto__", "x"),
            ("zones[99999].to", "1"),
            ("zones", "flat"),
        ]
    )
    assert tree == {"zones": [{"to": "9"}]}


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ("concrete.strength", "concrete.strength"),
        ("rods[1].profile[0][1]", "rods[1].profile[0][1]"),
        ("zones[0].shape", "zones[0].shape"),
        ("zones[0].shape.colour", "zones[0].shape"),
        ("rods[0].grade", "rods[0].grade"),
        ("rods[0].profile[9][1]", "rods[0].profile"),
        ("stressing.steps[2]", "stressing.steps"),
        ("stressing.order", "stressing.order"),
        ("handling.lift_points[1]", "handling.lift_points"),
    ],
)
def test_a_fault_lands_on_its_field_or_on_what_is_nearest_around_it(path: str, place: str) -> None:
    tree = tree_of(starters.document("bar-top"))
    tree["rods"][1]["profile"] = [["1", "2"], ["3", "4"]]
    paper = lay_out(tree, [Fault(path, "cannot be")])
    marked = [entry for chapter in paper.chapters for top in chapter.entries for entry in _all(top) if entry.faults]
    assert [entry.name for entry in marked] == [place]
    assert paper.summary == [(marked[0].id, path, "cannot be")]


def test_a_fault_of_the_document_itself_is_in_the_summary() -> None:
    paper = lay_out({}, [Fault("", "no piece"), Fault("colour", "not known")])
    assert [(place, message) for place, _, message in paper.summary] == [("", "no piece"), ("", "not known")]


def _all(entry: Any) -> Any:
    yield entry
    for inner in entry.inside:
        yield from _all(inner)


def test_a_new_zone_takes_over_the_shape_before_it() -> None:
    tree = rework(tree_of(starters.document("foam-core-counter")), "add zones")
    assert tree["zones"][3]["shape"] == tree["zones"][2]["shape"]
    assert tree["zones"][3]["to"] == ""


def test_a_new_rod_is_like_the_first() -> None:
    assert rework(tree_of(starters.document("bench")), "add rods")["rods"][2] == {"mark": "", "like": "R1"}


@pytest.mark.parametrize(
    ("wish", "look"),
    [
        ("remove rods[0]", lambda tree: [rod["mark"] for rod in tree["rods"]] == ["R2"]),
        ("up rods[1]", lambda tree: [rod["mark"] for rod in tree["rods"]] == ["R2", "R1"]),
        ("copy supports[0]", lambda tree: [support["at"] for support in tree["supports"]] == ["14", "14", "82"]),
        ("add rods[0].profile", lambda tree: tree["rods"][0]["profile"][2] == ["", ""]),
        ("remove rods[0].pocket", lambda tree: "pocket" not in tree["rods"][0]),
        ("remove handling", lambda tree: "handling" not in document_of(tree)),
        ("own rods[0].grade", lambda tree: tree["rods"][0]["grade"] == {"name": "A193 B7"}),
    ],
)
def test_what_each_button_does(wish: str, look: Any) -> None:
    assert look(rework(tree_of(starters.document("bench")), wish))


def test_taking_out_and_putting_in_again() -> None:
    tree = rework(rework(tree_of(starters.document("bench")), "remove handling"), "add handling")
    assert document_of(tree)["handling"] == {}  # asked for and empty: the contract says what is missing
    again = rework(rework(tree, "own rods[0].grade"), "standard rods[0].grade")
    assert again["rods"][0]["grade"] == "A193 B7"


@pytest.mark.parametrize(
    "wish",
    [
        "",
        "remove zones[7]",
        "add nonsense",
        "up zones[0]",
        "remove zones",
        "add zones[0].shape.cores",
        "own mark",
        "add __class__",
        "remove rods[0].mark",
        "copy concrete",
    ],
)
def test_a_wish_that_makes_no_sense_changes_nothing(wish: str) -> None:
    tree = tree_of(starters.document("bench"))
    assert rework(tree, wish) == tree
