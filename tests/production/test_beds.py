"""Curing beds: the shop names them, a piece lies on one and nobody else; the schedule says which is free when."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.urls import reverse

from jobs.actions import pieces, production, shop
from jobs.errors import BadEntry, NotAllowed, NothingChanged, NotNow
from jobs.models import Event, Piece, Role, Shop, Stage
from tests.factories import move, person, piece_at, strength_test

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def named(db: None) -> None:
    shop.edit_shop(by=person(), beds=["North", "South"])


def lay(piece: Piece, bed: str, **fields: Any) -> Piece:
    return production.lay_on_bed(piece, bed=bed, **{"by": person(Role.CREW), **fields})


def bed_of(piece: Piece) -> str:
    return pieces.fresh(piece).bed


def test_a_bed_is_taken_once_and_the_other_is_told_by_whom() -> None:
    one, other = piece_at(Stage.FORMED), piece_at(Stage.CURING)
    lay(one, "North")
    with pytest.raises(NotNow, match=f"North is taken: {one} lies on it"):
        lay(other, "North")
    assert (bed_of(one), bed_of(other)) == ("North", "")
    assert Event.objects.filter(verb="bed-taken").count() == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        Piece.objects.filter(pk=other.pk).update(bed="North")  # nor past the action
    lay(one, "")
    lay(other, "North")
    assert (bed_of(one), bed_of(other)) == ("", "North")


def test_sent_twice_it_is_one_entry() -> None:
    piece, number, who = piece_at(Stage.FORMED), uuid4(), person(Role.CREW)
    for _ in range(2):
        lay(piece, "North", by=who, request_id=number)
    assert Event.objects.filter(verb="bed-taken").count() == 1
    with pytest.raises(NothingChanged):
        lay(piece, "North")


def test_out_of_its_form_a_piece_is_off_its_bed_and_held_it_stays() -> None:
    piece = piece_at(Stage.CURING)
    lay(piece, "South")
    pieces.hold(piece, by=person("engineer"), reason="a look at the soffit")
    assert bed_of(piece) == "South"
    pieces.resume(piece, by=person("engineer"))
    strength_test(piece)
    move(pieces.fresh(piece), Stage.STRIPPED)
    assert bed_of(piece) == ""
    with pytest.raises(NotNow, match="lies on no curing bed"):
        lay(piece, "North")


def test_who_may_not_produce_lays_nothing_and_an_unnamed_bed_is_none() -> None:
    piece = piece_at(Stage.FORMED)
    with pytest.raises(NotAllowed):
        lay(piece, "North", by=person(Role.VIEWER))
    with pytest.raises(BadEntry, match="no bed of that name"):
        lay(piece, "West")
    assert bed_of(piece) == ""
    assert not Event.objects.filter(verb="bed-taken").exists()


def test_a_bed_with_a_piece_on_it_is_not_taken_away_and_none_is_named_twice() -> None:
    piece = piece_at(Stage.FORMED)
    lay(piece, "North")
    with pytest.raises(BadEntry, match=f"{piece} lies on North"):
        shop.edit_shop(by=person(), beds=["South"])
    with pytest.raises(BadEntry, match="Named twice: South"):
        shop.edit_shop(by=person(), beds=["North", "South", "South"])
    assert Shop.objects.get().beds == ["North", "South"]


def test_the_pages_name_beds_take_them_and_say_which_is_free(client: Client) -> None:
    one, other = piece_at(Stage.CURING), piece_at(Stage.FORMED)
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("shop")).content.decode()
    assert "North\nSouth</textarea>" in page
    sent = {"name": "Our shop", "cube_factor": "0.8", "document_size": "letter", "coupon_days": "90"}
    sent["beds"] = "North\n\n South \nEast"
    assert client.post(reverse("shop"), sent).status_code == 302
    assert Shop.objects.get().beds == ["North", "South", "East"]
    sent = {"bed": "South", "request_id": str(uuid4())}
    assert client.post(reverse("bed", args=[one.pk]), sent).status_code == 302
    refused = client.post(reverse("bed", args=[other.pk]), {"bed": "South", "request_id": str(uuid4())})
    assert refused.status_code == 409
    assert f"South is taken: {one} lies on it. Choose another bed." in refused.content.decode()
    assert bed_of(other) == ""
    (table,) = client.get(reverse("schedule_beds")).context["tables"]
    assert table.lead.startswith("Beds in use: 1 of 3.")
    assert [row[0] for row in table.rows] == ["North", "South", "East"]
    assert [row[2] for row in table.rows][::2] == ["now", "now"]
    strength_test(one)
    (table,) = client.get(reverse("schedule_beds")).context["tables"]
    assert table.rows[1][2] == "now: strength to strip is proven"


def test_the_schedule_fetches_the_beds_and_has_a_link_to_them_without_scripts(client: Client) -> None:
    piece = piece_at(Stage.CURING)
    lay(piece, "North")
    client.force_login(person("viewer"), backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("schedule_beds")
    page = client.get(reverse("schedule")).content.decode()
    assert f'<div hx-get="{address}" hx-trigger="load"' in page
    assert f'href="{address}">Curing beds</a>' in page
    assert "Beds in use" not in page
    part = client.get(address, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert 'id="beds-table-1"' in part  # not the name of a table that is on the page
    assert "Beds in use: 1 of 2." in part
    assert str(piece) in part
    whole = client.get(address).content.decode()
    assert "<html" in whole
    assert "Beds in use: 1 of 2." in whole
    assert client.post(address).status_code == 405
    client.logout()
    assert client.get(address).status_code == 302


def test_without_named_beds_the_part_of_the_schedule_is_empty(client: Client) -> None:
    shop.edit_shop(by=person(), beds=[])
    client.force_login(person("crew"), backend="django.contrib.auth.backends.ModelBackend")
    part = client.get(reverse("schedule_beds"), headers={"HX-Request": "true"})
    assert (part.status_code, part.content.strip()) == (200, b"")
    assert "The shop has named no beds yet." in client.get(reverse("schedule_beds")).content.decode()


def test_without_named_beds_there_is_no_form_and_nothing_is_written(client: Client) -> None:
    piece = piece_at(Stage.FORMED)
    shop.edit_shop(by=person(), beds=[])
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("bed", args=[piece.pk])).content.decode()
    assert "The shop has named no beds yet." in page
    assert 'name="bed"' not in page
    answer = client.post(reverse("bed", args=[piece.pk]), {"bed": "North", "request_id": str(uuid4())})
    assert answer.status_code == 409
    assert bed_of(piece) == ""


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_two_pieces_for_one_bed_at_the_same_moment_one_gets_it() -> None:
    both, who = [piece_at(Stage.FORMED), piece_at(Stage.FORMED)], person(Role.CREW)

    def take(piece: Piece) -> str:
        try:
            return lay(piece, "North", by=who).bed
        except NotNow:
            return "refused"
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        assert sorted(pool.map(take, both)) == ["North", "refused"]
    assert Piece.objects.filter(bed="North").count() == 1
    assert Event.objects.filter(verb="bed-taken").count() == 1
