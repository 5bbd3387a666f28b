"""Every field has its words, and what is said of where a range comes from."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.urls import reverse

from jobs import glossary
from jobs.forms.specification.helps import HELPS, field_help, plain_path
from jobs.starters import document, starters
from jobs.views.field_help import all_fields, chapters
from reports.drawing import piece_svg
from reports.drawing.figure import ROLES
from tests.page_reading import Page, objections

FIELDS = list(all_fields())


def test_every_field_has_words_and_no_words_are_of_no_field() -> None:
    assert {field.path for field in FIELDS} == set(HELPS)
    assert len(FIELDS) > 100


@pytest.mark.parametrize("path", sorted(HELPS))
def test_words_say_something_and_a_range_says_where_it_comes_from(path: str) -> None:
    words = HELPS[path]
    assert len(words.means) > 15
    assert words.means.endswith(".")
    assert bool(words.usual) == bool(words.source), "a range without its source, or a source of nothing"
    assert set(words.shows) <= set(ROLES)


def test_a_path_is_found_whatever_the_number_of_its_item() -> None:
    assert plain_path("rods[1].profile[0][1]") == "rods.profile[1]"
    assert plain_path("zones[12].shape.holes[0]") == "zones.shape.holes"
    assert field_help("rods[3].sleeve.wobble") is field_help("rods.sleeve.wobble")
    assert field_help("rods[1].colour") is None


@pytest.mark.parametrize("starter", [one.name for one in starters()])
def test_what_the_words_point_at_is_on_the_drawing(starter: str) -> None:
    """Each role that a field of this piece points at is drawn, and each rod, support and load by its own name."""
    given = document(starter)
    drawn = piece_svg(given) + piece_svg(given, "sections")
    roles = set(re.findall(r'class="[^"]*?dw-([a-z]+)', drawn))
    parts = {part for names in re.findall(r'data-part="([^"]+)"', drawn) for part in names.split()}
    for key, name in (("rods", "rod"), ("supports", "support"), ("loads", "load")):
        assert {f"{key}[{n}]" for n in range(len(given.get(key, [])))} <= parts, name
    for path, words in HELPS.items():
        if path.split(".")[0] in ("length", "rods", "supports", "loads"):
            assert {role for role in words.shows if role in ("rod", "support", "load", "outline")} <= roles, path


def test_the_page_of_every_field_and_of_words(client: Any, db: None) -> None:
    text = client.get(reverse("guide_page", args=["every-field"])).content.decode()
    assert objections(text) == []
    anchors = {element.get("id") for element in Page(text).all("div")}
    assert {field.anchor for field in FIELDS} <= anchors
    assert sum(len(fields) for _, fields in chapters()) == len(FIELDS)
    words = client.get(reverse("guide_page", args=["words"])).content.decode()
    assert objections(words) == []
    assert "Lift-off" in words


def test_the_words_stand_in_order_each_once() -> None:
    names = [word.name.lower() for word in glossary.WORDS]
    assert names == sorted(names)
    assert len({word.anchor for word in glossary.WORDS}) == len(names)


def test_the_words_for_one_field_come_alone(signed_in: Any) -> None:
    client = signed_in("viewer")
    answer = client.get(reverse("field_help"), {"field": "rods[1].jacking_force"})
    text = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in text
    assert 'data-shows="rod anchor"' in text
    assert "Jacking force" in text
    assert "no source" in text
    for wrong in ("", "rods", "nothing", "x" * 9_000, "rods[1].jacking_force\0"):
        assert client.get(reverse("field_help"), {"field": wrong}).status_code == 404


def test_every_field_of_the_editors_page_has_its_words(signed_in: Any) -> None:
    from tests.factories import make_design

    text = signed_in("engineer").get(reverse("design_edit", args=[make_design().pk])).content.decode()
    named = [element.get("name") for element in Page(text).all("input", "select", "textarea")]
    ours = [name for name in named if plain_path(name) in HELPS or re.match(r"(rods|zones|loads|supports)\[", name)]
    assert len(ours) > 60
    assert [name for name in ours if field_help(name) is None and not name.endswith("kept__")] == []
