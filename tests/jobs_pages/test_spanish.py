"""The crew's pages in Spanish: no phrase of the code without a translation, no page with a phrase left in English, the
compiled file as the written one, and the book itself in one language.
"""

from __future__ import annotations

import re
import string
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone, translation

from jobs.actions import production, quality
from jobs.actions.notices import sweep
from jobs.management.commands import crew_words
from jobs.models import Event, Notice, Person, Role, Stage, StressingReading
from jobs.notices import found_now
from jobs.views.production.notice_words import TOLD, notice_text
from jobs.words import say, tell
from tests.factories import (
    document,
    make_design,
    person,
    piece_at,
    plan_load_test,
    pour_long_ago,
    read_load,
    start,
    strength_test,
)
from tests.jobs_pages.spanish_reading import SPANISH, SignIn, in_spanish, words_of


def placeholders(text: str) -> set[str]:
    named = {name for _, name, _, _ in string.Formatter().parse(re.sub(r"%\(\w+\)s", "", text)) if name}
    return named | set(re.findall(r"%\((\w+)\)s", text))


def test_every_phrase_of_the_code_is_translated_and_nothing_else_is_in_the_file() -> None:
    told = crew_words.read(crew_words.PO.read_text("utf-8"))
    found = crew_words.phrases()
    assert sorted(set(found) - set(told)) == []
    assert sorted(set(told) - set(found)) == []
    assert sorted(phrase for phrase, words in told.items() if not words.strip()) == []
    assert len(found) > 400


def test_the_compiled_file_says_what_the_written_one_does() -> None:
    told = crew_words.read(crew_words.PO.read_text("utf-8"))
    assert crew_words.PO.with_suffix(".mo").read_bytes() == crew_words.compiled(told)
    with translation.override(SPANISH):
        assert tell("Rod {rod}", rod="R2") == "Varilla R2"


def test_a_translation_fills_in_the_same_places() -> None:
    for phrase, words in crew_words.read(crew_words.PO.read_text("utf-8")).items():
        extra = placeholders(words) - placeholders(phrase)
        assert extra == set(), phrase
        assert placeholders(phrase) - placeholders(words) <= {"state", "is_at"}, phrase


def test_words_are_english_to_whatever_keeps_them() -> None:
    with translation.override(SPANISH):
        said = say("{words} This is for stripping and lifting.", words=say("The pour is not recorded."))
        assert said == "The pour is not recorded. This is for stripping and lifting."
        assert said.here() == "El colado no está anotado. Es para descimbrar y levantar."


@pytest.fixture
def crew(db: None, signed_in: SignIn) -> tuple[Client, Person]:
    made = person("crew")
    return signed_in(made), made


def test_reasons_of_a_gate_and_findings_are_said_in_spanish_and_kept_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    piece = piece_at(Stage.STRIPPED)
    start(piece)
    sent = {"rod": "R2", "step": "0", "torque_lbf_ft": "40", "elongation_in": "0.2", "line_clear": "on"}
    page = client.post(reverse("reading", args=[piece.pk]), sent | {"request_id": str(uuid4())}, follow=True)
    text = page.content.decode()
    assert "FUERA de tolerancia" in text
    assert "Deténgase, afloje y busque una varilla que cede" in text
    kept = StressingReading.objects.get()
    assert "Stop, slacken, and look for a yielding rod" in kept.findings[0]
    assert "OUT OF tolerance" in Event.objects.get(verb="rod-read").text
    formed = piece_at(Stage.FORMED)
    refused = client.post(reverse("piece_move", args=[formed.pk]), {"to_stage": "poured", "request_id": str(uuid4())})
    assert refused.status_code == 409
    assert "El colado no está anotado." in refused.content.decode()


def test_notices_are_told_in_spanish_and_kept_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    piece = piece_at(Stage.CURING)
    strength_test(piece)
    sweep()
    kept = Notice.objects.get(kind="strength-reached")
    assert kept.text == f"{piece} has reached the strength to be stripped."
    page = client.get(reverse("today")).content.decode()
    assert f"{piece} ya tiene la resistencia para descimbrarla." in page
    assert "resistencia alcanzada" in page
    assert kept.text not in page
    Notice.objects.filter(pk=kept.pk).update(text="Words of an older release.")
    assert "Words of an older release." in client.get(reverse("today")).content.decode()


def test_whatever_the_crew_is_told_of_is_told_in_spanish(db: None) -> None:
    """Each kind of notice that goes to the crew, as it is really made: none of them falls back to its English."""
    drawn = document(stressing={**document()["stressing"], "restress": [28]})
    tight = pour_long_ago(piece_at(Stage.STRESSED, make_design(document=drawn)), days=40)
    wrong = quality.raise_non_conformance(tight, by=person("crew"), what="a chip")
    quality.decide_non_conformance(wrong, by=person(Role.ENGINEER), decision="repair", note="fill it")
    for stage in (Stage.CURING, Stage.STRIPPED):
        strength_test(piece_at(stage))
    found = [row for row in found_now(timezone.now() + timedelta(days=2)) if Role.CREW in row.roles]
    assert {row.kind for row in found} == {kind for kind, _ in TOLD}
    with translation.override(SPANISH):
        told = {row.text: notice_text(Notice(kind=row.kind, text=row.text)) for row in found}
        dated = notice_text(Notice(kind="restressing-due", text="C-4/1 is to be re-stressed on 4 Jan 2027 (28 days)."))
    assert [text for text, here in told.items() if text == here] == []
    assert "4 Ene 2027" in dated


def test_what_a_load_test_misses_is_told_in_spanish_and_kept_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    piece = piece_at(Stage.STRESSED)
    plan = plan_load_test(piece, by=who)
    read_load(plan, 600, 0.05, hours=0, by=who)
    refused = client.post(reverse("load_test_conclude", args=[piece.pk]), {"request_id": str(uuid4())})
    assert refused.status_code == 409
    assert "Todavía no llega a la carga completa" in refused.content.decode()
    read_load(plan, 1216.5, 0.1, hours=1, by=who, crack_seen=True)
    page = client.get(reverse("load_test_run", args=[piece.pk])).content.decode()
    assert "Nadie pasa por debajo." in page
    client.post(reverse("load_test_conclude", args=[piece.pk]), {"request_id": str(uuid4())})
    assert "A crack was seen: not accepted" in piece.load_tests.get().note


def test_a_queued_refusal_is_told_in_spanish_and_its_fact_kept_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    piece = piece_at(Stage.STRIPPED)
    production.stop_stressing(start(piece), by=person("crew"), reason="grieta")
    sent = {"rod": "R2", "step": "0", "torque_lbf_ft": "40", "line_clear": "on", "request_id": str(uuid4())}
    told = client.post(reverse("reading", args=[piece.pk]), sent, headers={"X-Entry": "queued"}).json()
    assert told["entry"] == "refused"
    fact = piece.kept_facts.get()
    assert fact.refusal == f"No stressing of {piece} is under way."
    assert ["Torque read", "40 lbf·ft"] in fact.typed


def test_pages_of_the_office_and_the_api_stay_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    lang, words = words_of(client.get(reverse("standard_pieces")).content.decode())
    assert lang == "en"
    assert "Standard pieces" in words
    answer: Any = client.get("/api/pieces/999999/")
    assert "There is no" in answer.json()["message"] if "message" in answer.json() else answer.status_code == 404


def test_the_language_is_ones_own_to_choose(crew: tuple[Client, Person], signed_in: SignIn) -> None:
    client, who = crew
    assert client.post(reverse("language"), {"language": "es-mx", "back": "/tablet/"})["Location"] == "/tablet/"
    assert Person.objects.get(pk=who.pk).language == SPANISH
    event = Event.objects.get(verb="language-chosen")
    assert (event.by, event.detail["before"]) == (who, "en")
    assert client.post(reverse("language"), {"language": "xx"}).status_code == 422
    assert Person.objects.get(pk=who.pk).language == SPANISH
    away = signed_in(Role.VIEWER).post(reverse("language"), {"language": "en", "back": "//else.where/"})
    assert away["Location"] == "/"
