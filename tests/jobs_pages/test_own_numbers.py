"""The shop's own estimates in the editor: shown beside the assumption, put in by a person, told of in the event."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from engineering.core.contract import parse
from jobs import own_numbers, targets
from jobs.actions import production, shop
from jobs.forms.specification import document_of, tree_of
from jobs.models import Design, Event, Pour, Revision, Stage, StrengthTest
from tests.factories import document, make_design, make_order, newest, person, piece_at, read, start
from tests.page_reading import objections

pytestmark = pytest.mark.django_db
CONCRETE = {**document()["concrete"], "label": "House mix, 3 % fibre"}


def with_label(**stressing: Any) -> dict[str, Any]:
    return document(concrete=CONCRETE, stressing={**document()["stressing"], **stressing})


def stressed(number: int) -> None:
    """Pieces whose rods stretched 4 % more than the torque was to bring: K = 0.2/1.04 = 0.192."""
    for _ in range(number):
        round_ = start(piece_at(Stage.STRIPPED, make_design(document=with_label())))
        for rod, step in targets.turns(round_.targets):
            aim = targets.target_at(round_.targets, (rod, step))
            read(round_, rod, step, elongation_in=1.04 * aim["elongation_in"])
        production.finish_stressing(round_, by=person())


def by_path(made: dict[str, Any]) -> dict[str, own_numbers.Offer]:
    return {offer.path: offer for offer in own_numbers.offers(made)}


def sent(made: dict[str, Any], do: str, **more: str) -> dict[str, str]:
    """The editor's fields with the document in them."""
    fields: dict[str, str] = {"do": do, **more}

    def put(tree: Any, name: str) -> None:
        if isinstance(tree, dict):
            for key, value in tree.items():
                put(value, f"{name}.{key}" if name else key)
        elif isinstance(tree, list):
            for place, value in enumerate(tree):
                put(value, f"{name}[{place}]")
        else:
            fields[name] = tree

    put(tree_of(made), "")
    return fields


def test_nothing_is_offered_where_nothing_was_measured_or_of_another_rod_or_concrete() -> None:
    assert own_numbers.offers(with_label()) == []
    stressed(1)
    other = with_label()
    other["rods"][0]["coating"] = "sealed"
    other["concrete"] = {**CONCRETE, "label": "Another mix"}
    assert own_numbers.offers(other) == []
    assert own_numbers.offers({"format": "nothing"}) == []


def test_too_few_readings_are_shown_and_cannot_be_put_in(signed_in: Callable[..., Client]) -> None:
    stressed(1)
    offer = by_path(with_label())["stressing.nut_factor"]
    assert (offer.number, offer.assumed) == (2, 0.2)
    assert "too little" in offer.why_not
    client, design = signed_in("engineer"), make_design(document=with_label())
    page = client.post(reverse("design_edit", args=[design.pk]), sent(with_label(), "offer stressing.nut_factor"))
    assert 'name="own_numbers" value=""' in page.content.decode()
    assert Revision.objects.filter(design=design).count() == 1


def test_the_estimate_is_put_into_the_form_by_a_person_saved_by_them_and_the_event_says_whence(
    signed_in: Callable[..., Client],
) -> None:
    stressed(3)
    before = by_path(with_label())["stressing.nut_factor"]
    assert before.number == 6
    assert before.why_not == ""
    assert not before.stands
    assert before.value == 0.192
    client, design = signed_in("engineer"), make_design(document=with_label())
    part = client.post(reverse("own_numbers"), json.dumps(with_label()), content_type="application/json")
    words = part.content.decode()
    assert f"by {before.number} of" in " ".join(words.split())
    assert 'value="offer stressing.nut_factor"' in words
    assert objections(words) == []
    assert not Event.objects.filter(detail__has_key="from_records").exists()

    address = reverse("design_edit", args=[design.pk])
    page = client.post(address, sent(with_label(), "offer stressing.nut_factor", base_revision="1"))
    shown = page.content.decode()
    assert 'name="own_numbers" value="stressing.nut_factor"' in shown
    assert f'value="{before.value:.10g}"' in shown
    assert Revision.objects.filter(design=design).count() == 1  # nothing is saved by putting it in

    changed = with_label(nut_factor=before.value)
    more = {"own_numbers": "stressing.nut_factor", "base_revision": "1", "note": "own K"}
    assert client.post(address, sent(changed, "save", **more)).status_code == 302
    event = Event.objects.filter(verb="revision-made").latest("sequence")
    (kept,) = event.detail["from_records"]
    assert (kept["path"], kept["value"], kept["number"]) == ("stressing.nut_factor", before.value, 6)
    assert "from the shop's own records: Nut factor K" in event.text
    assert parse(newest(design).specification.document).stressing.nut_factor == before.value


def test_what_was_changed_after_it_was_put_in_is_nobody_s_estimate(signed_in: Callable[..., Client]) -> None:
    stressed(3)
    design = make_design(document=with_label())
    more = {"own_numbers": "stressing.nut_factor,concrete.modulus,../x", "base_revision": "1"}
    fields = sent(with_label(nut_factor=0.31), "save", **more)
    assert signed_in("engineer").post(reverse("design_edit", args=[design.pk]), fields).status_code == 302
    event = Event.objects.filter(verb="revision-made").latest("sequence")
    assert "from_records" not in event.detail
    assert "own records" not in event.text


def test_a_new_design_says_whence_too(signed_in: Callable[..., Client]) -> None:
    stressed(3)
    value = by_path(with_label())["stressing.nut_factor"].value
    fields = sent(with_label(nut_factor=value), "save", own_numbers="stressing.nut_factor", pieces="1")
    order = make_order()
    assert signed_in("manager").post(reverse("design_new", args=[order.pk]), fields).status_code == 302
    assert Design.objects.filter(order=order).count() == 1
    assert Event.objects.filter(verb="design-made").latest("sequence").detail["from_records"][0]["value"] == value


def test_rods_of_two_kinds_have_no_one_nut_factor() -> None:
    stressed(3)
    mixed = with_label()
    mixed["rods"][1] = {**mixed["rods"][1], "coating": "sealed"}
    assert "more than one kind" in by_path(mixed)["stressing.nut_factor"].why_not


def test_the_modulus_is_told_in_the_document_s_unit() -> None:
    stressed(3)
    offer = by_path(with_label())["concrete.modulus_at_stressing"]
    assert (offer.unit, offer.number) == ("psi", 3)
    assert "too little" in offer.why_not


def test_the_age_is_read_off_the_mix_s_own_curve_less_its_scatter() -> None:
    """Tests on the very curve f = 8000 t'/(1 + t'), t' = t/2: no scatter, and 4500 psi at 4500/3500 · 2 = 2.57 days,
    up to the next half day: 3.
    """
    mix = shop.save_mix(by=person(), name="house mix, 3 % FIBRE")
    by, now = person(), timezone.now()
    for days in (1, 2, 4, 7, 14):
        pour = Pour.objects.create(by=by, at=now - timedelta(days=days), batch=f"B{days}", mix=mix)
        strength = 8000 * (days / 2) / (1 + days / 2)
        StrengthTest.objects.create(by=by, at=now, pour=pour, kind="cylinder", specimens_psi=[strength] * 2, factor=1)
    offer = by_path(with_label())["stressing.age"]
    assert (offer.assumed, offer.value, offer.number, offer.why_not) == (7, 3, 5, "")
    assert offer.spread.startswith("6220 ± 0 psi at 7 days")
    strong = with_label()
    strong["concrete"] = {**CONCRETE, "strength_at_stressing": 6990}
    assert "psi" in by_path(strong)["stressing.age"].spread


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b"\xff", b'{"a": 1}', b"null"])
def test_rubbish_has_no_numbers_and_is_no_fault(body: bytes, signed_in: Callable[..., Client]) -> None:
    answer = signed_in("manager").post(reverse("own_numbers"), body, content_type="application/json")
    assert answer.status_code == 200
    assert answer.content.strip() == b""


def test_the_fields_of_this_test_are_the_form_s() -> None:
    assert document_of(tree_of(with_label())) == with_label()
