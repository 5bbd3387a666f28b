"""Drawings on pages: of a revision, and of a document that is being typed."""

import json

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Role
from tests.factories import document, make_design, newest, person
from tests.page_reading import as_read

pytestmark = pytest.mark.django_db


@pytest.fixture
def client() -> Client:
    client = Client()
    client.force_login(person(Role.CREW))
    return client


def preview(client: Client, body) -> tuple[int, str]:
    sent = body if isinstance(body, (bytes, str)) else json.dumps(body)
    answer = client.post(reverse("drawing_preview"), sent, content_type="application/json")
    return answer.status_code, as_read(answer)


def test_a_revision_is_drawn_as_a_part_or_as_a_page(client):
    address = reverse("revision_drawing", args=[newest(make_design()).pk])
    part = as_read(client.get(address, headers={"HX-Request": "true"}))
    assert part.count("<svg") == 2
    assert "<html" not in part
    page = as_read(client.get(address))
    assert "<html" in page
    assert "drawing-elevation-title" in page


def test_what_is_typed_is_drawn(client):
    status, body = preview(client, document())
    assert (status, body.count("<svg")) == (200, 2)


@pytest.mark.parametrize(
    "body",
    [
        "",
        "{",
        "[]",
        "null",
        '{"format": "piece-specification/1"}',
        '{"a": NaN}',
        "[" * 100_000,
        b"\xff\xfe",
        " " * 600_000,
    ],
    ids=range(9),
)
def test_what_is_no_piece_yet_is_not_drawn(client, body):
    assert preview(client, body)[0] == 422


def test_labels_are_text_on_the_page(client):
    hostile = document(loads=[{"label": "<img src=x onerror=alert(1)>", "case": "live", "type": "area", "value": 40}])
    status, body = preview(client, hostile)
    assert status == 200
    assert "<img" not in body
    assert "&lt;img" in body


def test_nobody_else_gets_a_drawing():
    answer = Client().post(reverse("drawing_preview"), "{}", content_type="application/json")
    assert answer.status_code == 302
    assert Client().get(reverse("revision_drawing", args=[1])).status_code == 302


def test_unknown_revisions_are_unknown(client):
    assert client.get(reverse("revision_drawing", args=[987654])).status_code == 404
