"""The page that stays: the files and pages that a tablet keeps, and a round of stressing begun from a kept one."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from jobs.actions import production
from jobs.models import Event, KeptFact, Stage, Stressing, StressingReading
from tests.factories import make_wrench, person, piece_at, read, start

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
