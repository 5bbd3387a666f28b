"""What a refusal or a gate lists to the crew: every part of it in Spanish, and kept in English."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import translation

from jobs.actions import tablets
from jobs.models import Language, LiftOff, Person, Piece, Stage, TemperatureLog
from jobs.words import listed, say
from tests.factories import check_form, finish_ends, person, piece_at
from tests.page_reading import as_read

pytestmark = pytest.mark.django_db
SPANISH = Language.SPANISH


@pytest.fixture
def crew(signed_in: Callable[..., Client]) -> Client:
    made: Person = person("crew")
    tablets.choose_language(made, by=made, language=SPANISH)
    return signed_in(made)


def sent(crew: Client, name: str, piece: Piece, **fields: Any) -> str:
    answer = crew.post(reverse(name, args=[piece.pk]), {"request_id": str(uuid4()), **fields})
    assert answer.status_code in (302, 409, 422), answer.status_code
    return as_read(answer)


def shown(crew: Client, piece: Piece) -> str:
    return as_read(crew.get(reverse("piece", args=[piece.pk])))


def test_a_list_of_words_is_english_to_whatever_keeps_it_and_each_part_is_said() -> None:
    with translation.override(SPANISH):
        told = listed([say("core held down"), say("pockets set")])
        assert (str(told), told.here()) == ("core held down, pockets set", "núcleo sujeto, cajas puestas")
        assert (listed([]), listed([]).here()) == ("", "")


def test_what_a_gate_misses_is_said_point_by_point(crew: Client) -> None:
    formed, tight = piece_at(Stage.FORMED), piece_at(Stage.STRESSED)
    check_form(formed, core_held=False, pockets_set=False)
    finish_ends(tight, pockets_filled=False)
    for piece, english in ((formed, "core held down|pockets set"), (tight, "pockets filled")):
        before_the_log = shown(crew, piece).partition('id="history"')[0]
        assert re.search(english, before_the_log) is None


def test_every_bad_line_of_a_loggers_file_is_said(crew: Client) -> None:
    file = SimpleUploadedFile("l.csv", b"time,temp\n2026-11-01 08:00,20\nyesterday,20\n2026-11-01 09:00,warm\n")
    page = sent(crew, "temperatures", piece_at(Stage.CURING), degrees="c", file=file)
    assert "No se tomó nada: renglón 3: se esperan una hora y un número" in page
    assert "renglón 4:" in page
    assert not TemperatureLog.objects.exists()


def test_a_file_that_is_no_photo_and_a_support_out_of_place(crew: Client) -> None:
    photo = SimpleUploadedFile("x.png", b"not a picture", "image/png")
    assert "no es una foto" in sent(crew, "photo_new", piece_at(Stage.FORMED), photo=photo, about="form")
    page = sent(crew, "install", piece_at(Stage.DELIVERED), support_0="8", support_1="104", cautions_confirmed="on")
    assert "El apoyo 1 está a" in page


def test_a_lift_off_out_of_tolerance_is_kept_in_english(crew: Client) -> None:
    piece = piece_at(Stage.STRESSED)
    sent(crew, "lift_off", piece, rod="R1", force_lbf="7000", line_clear="on")
    (finding,) = LiftOff.objects.get().findings
    assert finding.startswith(("Lift-off 7,000 lbf", "Lift-off 7000 lbf")), finding
