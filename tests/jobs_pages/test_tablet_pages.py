"""The tablet's pages by Django's client: PINs and their lock, whose an entry is, what became of a queued one."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, connections
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs import pins
from jobs.actions import production, tablets
from jobs.errors import BadEntry, NotAllowed, NotNow, RequestReused
from jobs.event_chain import faults
from jobs.models import (
    Event,
    FormCheck,
    KeptFact,
    NonConformance,
    Person,
    PinTry,
    Role,
    ShopTablet,
    Stage,
    StressingReading,
)
from tests.factories import PASSWORD, person, piece_at, start

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]
PIN = "280574"


@pytest.fixture
def on_a_tablet(signed_in: SignIn) -> Callable[..., Client]:
    """A client of a crew member on a device that the manager named by its page."""

    def make(who: Person | None = None) -> Client:
        client = signed_in("manager")
        answer = client.post(reverse("tablet"), {"name": "Tablet at the bed"})
        assert answer["Location"] == reverse("tablet")
        client.force_login(who or person("crew"), backend="django.contrib.auth.backends.ModelBackend")
        return client

    return make


def with_pin(pin: str = PIN, **fields: Any) -> Person:
    made = person("crew", **fields)
    tablets.set_pin(made, by=person(), pin=pin)
    return Person.objects.get(pk=made.pk)


def change_over(client: Client, who: Person, pin: str) -> Any:
    return client.post(reverse("change_over"), {"person": who.pk, "pin": pin})


def now_here(client: Client) -> int:
    return int(client.session["_auth_user_id"])


# ---- PINs ------------------------------------------------------------------------------------------------------------


def test_the_right_pin_changes_over_and_its_event_says_who_and_where(on_a_tablet: Callable[..., Client]) -> None:
    bo, ana = person("crew"), with_pin()
    client = on_a_tablet(bo)
    answer = change_over(client, ana, PIN)
    assert answer["Location"] == reverse("board")
    assert now_here(client) == ana.pk
    event = Event.objects.get(verb="changed-over")
    assert (event.by, event.detail["before"], event.detail["tap"]) == (ana, bo.pk, {"tablet": "Tablet at the bed"})
    assert PIN not in json.dumps(list(Event.objects.values_list("detail", flat=True)))
    assert PIN not in ana.pin_hash
    assert client.get(reverse("tokens")).status_code == 403  # a small key opens no large doors
    assert list(faults()) == []


def test_a_wrong_pin_changes_nothing_but_is_written_down(on_a_tablet: Callable[..., Client]) -> None:
    bo, ana = person("crew"), with_pin()
    client = on_a_tablet(bo)
    answer = change_over(client, ana, "111122")
    assert answer.status_code == 422
    assert "That PIN is not right" in answer.content.decode()
    assert now_here(client) == bo.pk
    assert Event.objects.get(verb="pin-wrong").by == bo
    assert not Event.objects.filter(verb="changed-over").exists()


def test_five_wrong_pins_lock_the_person_even_for_the_right_one(on_a_tablet: Callable[..., Client]) -> None:
    bo, ana, cy = person("crew"), with_pin(), with_pin()
    client = on_a_tablet(bo)
    for _ in range(pins.WRONG_FOR_A_PERSON):
        change_over(client, ana, "0815")
    answer = change_over(client, ana, PIN)
    assert "Too many wrong PINs" in answer.content.decode()
    assert now_here(client) == bo.pk
    assert PinTry.objects.count() == pins.WRONG_FOR_A_PERSON  # the right one was not even tried
    assert change_over(client, cy, PIN).status_code == 302  # others go on


def test_the_lock_opens_after_a_while_and_at_a_new_pin(on_a_tablet: Callable[..., Client]) -> None:
    ana = with_pin()
    client = on_a_tablet()
    for _ in range(pins.WRONG_FOR_A_PERSON):
        change_over(client, ana, "0815")
    tablet = ShopTablet.objects.get()
    assert pins.locked_until(ana, tablet) is not None
    PinTry.objects.update(at=timezone.now() - pins.LOCKED_FOR - timedelta(seconds=1))
    assert pins.locked_until(ana, tablet) is None
    PinTry.objects.update(at=timezone.now())
    assert pins.locked_until(ana, tablet) is not None
    tablets.set_pin(ana, by=person(), pin="731946")
    assert change_over(client, ana, "731946").status_code == 302


def test_one_pin_tried_on_everybody_locks_the_tablet(on_a_tablet: Callable[..., Client]) -> None:
    crew = [with_pin() for _ in range(pins.WRONG_ON_A_TABLET // 4 + 1)]
    client = on_a_tablet()
    for number in range(pins.WRONG_ON_A_TABLET):
        change_over(client, crew[number // 4], "0815")
    fresh = with_pin()
    assert "Too many wrong PINs" in change_over(client, fresh, PIN).content.decode()
    assert now_here(client) != fresh.pk


def test_a_pin_opens_nothing_without_a_tablet_of_the_shop(signed_in: SignIn) -> None:
    ana, client = with_pin(), signed_in("crew")
    answer = change_over(client, ana, PIN)
    assert answer.status_code == 409
    assert now_here(client) != ana.pk
    client.cookies["tablet"] = "made up"
    assert change_over(client, ana, PIN).status_code == 409
    assert not PinTry.objects.exists()


def test_a_retired_tablet_takes_no_pin(on_a_tablet: Callable[..., Client]) -> None:
    ana, client = with_pin(), on_a_tablet()
    tablets.retire_tablet(ShopTablet.objects.get(), by=person())
    assert change_over(client, ana, PIN).status_code == 409
    assert now_here(client) != ana.pk


@pytest.mark.parametrize("role", [Role.MANAGER, Role.ENGINEER, Role.VIEWER])
def test_a_pin_is_for_the_crew_alone(role: Role, on_a_tablet: Callable[..., Client]) -> None:
    made = person(role)
    with pytest.raises(NotNow):
        tablets.set_pin(made, by=person(), pin=PIN)
    ana = with_pin()
    Person.objects.filter(pk=ana.pk).update(role=role)  # was crew when it was set
    client = on_a_tablet()
    assert change_over(client, ana, PIN).status_code == 422
    assert now_here(client) != ana.pk


@pytest.mark.parametrize("pin", ["123", "1234", "4321", "7777", "890123", "123456789", "12a4", "", "١٢٣٤"])
def test_a_pin_that_is_guessed_first_is_not_taken(pin: str) -> None:
    ana = person("crew")
    with pytest.raises(BadEntry):
        tablets.set_pin(ana, by=person(), pin=pin)
    assert Person.objects.get(pk=ana.pk).pin_hash == ""
    assert not Event.objects.filter(verb="pin-set").exists()


def test_ones_own_pin_needs_ones_password_and_anothers_the_manager(signed_in: SignIn) -> None:
    ana = person("crew")
    client = signed_in(ana)
    sent = {"pin": PIN, "again": PIN}
    assert client.post(reverse("pin"), {**sent, "password": "wrong"}).status_code == 422
    assert client.post(reverse("pin_of", args=[ana.pk]), sent).status_code == 403
    assert Person.objects.get(pk=ana.pk).pin_hash == ""
    assert client.post(reverse("pin"), {**sent, "password": PASSWORD}).status_code == 302
    assert Person.objects.get(pk=ana.pk).pin_hash != ""
    manager = signed_in("manager")
    assert manager.post(reverse("pin_of", args=[ana.pk]), {"do": "clear"}).status_code == 302
    assert Person.objects.get(pk=ana.pk).pin_hash == ""
    with pytest.raises(NotAllowed):
        tablets.set_pin(ana, by=person("engineer"), pin=PIN)


@pytest.mark.django_db(transaction=True)
def test_wrong_pins_at_the_same_moment_all_count() -> None:
    ana, bo = with_pin(), person("crew")
    tablet = tablets.make_tablet(by=person(), name="Tablet")

    def guess(number: int) -> None:
        try:
            tablets.try_pin(ana, by=bo, tablet=tablet, pin=f"{number:04}")
        except Exception:  # a busy SQLite may refuse one; it is then no try
            pass
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as many:
        list(many.map(guess, range(12)))
    connection.close()
    assert PinTry.objects.filter(right=False).count() <= pins.WRONG_FOR_A_PERSON
    assert list(faults()) == []


# ---- queued entries --------------------------------------------------------------------------------------------------

LONG_AGO = "2026-03-02T10:15:00+00:00"


def send(client: Client, address: str, sent: dict[str, Any], how: str = "queued", **headers: str) -> Any:
    told = {"X-Entry": how, "X-Entry-At": LONG_AGO, "X-Entry-Person": str(now_here(client)), **headers}
    return client.post(address, sent, headers=told)


def points(**more: Any) -> dict[str, Any]:
    return {"core_held": "on", "sleeves_sealed": "on", "pockets_set": "on", "request_id": str(uuid4()), **more}


def test_a_queued_entry_is_written_as_of_when_it_was_tapped_once(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.FORMED), signed_in("crew")
    address, sent = reverse("form_check", args=[piece.pk]), points()
    for _ in range(3):
        answer = send(client, address, sent)
        assert answer.json()["entry"] == "written"
        assert answer.json()["said"] == [f"The form of {piece} is checked."]
    row = FormCheck.objects.get()
    assert row.at == datetime(2026, 3, 2, 10, 15, tzinfo=UTC)
    assert Event.objects.get(request_id=row.request_id).detail["tap"] == {"waited_since": LONG_AGO}
    assert "is checked" not in client.get(reverse("tablet")).content.decode()  # nobody waits for these words


@pytest.mark.parametrize("claimed", ["2999-01-01T00:00:00+00:00", "yesterday", "0001-01-01T00:00:00+00:00"])
def test_a_tablet_whose_clock_is_wrong_loses_no_entry(claimed: str, signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.FORMED), signed_in("crew")
    before = timezone.now()
    answer = send(client, reverse("form_check", args=[piece.pk]), points(), **{"X-Entry-At": claimed})
    assert answer.json()["entry"] == "written"
    assert before <= FormCheck.objects.get().at <= timezone.now()
    assert Event.objects.get(verb="form-checked").detail["tap"] == {"waited_since": claimed}


def test_an_entry_just_tapped_leaves_its_words_for_the_next_page(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.FORMED), signed_in("crew")
    answer = send(client, reverse("form_check", args=[piece.pk]), points(), how="now")
    assert answer.json() == {"entry": "written", "next": reverse("piece", args=[piece.pk])}
    assert FormCheck.objects.get().at > datetime(2026, 4, 1, tzinfo=UTC)  # as of now, whatever the tablet says
    assert "is checked" in client.get(answer.json()["next"]).content.decode()


def test_nobody_signed_in_is_told_to_and_nothing_is_written(client: Client) -> None:
    piece = piece_at(Stage.FORMED)
    answer = client.post(reverse("form_check", args=[piece.pk]), points(), headers={"X-Entry": "queued"})
    assert (answer.status_code, answer.json()) == (401, {"entry": "sign-in"})
    assert not FormCheck.objects.exists()


def proof_on(client: Client) -> str:
    found = re.search(r'data-proof="([^"]+)"', client.get("/board/").content.decode())
    return found[1] if found else ""


def test_anothers_entry_is_taken_only_with_a_proof_from_the_same_tablet(on_a_tablet: Callable[..., Client]) -> None:
    piece, bo, ana = piece_at(Stage.FORMED), person("crew"), person("crew")
    client = on_a_tablet(bo)
    proof = proof_on(client)
    assert proof
    client.force_login(ana, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("form_check", args=[piece.pk])
    for wrong in ("", "made up", proof[:-2]):
        answer = send(client, address, points(), **{"X-Entry-Person": str(bo.pk), "X-Entry-Proof": wrong})
        assert (answer.status_code, answer.json()["entry"]) == (401, "sign-in")
    mine = proof_on(client)  # Ana's own proof makes nobody Bo
    answer = send(client, address, points(), **{"X-Entry-Person": str(bo.pk), "X-Entry-Proof": mine})
    assert answer.status_code == 401
    assert not FormCheck.objects.exists()
    other = on_a_tablet(ana)  # nor does Bo's proof on another tablet
    answer = send(other, address, points(), **{"X-Entry-Person": str(bo.pk), "X-Entry-Proof": proof})
    assert answer.status_code == 401
    assert not FormCheck.objects.exists()
    answer = send(client, address, points(), **{"X-Entry-Person": str(bo.pk), "X-Entry-Proof": proof})
    assert answer.json()["entry"] == "written"
    row = FormCheck.objects.get()
    assert row.by == bo
    assert Event.objects.get(request_id=row.request_id).detail["tap"]["tablet"] == "Tablet at the bed"
    assert now_here(client) == ana.pk


def test_a_proof_of_somebody_whose_account_was_closed_is_none(on_a_tablet: Callable[..., Client]) -> None:
    piece, bo = piece_at(Stage.FORMED), person("crew")
    client = on_a_tablet(bo)
    proof = proof_on(client)
    client.force_login(person("crew"), backend="django.contrib.auth.backends.ModelBackend")
    Person.objects.filter(pk=bo.pk).update(is_active=False)
    answer = send(client, reverse("form_check", args=[piece.pk]), points(),
                  **{"X-Entry-Person": str(bo.pk), "X-Entry-Proof": proof})
    assert answer.status_code == 401
    assert not FormCheck.objects.exists()


def reading(**more: Any) -> dict[str, Any]:
    return {"rod": "R2", "step": "0", "torque_lbf_ft": "40", "elongation_in": "0.125", "line_clear": "on",
            "request_id": str(uuid4()), **more}


def test_a_rod_tightened_after_the_round_was_stopped_is_a_fact_once(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    production.stop_stressing(start(piece), by=person("crew"), reason="a crack")
    sent = reading()
    answers = [send(client, reverse("reading", args=[piece.pk]), sent).json() for _ in range(3)]
    assert {answer["entry"] for answer in answers} == {"refused"}
    fact = KeptFact.objects.get()
    assert [answer["non_conformance"] for answer in answers] == [fact.non_conformance_id] * 3
    assert answers[2]["message"] == answers[0]["message"]
    assert NonConformance.objects.get().what.startswith("Rod R2 was tightened to step 1, though")
    assert fact.at == datetime(2026, 3, 2, 10, 15, tzinfo=UTC)
    assert not StressingReading.objects.exists()
    assert Event.objects.filter(verb="fact-kept").count() == 1
    assert list(faults()) == []


def test_refused_in_hand_it_is_no_fact_since_the_person_is_told(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    production.stop_stressing(start(piece), by=person("crew"), reason="a crack")
    assert send(client, reverse("reading", args=[piece.pk]), reading(), how="now").json()["entry"] == "refused"
    assert client.post(reverse("reading", args=[piece.pk]), reading()).status_code == 409
    assert not KeptFact.objects.exists()
    assert not NonConformance.objects.exists()


def test_values_that_cannot_be_are_refused_with_words_and_are_no_fact(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    start(piece)
    told = send(client, reverse("reading", args=[piece.pk]), reading(torque_lbf_ft="forty")).json()
    assert told["entry"] == "refused"
    assert "Torque read" in told["message"]
    assert not KeptFact.objects.exists()


def test_a_number_used_before_for_something_else_makes_no_fact(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.FORMED), signed_in("crew")
    sent = points()
    assert send(client, reverse("form_check", args=[piece.pk]), sent).json()["entry"] == "written"
    told = send(client, reverse("piece_move", args=[piece.pk]),
                {"to_stage": "stripped", "request_id": sent["request_id"]}).json()
    assert (told["entry"], told["code"]) == ("refused", RequestReused.code)
    assert not KeptFact.objects.exists()


def test_a_viewer_keeps_no_fact(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("viewer")
    answer = send(client, reverse("reading", args=[piece.pk]), reading())
    assert (answer.status_code, answer.json()["entry"]) == (403, "refused")
    assert not KeptFact.objects.exists()


def test_a_refused_entry_is_put_away_with_a_word_and_stays_in_the_book(signed_in: SignIn) -> None:
    client, piece = signed_in("crew"), piece_at(Stage.FORMED)
    sent = {"what": "Mark stripped", "refusal": "Too weak.", "piece": piece.pk, "request_id": str(uuid4())}
    refused = send(client, reverse("refusal_dismiss"), {**sent, "word": "  "})
    assert refused.json()["entry"] == "refused"
    assert not Event.objects.filter(verb="refusal-dismissed").exists()
    for _ in range(2):
        answer = send(client, reverse("refusal_dismiss"), {**sent, "word": "It was the other one."})
        assert answer.json()["entry"] == "written"
    event = Event.objects.get(verb="refusal-dismissed")
    assert (event.piece, event.detail["word"], event.detail["refusal"]) == (piece, "It was the other one.", "Too weak.")
