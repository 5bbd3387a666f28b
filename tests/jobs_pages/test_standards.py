"""The library of standard pieces as pages: made, watched, approved, ordered from, past a limit, opened as a draft."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from jobs.models import Design, StandardPiece, StandardUse
from tests.factories import make_order, newest, person
from tests.jobs.test_standards import made, template, worked
from tests.page_reading import Page, objections

pytestmark = pytest.mark.django_db


def read(client: Any, name: str, *args: Any, query: str = "") -> str:
    answer = client.get(reverse(name, args=args) + query)
    assert answer.status_code == 200
    text = answer.content.decode()
    assert objections(text) == []
    return text


def test_one_is_made_of_a_released_drawing_watched_and_approved(signed_in: Any) -> None:
    design, manager = template(), signed_in("manager")
    address = reverse("standard_make", args=[newest(design).pk])
    assert address in read(manager, "design", design.pk)
    text = read(manager, "standard_make", newest(design).pk)
    assert "The template has 100 in." in text
    sent = Page(text).values() | {"name": "Counter", "steps": "2", "length_low": "94", "length_high": "8 ft 4 in"}
    assert manager.post(address, sent).status_code == 302
    row = StandardPiece.objects.get()
    assert row.limits == [{"measure": "length", "low": 94.0, "high": 100.0}]
    watched = manager.get(reverse("standard_under_way", args=[row.pk]))
    assert b"The limits are being checked: 0 % done." in watched.content
    worked(row)
    assert manager.get(reverse("standard_under_way", args=[row.pk]))["HX-Refresh"] == "true"
    assert "2</span> of" in read(manager, "standard_piece", row.pk)
    assert manager.post(reverse("standard_approve", args=[row.pk])).status_code == 403
    assert "No engineer has approved Counter." in read(manager, "standard_pieces")
    assert signed_in("engineer").post(reverse("standard_approve", args=[row.pk])).status_code == 302
    assert "ready to be ordered from" in read(signed_in("viewer"), "standard_pieces")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({}, "at least one measure"),
        ({"length_low": "90"}, "Give both ends"),
        ({"length_low": "100", "length_high": "90"}, "under the lower end"),
        ({"length_low": "a yard", "length_high": "90"}, "Write a number in in"),
        ({"length_low": "40", "length_high": "50"}, "lies outside its limits"),
        ({"length_low": "90", "length_high": "100", "steps": "1"}, "greater than or equal to 2"),
    ],
)
def test_limits_that_cannot_be_are_refused_with_words_and_kept(
    wrong: dict[str, str], words: str, signed_in: Any
) -> None:
    address = reverse("standard_make", args=[newest(template()).pk])
    client = signed_in("engineer")
    answer = client.post(address, Page(client.get(address).content.decode()).values() | {"name": "Counter"} | wrong)
    text = answer.content.decode()
    assert (answer.status_code, StandardPiece.objects.count()) == (422, 0)
    assert words in text
    assert Page(text).field("name").get("value") == "Counter"
    assert objections(text) == []


def test_ordered_within_its_limits_and_told_past_them(signed_in: Any) -> None:
    from jobs.actions import standards

    row = standards.approve(worked(made()), by=person("engineer"))
    order, client = make_order(), signed_in("manager")
    started = read(client, "design_new", order.pk)
    assert f"{reverse('standard_piece', args=[row.pk])}?order={order.pk}" in started
    text = read(client, "standard_piece", row.pk, query=f"?order={order.pk}")
    assert Page(text).values()["order"] == str(order.pk)
    address, before = reverse("standard_piece", args=[row.pk]), Design.objects.count()
    sent = Page(text).values() | {"mark": "S-1", "length": "9 ft", "live_load": "35", "do": "make"}
    past = client.post(address, sent)
    assert past.status_code == 409
    assert "the length, 108 in, is not within 94 in to 100 in" in past.content.decode()
    assert objections(past.content.decode()) == []
    assert Design.objects.count() == before
    drawn = client.post(address, sent | {"do": "draw"})
    page = Page(drawn.content.decode())
    shown = [page.field(name).get("value") for name in ("length", "mark")]
    assert (drawn.status_code, shown) == (200, ["108.0", "S-1"])
    assert reverse("design_new", args=[order.pk]) in [form.get("action") for form in page.all("form")]
    assert (Design.objects.count(), StandardUse.objects.count()) == (before, 0)
    answer = client.post(address, sent | {"length": "8 ft"})
    design = Design.objects.get(mark="S-1")
    assert answer["Location"] == reverse("design", args=[design.pk])
    assert "within the limits approved on" in read(client, "design", design.pk)


def test_what_is_drawn_from_past_a_limit_is_saved_like_any_other_design(signed_in: Any) -> None:
    row, order, client = worked(made()), make_order(), signed_in("engineer")
    address = reverse("standard_piece", args=[row.pk])
    sent = {"order": order.pk, "mark": "S-2", "pieces": "1", "length": "108", "live_load": "35", "do": "draw"}
    values = Page(client.post(address, sent).content.decode()).values() | {"do": "save"}
    assert client.post(reverse("design_new", args=[order.pk]), values).status_code == 302
    assert Design.objects.get(mark="S-2").order == order
    assert not StandardUse.objects.exists()


def test_one_that_is_not_approved_has_no_button_and_takes_no_order(signed_in: Any) -> None:
    row, order, client = worked(made()), make_order(), signed_in("manager")
    text = read(client, "standard_piece", row.pk)
    assert "Make the design" not in text
    sent = {"order": order.pk, "mark": "S-1", "pieces": "1", "length": "96", "live_load": "35", "do": "make"}
    answer = client.post(reverse("standard_piece", args=[row.pk]), sent)
    assert answer.status_code == 409
    assert b"No engineer has approved" in answer.content
    assert not Design.objects.filter(mark="S-1").exists()


def test_retired_it_leaves_the_library(signed_in: Any) -> None:
    row, client = worked(made()), signed_in("manager")
    assert client.post(reverse("standard_retire", args=[row.pk])).status_code == 302
    assert "None yet." in read(client, "standard_pieces")
    assert "Retire this" not in read(client, "standard_piece", row.pk)
    assert client.post(reverse("standard_retire", args=[row.pk])).status_code == 409
