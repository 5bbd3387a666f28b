"""Revisions and studies side by side, and the space of a search, as pages."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest
from django.urls import reverse

from engineering.models import Study
from engineering.study_actions import start_study
from jobs.actions import stock
from jobs.forms.finder import named_in
from jobs.models import Design, Event
from tests.factories import document, make_design, newest, person, revise
from tests.jobs.test_comparison import checked, work
from tests.page_reading import Page, objections

pytestmark = pytest.mark.django_db


@pytest.fixture
def design() -> Design:
    made = make_design(verdict=None)
    checked(newest(made))
    heavier = deepcopy(document()["loads"])
    heavier[0]["value"] = 80
    checked(revise(made, verdict=None, loads=heavier, supports=document()["supports"]))
    return made


def test_the_two_newest_revisions_stand_side_by_side(design: Design, signed_in: Any) -> None:
    answer = signed_in("viewer").get(reverse("what_if", args=[design.pk]))
    text = answer.content.decode()
    assert answer.status_code == 200
    assert objections(text) == []
    assert "C-104 revision A" in text
    assert "Load use · Value" in text
    assert "live-load deflection" in text
    first, second = design.revisions.order_by("number")
    plots = reverse("compared_revisions", args=[first.pk, second.pk])
    assert plots in text
    drawn = signed_in("crew").get(plots)
    assert drawn.status_code == 200
    assert objections(drawn.content.decode()) == []
    assert "C-104 revision B: crown" in drawn.content.decode()


def test_another_design_can_be_put_beside_it_and_what_is_not_there_is_said(design: Design, signed_in: Any) -> None:
    other, client = newest(make_design()), signed_in("viewer")
    text = client.get(reverse("what_if", args=[design.pk]), {"left": other.pk}).content.decode()
    assert f'<option value="{other.pk}" selected>' in text
    missing = client.get(reverse("what_if", args=[design.pk]), {"left": "99999999"})
    assert missing.status_code == 404
    assert objections(missing.content.decode()) == []


def test_two_studies_of_a_kind_stand_side_by_side(design: Design, signed_in: Any) -> None:
    client = signed_in("viewer")
    assert client.get(reverse("what_if_studies", args=[design.pk])).status_code == 404
    rows = [work(start_study(one.specification, "re-tightening")) for one in design.revisions.order_by("number")]
    text = client.get(reverse("what_if_studies", args=[design.pk])).content.decode()
    assert objections(text) == []
    assert "force that service needs" in text
    assert reverse("compared_studies", args=[row.pk for row in rows]) in text
    linked = client.get(reverse("what_if", args=[design.pk])).content.decode()
    assert f"?left={rows[0].pk}&amp;right={rows[1].pk}" in linked


@pytest.mark.parametrize("kind", ["find-rods", "region", "re-tightening", "tolerance", "advice"])
def test_every_kind_of_study_can_be_compared(design: Design, signed_in: Any, kind: str) -> None:
    small = {"numbers": [2, 3], "heights_in": [1.25], "spreads": [0.8], "shares": [0.4, 0.6], "restress": [[]]}
    asked = {"find-rods": small, "tolerance": {"samples": 10}}.get(kind)
    rows = [work(start_study(one.specification, kind, asked)) for one in design.revisions.order_by("number")]
    client = signed_in("viewer")
    assert objections(client.get(reverse("what_if_studies", args=[design.pk])).content.decode()) == []
    drawn = client.get(reverse("compared_studies", args=[row.pk for row in rows])).content.decode()
    assert ('class="plot-field"' in drawn) == (kind in ("find-rods", "region", "re-tightening"))


# ---- the space of a search -------------------------------------------------------------------------------------------


def test_a_lot_names_its_thread_and_grade() -> None:
    assert named_in("1/2-13 UNC A193 B7, 10 ft") == ("1/2-13 UNC", "A193 B7")
    assert named_in("Threaded rod 5/8-11 UNC, A193 B8 Class 2") == ("5/8-11 UNC", "A193 B8 Class 2")
    assert named_in("M12x1.75 8.8") == ("M12x1.75", "8.8")
    assert named_in("M12 8.8") == ("M12x1.75", "8.8")
    assert named_in("rod, half an inch") is None
    assert named_in("A193 B7 studs") is None


def test_the_space_is_filled_in_with_what_lies_on_the_shelf_and_searched_as_sent(signed_in: Any) -> None:
    made, client = make_design(), signed_in("manager")
    stock.save_lot(by=person(), kind="rod", lot="H-7", description="1/2-13 UNC A193 B7")
    address = reverse("rod_space", args=[made.pk])
    text = client.get(address).content.decode()
    assert objections(text) == []
    assert "1/2-13 UNC A193 B7 (lot H-7)" in text
    ticked = [box for box in Page(text).all("input") if box.get("name") == "shelf" and "checked" in box.attributes]
    assert [box.get("value") for box in ticked] == ["1/2-13 UNC | A193 B7"]
    sent = Page(text).values() | {"shelf": "1/2-13 UNC | A193 B7", "fewest": "2", "most": "3", "lowest": "1 in"}
    sent |= {"highest": "1.5 in", "levels": "3", "shares": "40, 60 %", "spreads": "80", "restress": "never\n28, 90"}
    assert client.post(address, sent).status_code == 302
    study = Study.objects.get()
    assert study.settings == {
        "shelf": [["1/2-13 UNC", ["A193 B7"]]],
        "numbers": [2, 3],
        "heights_in": [1.0, 1.25, 1.5],
        "spreads": [0.8],
        "shares": [0.4, 0.6],
        "restress": [[], [28.0, 90.0]],
    }
    assert Event.objects.filter(verb="study-started", by=client.person).count() == 1


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"fewest": "4", "most": "2"}, "fewer than the least"),
        ({"lowest": "2", "highest": "1"}, "under the lowest"),
        ({"shares": "a lot"}, "no list of percents"),
        ({"restress": "90, 28"}, "ages rise"),
        ({"shelf": ""}, "not one of the available choices"),
    ],
)
def test_a_space_that_cannot_be_is_refused_at_its_field_and_kept(
    wrong: dict[str, str], words: str, signed_in: Any
) -> None:
    made, client = make_design(), signed_in("manager")
    address = reverse("rod_space", args=[made.pk])
    sent = Page(client.get(address).content.decode()).values() | {"shelf": "1/2-13 UNC | A193 B7"} | wrong
    answer = client.post(address, sent)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert words in text
    assert objections(text) == []
    for name, value in wrong.items():
        assert not value or name in ("restress", "shelf") or Page(text).field(name).get("value") == value
    assert (Study.objects.count(), Event.objects.filter(verb="study-started").count()) == (0, 0)


def test_a_space_too_large_says_how_large(signed_in: Any) -> None:
    made, client = make_design(), signed_in("engineer")
    address = reverse("rod_space", args=[made.pk])
    sent = Page(client.get(address).content.decode()).values()
    sent |= {"shelf": "1/2-13 UNC | A193 B7", "fewest": "1", "most": "12", "levels": "24"}
    percents = ", ".join(str(n) for n in range(10, 22))
    plans = "\n".join(f"{n}" for n in range(28, 34))
    answer = client.post(address, sent | {"spreads": percents, "shares": percents, "restress": plans})
    assert answer.status_code == 422
    assert "248832 designs" in answer.content.decode()
    assert Study.objects.count() == 0


@pytest.mark.parametrize("role", ["crew", "viewer"])
def test_the_space_is_for_those_who_draw(role: str, signed_in: Any) -> None:
    address = reverse("rod_space", args=[make_design().pk])
    assert signed_in(role).get(address).status_code == 403
    assert signed_in(role).post(address, {}).status_code == 403
    assert Study.objects.count() == 0
