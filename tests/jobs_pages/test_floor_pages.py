"""The crew's pages: the one next thing, units as typed, double taps, in and out of tolerance, the stop."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from jobs import starters
from jobs.models import Event, FormCheck, Installation, Stage, StrengthTest, Stressing, StressingReading
from tests.factories import make_wrench, piece_at, read, start
from tests.page_reading import Page, as_read

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]


def at(name: str, piece: Any) -> str:
    return reverse(name, args=[piece.pk])


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        (Stage.RELEASED, "mark it formed"),
        (Stage.FORMED, "Check the form"),
        (Stage.CURING, "Break specimens before stripping"),
        (Stage.STRIPPED, "Tighten the rods"),
        (Stage.STRESSED, "Cut tails, fill pockets"),
        (Stage.DELIVERED, "Write down the install"),
    ],
)
def test_the_one_next_thing(stage: str, words: str, signed_in: SignIn) -> None:
    make_wrench()
    html = as_read(signed_in("crew").get(at("piece", piece_at(stage))))
    assert words in html


def test_the_crew_is_told_who_releases(signed_in: SignIn) -> None:
    html = as_read(signed_in("crew").get(at("piece", piece_at(Stage.DESIGNED))))
    assert "In hand:" in html
    assert "is not released" in html


def test_a_move_made_twice_moves_once(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.RELEASED), signed_in("crew")
    sent = {"to_stage": "formed", "from_stage": "released", "request_id": str(uuid4())}
    assert [client.post(at("piece_move", piece), sent).status_code for _ in range(2)] == [302, 302]
    assert Event.objects.filter(verb="piece-moved", piece=piece, detail__to="formed").count() == 1


def test_a_closed_gate_gives_its_reasons_and_moves_nothing(signed_in: SignIn) -> None:
    piece = piece_at(Stage.FORMED)
    answer = signed_in("crew").post(at("piece_move", piece), {"to_stage": "poured", "from_stage": "formed"})
    assert answer.status_code == 409
    assert "The form is not checked to this revision" in as_read(answer)
    piece.refresh_from_db()
    assert piece.stage == Stage.FORMED


def test_a_form_check_with_heights_as_a_tradesperson_writes_them(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.FORMED), signed_in("crew")
    sent = {
        "core_held": "on",
        "sleeves_sealed": "on",
        "pockets_set": "on",
        "height_0": "1-1/4",
        "height_1": "32 mm",
        "height_2": "1,25",
    }
    answer = client.post(at("form_check", piece), sent)
    assert answer["Location"] == at("piece", piece)
    heights = FormCheck.objects.get().rod_heights
    assert [row["measured_in"] for row in heights] == pytest.approx([1.25, 32 / 25.4, 1.25])
    assert heights[0] | {"measured_in": 0} == {"rod": "R1", "x_in": 3.0, "drawn_in": 1.25, "measured_in": 0}


@pytest.mark.parametrize("typed", ["high", "3 kip", "1/0", "", "٣"])
def test_a_measure_that_is_none_is_refused_at_its_field_and_kept(typed: str, signed_in: SignIn) -> None:
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    answer = signed_in("crew").post(
        at("load_test", piece), {"load_lbf": "900", "deflection_in": typed, "note": "windy"}
    )
    page = Page(answer.content.decode())
    assert answer.status_code == 422
    assert page.field("deflection_in").get("aria-invalid") == "true"
    assert (page.values()["deflection_in"], page.values()["note"], page.values()["load_lbf"]) == (typed, "windy", "900")


def test_a_pour_into_two_forms_at_once(signed_in: SignIn) -> None:
    one, other = piece_at(Stage.FORMED), piece_at(Stage.FORMED)
    client = signed_in("crew")
    for piece in (one, other):
        client.post(at("form_check", piece), {"core_held": "on", "sleeves_sealed": "on", "pockets_set": "on"})
    answer = client.post(
        at("pour", one), {"batch": "B-77", "others": [str(other.pk)], "slump_in": "9", "unit_weight_pcf": "130"}
    )
    assert answer.status_code == 302
    one.refresh_from_db()
    other.refresh_from_db()
    assert one.pour is not None
    assert one.pour == other.pour


def test_a_strength_test_in_the_units_of_the_drawing(signed_in: SignIn) -> None:
    piece = piece_at(Stage.CURING, document=starters.document("stair-tread-si"))
    client = signed_in("crew")
    page = as_read(client.get(at("strength", piece)))
    assert "MPa" in page
    client.post(at("strength", piece), {"kind": "cylinder", "specimen_0": "20", "specimen_1": "3000 psi"})
    assert StrengthTest.objects.get().specimens_psi == pytest.approx([20 / 0.00689475729, 3000], rel=1e-6)
    assert "mark it stripped" in as_read(client.get(at("piece", piece)))


def test_too_weak_specimens_keep_the_gate_closed_and_say_by_how_much(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.CURING), signed_in("crew")
    client.post(at("strength", piece), {"kind": "cube", "specimen_0": "2600", "specimen_1": "2700"})
    html = as_read(client.get(at("piece", piece)))
    assert "mean of 2120 psi; 2500 psi are needed" in html
    assert "Break specimens before stripping" in html


def test_stressing_does_not_begin_below_strength(signed_in: SignIn) -> None:
    piece = piece_at(Stage.CURING)
    client = signed_in("crew")
    client.post(at("strength", piece), {"kind": "cylinder", "specimen_0": "2600", "specimen_1": "2700"})
    client.post(at("piece_move", piece), {"to_stage": "stripped", "from_stage": "curing"})
    html = as_read(client.get(at("stressing", piece)))
    assert "cannot be passed over" in html
    assert ">Begin<" not in html
    answer = client.post(at("stressing", piece), {"wrench": str(make_wrench().pk), "gauge_resolution_in": "0.001"})
    assert answer.status_code == 409
    assert not Stressing.objects.exists()


@pytest.mark.parametrize(
    ("starter", "unit", "typed", "kept"),
    [
        ("bench", "(°F)", "68", 68),
        ("bench", "(°F)", "20 °C", 68),
        ("stair-tread-si", "(°C)", "20", 68),
        ("stair-tread-si", "(°C)", "−5,5", 22.1),
        ("stair-tread-si", "(°C)", "68 F", 68),
    ],
)
def test_temperatures_are_in_the_degrees_of_the_drawing(
    starter: str, unit: str, typed: str, kept: float, signed_in: SignIn
) -> None:
    """The celsius scale by its definition: F = 1.8 C + 32."""
    piece = piece_at(Stage.FORMED, document=starters.document(starter))
    client = signed_in("crew")
    assert f"Temperature of the mix {unit}" in Page(client.get(at("pour", piece)).content.decode()).text_of("label")
    client.post(at("form_check", piece), {"core_held": "on", "sleeves_sealed": "on", "pockets_set": "on"})
    assert client.post(at("pour", piece), {"batch": "B-1", "mix_temperature_f": typed}).status_code == 302
    piece.refresh_from_db()
    assert piece.pour.mix_temperature_f == pytest.approx(kept)


def test_a_temperature_that_is_none_is_refused_in_the_degrees_of_the_drawing(signed_in: SignIn) -> None:
    piece = piece_at(Stage.FORMED, document=starters.document("stair-tread-si"))
    answer = signed_in("crew").post(at("pour", piece), {"batch": "B-1", "air_temperature_f": "warm"})
    assert answer.status_code == 422
    assert "“warm” is no temperature. Write a number in °C" in as_read(answer)


def reading(**changes: str) -> dict[str, str]:
    return {
        "rod": "R2",
        "step": "0",
        "torque_lbf_ft": "40",
        "elongation_in": "1/8",
        "line_clear": "on",
        "request_id": str(uuid4()),
    } | changes


def test_a_reading_on_target_says_in_and_goes_on_to_the_next_rod(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    begun = client.post(at("stressing", piece), {"wrench": str(make_wrench().pk), "gauge_resolution_in": "0.001"})
    assert begun.status_code == 302
    html = as_read(client.get(at("stressing", piece)))
    assert "rod R2, to 50 %" in html
    sent = reading()
    assert [client.post(at("reading", piece), sent).status_code for _ in range(2)] == [302, 302]
    assert StressingReading.objects.count() == 1
    html = as_read(client.get(at("stressing", piece)))
    assert "IN tolerance" in html
    assert "rod R1, to 50 %" in html


def test_a_reading_out_of_tolerance_says_out_and_asks_for_the_same_rod_again(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    start(piece)
    client.post(at("reading", piece), reading(elongation_in="0.2"))
    html = as_read(client.get(at("stressing", piece)))
    said = next(element for element in Page(html).all("li") if "written down" in element.text)
    assert "warning" in said.get("class").split()
    assert "success" not in said.get("class").split()
    assert "OUT of tolerance" in html
    assert "Again: rod R2, to 50 %" in html
    assert "rod R1, to 50 %" in as_read(client.get(at("stressing", piece) + "?on=1"))


def test_without_the_line_clear_nothing_is_written_down_and_what_was_typed_is_kept(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    start(piece)
    sent = reading()
    del sent["line_clear"]
    answer = client.post(at("reading", piece), sent)
    page = Page(answer.content.decode())
    assert answer.status_code == 422
    assert page.field("line_clear").get("aria-invalid") == "true"
    assert page.values()["elongation_in"] == "1/8"
    assert not StressingReading.objects.exists()


def test_a_crown_over_its_limit_stops_everything(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    start(piece)
    client.post(at("reading", piece), reading(crown_in="0.6"))
    html = as_read(client.get(at("stressing", piece)))
    assert "STOP. The crown or sag is over its limit." in html
    assert at("reading", piece) not in html
    client.post(at("stressing_stop", piece), {"reason": "crown went through"})
    assert Stressing.objects.get().state == Stressing.State.STOPPED


def test_a_whole_stressing_is_finished_and_opens_the_gate(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.STRIPPED), signed_in("crew")
    stressing = start(piece)
    for rod, step in (("R2", 0), ("R1", 0), ("R2", 1), ("R1", 1)):
        read(stressing, rod, step)
    html = as_read(client.get(at("stressing", piece)))
    assert "Finish the stressing" in html
    client.post(at("stressing_finish", piece))
    assert "mark it stressed" in as_read(client.get(at("piece", piece)))


def test_an_install_wants_the_cautions_and_every_support_in_its_place(signed_in: SignIn) -> None:
    piece, client = piece_at(Stage.DELIVERED), signed_in("crew")
    sent = {"support_0": "4 1/4", "support_1": "8' 8\""}
    assert client.post(at("install", piece), sent).status_code == 422
    answer = client.post(at("install", piece), sent | {"support_1": "100", "cautions_confirmed": "on"})
    assert answer.status_code == 422
    assert "Support 2 stands at" in as_read(answer)
    assert client.post(at("install", piece), sent | {"cautions_confirmed": "on"}).status_code == 302
    assert Installation.objects.get().supports_in == pytest.approx([4.25, 104])


def test_held_rejected_and_made_again(signed_in: SignIn) -> None:
    piece, office = piece_at(Stage.FORMED), signed_in("manager")
    assert office.post(at("piece_hold", piece), {"reason": ""}).status_code == 422
    office.post(at("piece_hold", piece), {"reason": "no liner"})
    assert "no liner" in as_read(office.get(reverse("board")))
    office.post(at("piece_resume", piece), {})
    office.post(at("piece_reject", piece), {"reason": "cracked"})
    office.post(at("piece_remake", piece), {})
    assert piece.remakes.get().stage == Stage.ORDERED
