"""The page that stays: the files and pages that a tablet keeps, and a round of stressing begun from a kept one."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from jobs.actions import production, quality
from jobs.models import Design, Event, KeptFact, Piece, Restressing, Stage, Stressing, StressingReading
from jobs.procedures import PROCEDURES
from tests.factories import (
    document,
    make_design,
    make_wrench,
    person,
    piece_at,
    pour_long_ago,
    read,
    start,
    stress,
)

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]


def test_the_worker_and_the_manifest_are_served_from_the_root_to_anybody(client: Client) -> None:
    piece_at(Stage.FORMED)
    worker = client.get("/service-worker.js")
    assert worker["Content-Type"].startswith("text/javascript")
    assert "no-store" in worker["Cache-Control"]  # or a new build would not arrive
    told = json.loads(worker.content.decode().partition("const TOLD = ")[2].partition(";\n")[0])
    assert len(told["build"]) == 16
    for url in [*told["keep"], told["offline"]]:
        assert client.get(url).status_code == 200, url
    manifest = client.get("/manifest.webmanifest")
    assert manifest["Content-Type"] == "application/manifest+json"
    assert {icon["sizes"] for icon in manifest.json()["icons"]} == {"192x192", "512x512", "any"}


def test_todays_pages_are_those_of_the_pieces_on_the_floor(signed_in: SignIn) -> None:
    formed, designed = piece_at(Stage.FORMED), piece_at(Stage.DESIGNED)
    client = signed_in("crew")
    pages = client.get(reverse("tablet_pages")).json()["pages"]
    urls = {page["url"] for page in pages}
    assert {f"/pieces/{formed.pk}/", f"/pieces/{formed.pk}/form-check/", "/today/", "/tablet/"} <= urls
    assert not any(f"/pieces/{designed.pk}/" in url for url in urls)
    for page in pages:
        assert client.get(page["url"]).status_code == 200, page
    viewer = {page["url"] for page in signed_in("viewer").get(reverse("tablet_pages")).json()["pages"]}
    assert f"/pieces/{formed.pk}/" in viewer
    assert f"/pieces/{formed.pk}/form-check/" not in viewer


def test_a_page_fetched_to_be_kept_swallows_no_message(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.FORMED), signed_in("crew")
    client.post(
        reverse("form_check", args=[piece.pk]),
        {"core_held": "on", "sleeves_sealed": "on", "pockets_set": "on", "request_id": str(uuid4())},
    )
    address = reverse("piece", args=[piece.pk])
    assert "is checked." not in client.get(address, headers={"X-Keep": "yes"}).content.decode()
    assert "is checked." in client.get(address).content.decode()


# ---- a round begun from a kept page ----------------------------------------------------------------------------------


def queued(client: Client, name: str, pk: int, **sent: Any) -> Any:
    headers = {"X-Entry": "queued", "X-Entry-At": "2026-03-02T10:15:00Z"}
    return client.post(reverse(name, args=[pk]), {"request_id": str(uuid4()), **sent}, headers=headers).json()


def turn(**more: Any) -> dict[str, Any]:
    return {"rod": "R2", "step": "0", "torque_lbf_ft": "40", "elongation_in": "0.125", "line_clear": "on", **more}


def test_the_page_on_which_a_round_begins_carries_the_whole_round(signed_in: SignIn) -> None:
    make_wrench()
    client = signed_in("crew")
    ready, weak = piece_at(Stage.STRIPPED), piece_at(Stage.CURING)
    answer = client.get(reverse("stressing", args=[ready.pk]))
    plan = answer.context["plan"]
    assert [(one["rod"], one["step"]) for one in plan["turns"]] == [("R2", 0), ("R1", 0), ("R2", 1), ("R1", 1)]
    assert not Stressing.objects.exists()
    closed = client.get(reverse("stressing", args=[weak.pk]))
    assert "plan" not in closed.context
    assert "data-begin" not in closed.content.decode()


def test_a_reading_of_one_round_never_gets_into_another(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    first = start(piece)
    production.stop_stressing(first, by=person("crew"), reason="the wrench slipped")
    second = production.start_stressing(piece, by=person("crew"), wrench=first.wrench)
    told = queued(client, "reading", piece.pk, **turn(round=str(first.request_id)))
    assert (told["entry"], told["kept"]) == ("refused", True)
    assert not StressingReading.objects.exists()
    assert all(label != "round" for label, _ in KeptFact.objects.get().typed)
    for name in ("stressing_stop", "stressing_finish"):
        told = queued(client, name, piece.pk, round=str(first.request_id), reason="no more")
        assert told["entry"] == "refused", name
    assert Stressing.objects.get(pk=second.pk).state == Stressing.State.OPEN
    told = queued(client, "reading", piece.pk, **turn(round=str(second.request_id)))
    assert told["entry"] == "written"


def test_a_reading_sent_again_after_its_round_was_closed_is_found_and_no_fact(signed_in: SignIn) -> None:
    who = person("crew")
    piece, client = piece_at(Stage.STRIPPED), signed_in(who)
    stressing, number = start(piece, who), uuid4()
    read(stressing, "R2", 0, by=who, request_id=number)
    production.stop_stressing(stressing, by=who, reason="the wrench slipped")
    told = queued(client, "reading", piece.pk, **turn(request_id=str(number), round=str(stressing.request_id)))
    assert told["entry"] == "written"
    assert StressingReading.objects.count() == 1
    assert Event.objects.filter(verb="rod-read").count() == 1
    assert not KeptFact.objects.exists()


# ---- rods that were tight once ---------------------------------------------------------------------------------------


def drawn_to_be_tightened_again() -> Design:
    return make_design(document=document(stressing={**document()["stressing"], "restress": [28]}))


def kept_of(client: Client, piece: Piece) -> set[str]:
    pages = client.get(reverse("tablet_pages")).json()["pages"]
    start_of = f"/pieces/{piece.pk}/"
    return {page["url"].removeprefix(start_of) for page in pages if page["url"].startswith(start_of)}


def slacken(piece: Piece) -> None:
    first = PROCEDURES["slackened"].first
    production.record_incident(
        piece, by=person("crew"), kind="slackened", rods=["R1"], what="a plate bedded in", confirmed=first
    )


def test_what_is_done_to_tight_rods_is_kept_while_the_piece_is_in_the_shop(signed_in: SignIn) -> None:
    plain, again = piece_at(Stage.FINISHED), piece_at(Stage.STRESSED, drawn_to_be_tightened_again())
    client = signed_in("crew")
    assert {"lift-off/", "stressing/", "wrong/slackened/"} <= kept_of(client, plain)
    assert "re-stressing/" not in kept_of(client, plain)  # its drawing asks for none
    assert {"lift-off/", "stressing/", "wrong/slackened/", "re-stressing/", "finish/"} <= kept_of(client, again)
    assert kept_of(signed_in("viewer"), again) == {""}


def test_an_installed_piece_is_kept_only_while_its_rods_have_to_be_tightened(signed_in: SignIn) -> None:
    client = signed_in("crew")
    quiet, due = piece_at(Stage.INSTALLED), piece_at(Stage.INSTALLED, drawn_to_be_tightened_again())
    assert kept_of(client, quiet) == kept_of(client, due) == set()
    pour_long_ago(due, days=27)
    assert {"", "re-stressing/"} <= kept_of(client, due)  # tomorrow is its day
    slacken(quiet)
    assert {"", "stressing/"} <= kept_of(client, quiet)
    stress(Piece.objects.get(pk=quiet.pk))
    assert kept_of(client, quiet) == set()


def test_the_page_of_a_tight_piece_carries_the_round_but_keeps_it_shut(signed_in: SignIn) -> None:
    make_wrench()
    client, piece = signed_in("crew"), piece_at(Stage.STRESSED)
    page = client.get(reverse("stressing", args=[piece.pk]))
    assert [blocker.code for blocker in page.context["blockers"]] == ["not-stripped"]
    assert len(page.context["plan"]["turns"]) == 4
    assert 'id="to-begin" hidden' in page.content.decode()
    told = queued(client, "stressing", piece.pk, wrench=str(make_wrench().pk), gauge_resolution_in="0.001")
    assert told["entry"] == "refused"  # the page only hides it; the book refuses it
    assert Stressing.objects.filter(piece=piece).count() == 1
    quality.raise_non_conformance(piece, by=person("crew"), what="a crack")
    assert "plan" not in client.get(reverse("stressing", args=[piece.pk])).context


def test_the_end_of_a_round_sent_again_is_found_and_one_of_another_round_is_not(signed_in: SignIn) -> None:
    who = person("crew")
    piece, client = piece_at(Stage.STRIPPED), signed_in(who)
    stressing, number = start(piece, who), str(uuid4())
    told = queued(client, "stressing_stop", piece.pk, round=str(stressing.request_id), reason="slip", request_id=number)
    assert told["entry"] == "written"
    told = queued(client, "stressing_stop", piece.pk, round=str(stressing.request_id), reason="slip", request_id=number)
    assert told["entry"] == "written"  # its answer was lost
    assert Event.objects.filter(verb="stressing-stopped").count() == 1
    told = queued(client, "stressing_stop", piece.pk, round=str(stressing.request_id), reason="slip")
    assert told["entry"] == "refused"
    assert Event.objects.filter(verb="stressing-stopped").count() == 1


def test_a_re_stressing_is_confirmed_rod_by_rod(signed_in: SignIn) -> None:
    piece = pour_long_ago(piece_at(Stage.STRESSED, drawn_to_be_tightened_again()), days=30)
    client, wrench = signed_in("crew"), make_wrench()
    sent = {"age_days": "28.0", "wrench": str(wrench.pk), "rod_0": "80", "rod_1": "80"}
    for half in ({}, {"line_clear_0": "on"}, {"line_clear_1": "on"}):
        told = queued(client, "restressing", piece.pk, **sent, **half)
        assert told["entry"] == "refused", half
    assert not Restressing.objects.exists()
    assert not KeptFact.objects.exists()  # an entry without its confirmation is no deed of the book's
    told = queued(client, "restressing", piece.pk, **sent, line_clear_0="on", line_clear_1="on")
    assert told["entry"] == "written"
    assert Restressing.objects.get().line_clear
