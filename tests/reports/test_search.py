"""One box over the whole book: what is found, by whom, how much of it, and with how many queries."""

from __future__ import annotations

import html
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.actions import attachments, orders, quality, stock
from jobs.models import Role, Stage
from tests.factories import make_attachment, make_design, make_mix, make_order, make_wrench, person, piece_at
from tests.page_reading import objections
from tests.reports.issuing import issued

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path


def look(text: str, role: str = Role.VIEWER, status: int = 200) -> str:
    client = Client()
    client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get(reverse("search"), {"q": text})
    assert answer.status_code == status
    assert objections(answer.content.decode()) == []
    return html.unescape(answer.content.decode())


def test_one_word_finds_every_kind_of_thing() -> None:
    order = make_order(number="O-77", client="Quarry House", notes="by the quarry gate")
    piece = piece_at(Stage.POURED)
    design = make_design(order, title="Quarry counter")
    quality.raise_non_conformance(piece, by=person(), what="A quarry stone in the face")
    stock.save_lot(by=person(), kind="rod", lot="Q-1", description="1/2-13", supplier="Quarry Steel")
    make_attachment(order, name="quarry plan.txt")
    page = look("quarry")
    for title in ("Orders", "Clients", "Designs", "Pieces", "Lots", "Non-conformances", "Files"):
        assert f">{title}</h2>" in page, title
    assert reverse("design", args=[design.pk]) in page
    assert "quarry plan.txt" in page


def test_a_piece_by_its_mark_and_serial_a_batch_and_a_record_by_its_number() -> None:
    piece, record = piece_at(Stage.POURED), issued()
    other = make_design(title="another")
    page = look(f"{piece.design.mark}/{piece.serial}")
    assert reverse("piece", args=[piece.pk]) in page
    assert reverse("design", args=[other.pk]) not in page
    assert reverse("piece", args=[piece.pk]) in look(piece.pour.batch)
    for typed in (record.number, record.number.lower().replace("-", "")):
        assert reverse("record", args=[record.number]) in look(typed)
    assert reverse("record", args=[record.number]) not in look("PT" + record.number[2:])


def test_every_word_has_to_be_there_and_a_percent_sign_is_a_letter() -> None:
    make_order(number="O-1", client="Ash Bar", site="Mill Lane")
    assert "O-1" in look("mill ash")
    assert ">Orders</h2>" not in look("mill oak")
    for text in ("%", "_", "O%1"):
        assert ">Orders</h2>" not in look(text)


def test_an_order_that_is_put_away_is_found_and_says_so() -> None:
    order = make_order(client="Long Gone")
    orders.archive_order(order, by=person())
    assert "put away" in look("long gone")


def test_people_mixes_and_wrenches_are_for_those_who_see_their_pages() -> None:
    wanted = person(Role.CREW, first_name="Zebulon", email="zeb@example.org")
    mix, wrench = make_mix(), make_wrench(name="Zebulon's wrench")
    for role in (Role.VIEWER, Role.CREW, Role.ENGINEER):
        for text in ("zebulon", "example.org", mix.name, wanted.username):
            page = look(text, role)
            assert reverse("person", args=[wanted.pk]) not in page
            assert not any(f">{title}</h2>" in page for title in ("People", "Mixes", "Wrenches"))
    page = look("zebulon", Role.MANAGER)
    assert reverse("person", args=[wanted.pk]) in page
    assert reverse("wrench", args=[wrench.pk]) in page
    assert reverse("mix", args=[mix.pk]) in look(mix.name, Role.MANAGER)


def test_no_link_leads_where_the_person_may_not_go() -> None:
    piece = piece_at(Stage.POURED)
    order = piece.design.order
    stock.save_lot(by=person(), kind="rod", lot="C-104-lot", description="of C-104")
    make_attachment(order, name=f"{order.number}.txt")
    quality.raise_non_conformance(piece, by=person(), what=f"{order.number} chipped, C-104")
    for role in Role.values:
        client = Client()
        client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
        for text in (order.number, "C-104", order.client):
            tables = client.get(reverse("search"), {"q": text}).context["tables"]
            urls = [row[0].url for table in tables for row in table.rows if hasattr(row[0], "url")]
            assert urls
            assert [url for url in urls if client.get(url).status_code != 200] == []


def test_what_was_taken_off_is_not_found() -> None:
    row = make_attachment(make_order(), name="secret plan.txt")
    attachments.take_off(row, by=person(), reason="old")
    assert "secret plan" not in look("secret", Role.MANAGER).replace('value="secret', "")


@pytest.mark.parametrize(("text", "words"), [("a\0b", "Null"), ("x" * 101, "100")])
def test_what_cannot_be_looked_for_is_refused_in_words_and_nothing_is_found(text: str, words: str) -> None:
    make_order(client="x" * 101)
    page = look(text, status=422)
    assert words in page
    assert "</h2>" not in page


def test_many_words_and_odd_letters_are_no_fault() -> None:
    odd = ("/", "C-104/99999", "DR-999999999", "9" * 20, "\ufffd", "'; DROP TABLE x", "<script>", "\u202e")
    for text in ("a " * 49, *odd):
        look(text)


def test_nothing_typed_finds_nothing_and_nobody_sees_the_page_without_signing_in() -> None:
    make_order()
    assert "</h2>" not in look("  ")
    assert Client().get(reverse("search")).status_code == 302


def test_a_kind_shows_ten_and_says_that_there_are_more_with_as_many_queries() -> None:
    client = Client()
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            assert client.get(reverse("search"), {"q": "rowan"}).status_code == 200
        return len(seen)

    for number in range(2):
        make_design(make_order(client=f"Rowan {number}"), title="Rowan")
    few = queries()
    for number in range(12):
        make_design(make_order(client=f"Rowan and {number}"), title="Rowan", verdict=None)
    assert queries() == few <= 20
    tables = {table.title: table for table in client.get(reverse("search"), {"q": "rowan"}).context["tables"]}
    assert len(tables["Orders"].rows) == 10
    assert "first 10" in tables["Orders"].lead
