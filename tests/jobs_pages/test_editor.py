"""The specification editor as a person meets it: refused and kept, saved, brought in, two people at once."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from jobs import starters
from jobs.forms.specification import tree_of
from jobs.forms.specification.document import field_pairs
from jobs.models import Design, Revision
from tests.factories import document, make_design, make_order, newest, revise
from tests.page_reading import Page, as_read, objections

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]


def fields(content: dict[str, Any], **more: str) -> dict[str, str]:
    return dict(field_pairs(tree_of(content))) | {"request_id": str(uuid4()), "do": "save"} | more


def edit(design: Design, content: dict[str, Any], client: Client, **more: str) -> Any:
    sent = fields(content, base_revision=str(newest(design).number), **more)
    return client.post(reverse("design_edit", args=[design.pk]), sent)


def test_a_new_design_from_a_starting_piece_is_saved_as_it_stands_in_the_form(signed_in: SignIn) -> None:
    order, client = make_order(), signed_in("engineer")
    address = reverse("design_new", args=[order.pk])
    page = Page(client.get(address, {"start": "bench"}).content.decode())
    sent = page.values() | {"do": "save", "pieces": "3", "load_test_required": "on"}
    answer = client.post(address, sent)
    design = Design.objects.get(order=order)
    assert answer["Location"] == reverse("design", args=[design.pk])
    assert newest(design).specification.document == starters.document("bench")
    assert (design.pieces.count(), design.load_test_required) == (3, True)


@pytest.mark.parametrize("name", [starter.name for starter in starters.starters()])
def test_every_starting_piece_opens_in_the_form_and_keeps_the_rules(name: str, signed_in: SignIn) -> None:
    html = as_read(signed_in("manager").get(reverse("design_new", args=[make_order().pk]), {"start": name}))
    assert f'value="{starters.document(name)["mark"]}"' in html
    assert objections(html) == []


def test_a_refused_form_keeps_what_was_typed_and_marks_each_fault_at_its_field(signed_in: SignIn) -> None:
    design, client = make_design(), signed_in("engineer")
    content = newest(design).specification.document
    sent = fields(content, base_revision="1", note="why not") | {
        "length": "12 kip",
        "concrete.strength": "",
        "rods[0].across": "abc",
    }
    answer = client.post(reverse("design_edit", args=[design.pk]), sent)
    html = as_read(answer)
    page = Page(html)
    assert answer.status_code == 422
    assert Revision.objects.filter(design=design).count() == 1
    assert page.values()["length"] == "12 kip"
    assert page.values()["rods[0].across"] == "abc"
    assert page.values()["note"] == "why not"
    for name in ("length", "concrete.strength", "rods[0].across"):
        field = page.field(name)
        assert field.get("aria-invalid") == "true", name
        assert f'href="#{field.get("id")}"' in html, name
    assert "Everything you typed is still here" in html
    assert objections(html) == []


def test_the_same_tap_twice_makes_one_revision(signed_in: SignIn) -> None:
    design, client = make_design(), signed_in("engineer")
    content = document(title="Another title")
    sent = fields(content, base_revision="1")
    first = client.post(reverse("design_edit", args=[design.pk]), sent)
    second = client.post(reverse("design_edit", args=[design.pk]), sent)
    assert (first.status_code, second.status_code) == (302, 302)
    assert Revision.objects.filter(design=design).count() == 2


def test_two_people_at_once_both_keep_their_work(signed_in: SignIn) -> None:
    design, client = make_design(), signed_in("engineer")
    theirs = revise(design)
    mine = document(title="Mine")
    sent = fields(mine, base_revision="1")
    answer = client.post(reverse("design_edit", args=[design.pk]), sent)
    html = as_read(answer)
    assert answer.status_code == 409
    assert newest(design) == theirs
    assert Page(html).values()["title"] == "Mine"
    assert f'value="on-top {theirs.number}"' in html
    answer = client.post(reverse("design_edit", args=[design.pk]), sent | {"do": f"on-top {theirs.number}"})
    assert answer.status_code == 302
    assert newest(design).specification.document == mine


def test_nothing_changed_is_said_and_nothing_made(signed_in: SignIn) -> None:
    design = make_design()
    answer = edit(design, newest(design).specification.document, signed_in("engineer"))
    assert answer.status_code == 409
    assert "the same as" in as_read(answer)
    assert Revision.objects.filter(design=design).count() == 1


def test_the_buttons_work_without_a_script_and_give_back_the_whole_page(signed_in: SignIn) -> None:
    design, client = make_design(), signed_in("engineer")
    answer = edit(design, newest(design).specification.document, client, do="add zones")
    html = as_read(answer)
    assert answer.status_code == 200
    assert Page(html).field("zones[1].to").get("value") == ""
    assert "<html" in html
    assert objections(html) == []


def test_with_the_script_only_the_form_comes_back(signed_in: SignIn) -> None:
    design, client = make_design(), signed_in("engineer")
    sent = fields(newest(design).specification.document, do="add rods")
    html = as_read(client.post(reverse("design_edit", args=[design.pk]), sent, headers={"HX-Request": "true"}))
    assert "<html" not in html
    assert Page(html).field("rods[2].like").get("value") == "R1"


def test_the_form_gives_its_document_for_the_drawing(signed_in: SignIn) -> None:
    design = make_design()
    content = newest(design).specification.document
    assert edit(design, content, signed_in("engineer"), do="document").json() == content


def test_taken_out_and_brought_in_again_it_is_the_same_document(signed_in: SignIn) -> None:
    design, client = make_design(document=starters.document("bar-top")), signed_in("engineer")
    out = client.get(reverse("specification_file", args=[design.pk]))
    assert out["Content-Disposition"] == 'attachment; filename="BT-1-A.json"'
    assert out.json() == starters.document("bar-top")
    sent = {"do": "import", "file": SimpleUploadedFile("piece.json", out.content, "application/json")}
    page = Page(client.post(reverse("design_new", args=[make_order().pk]), sent).content.decode())
    saved = page.values() | {"do": "save"}
    other = make_order()
    client.post(reverse("design_new", args=[other.pk]), saved)
    assert newest(Design.objects.get(order=other)).specification.document == starters.document("bar-top")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Choose a file"),
        ("{", "not JSON"),
        ("[1]", "JSON object"),
        ('{"a": 1, "a": 2}', "stands twice"),
        ("[" * 100_000, "nested too deeply"),
        (json.dumps({"format": "piece-specification/1"}), "zones"),
        (json.dumps(document(length="3 kip")), "length"),
        ('{"length": NaN}', "to correct"),
        (json.dumps(document()).replace("108", "9" * 4000, 1), "to correct"),
    ],
)
def test_what_cannot_be_brought_in_is_said_in_words_and_kept(text: str, words: str, signed_in: SignIn) -> None:
    answer = signed_in("engineer").post(reverse("design_new", args=[make_order().pk]), {"do": "import", "text": text})
    html = as_read(answer)
    assert answer.status_code == 422
    assert words in html
    assert Page(answer.content.decode()).values()["text"] == text
    assert objections(html) == []


def test_a_file_that_is_not_text_is_refused(signed_in: SignIn) -> None:
    sent = {"do": "import", "file": SimpleUploadedFile("photo.json", b"\xff\xd8\xff\xe0 not text")}
    answer = signed_in("engineer").post(reverse("design_new", args=[make_order().pk]), sent)
    assert answer.status_code == 422
    assert "is not text" in as_read(answer)


def test_ten_thousand_zones_are_refused_in_words(signed_in: SignIn) -> None:
    design, client = make_design(), signed_in("engineer")
    sent = {f"zones[{number}].to": "1" for number in range(100)} | {"do": "save"}
    answer = client.post(reverse("design_edit", args=[design.pk]), sent)
    assert answer.status_code == 422
    assert "at most 60 zones" in as_read(answer)
    sent = {f"zones[{number}].to": "1" for number in range(6000)}
    assert client.post(reverse("design_edit", args=[design.pk]), sent).status_code in (400, 413)


def test_hostile_text_is_shown_as_text(signed_in: SignIn) -> None:
    design = make_design()
    hostile = '"><script>alert(1)</script>'
    html = edit(design, document(title=hostile, mark="<b>"), signed_in("engineer")).content.decode()
    assert "<script>alert" not in html
    assert objections(html) == []
