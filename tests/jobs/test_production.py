"""Entries from the floor: what is written, and what is refused and leaves nothing behind."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from jobs.actions import pieces, production
from jobs.errors import BadEntry, GateClosed, NotAllowed, NotNow
from jobs.models import (
    Event,
    FormCheck,
    Installation,
    LoadTest,
    Piece,
    Pour,
    Role,
    StrengthTest,
)
from tests.factories import (
    check_form,
    document,
    make_design,
    move,
    person,
    piece_at,
    pour,
    read,
    revise,
    start,
    strength_test,
    stress,
)

pytestmark = pytest.mark.django_db


# ---- form check and pour ---------------------------------------------------------------------------------------------


def test_a_form_check_is_of_the_revision_the_piece_is_bound_to():
    piece = piece_at("formed")
    check = check_form(piece)
    event = Event.objects.get(verb="form-checked")
    assert (check.revision, event.piece, event.detail["core_held"]) == (piece.revision, piece, True)


@pytest.mark.parametrize("stage", ["released", "poured"])
def test_a_form_is_checked_only_while_formed(stage):
    piece = piece_at(stage)
    before = FormCheck.objects.count()
    with pytest.raises(NotNow, match="checked once it is formed and before the pour"):
        check_form(piece)
    assert FormCheck.objects.count() == before


def test_rod_heights_are_kept_as_measured():
    heights = [{"rod": "R1", "x_in": 54, "drawn_in": 1.25, "measured_in": 1.3}]
    check = production.record_form_check(
        piece_at("formed"), by=person(), core_held=True, sleeves_sealed=True, pockets_set=True, rod_heights=heights
    )
    assert check.rod_heights == heights


@pytest.mark.parametrize(
    "row",
    [
        {},
        {"rod": "R1", "x_in": "54", "drawn_in": 1, "measured_in": 1},
        {"rod": "", "x_in": 1},
        {"rod": "R1", "x_in": float("nan"), "drawn_in": 1, "measured_in": 1},
    ],
)
def test_heights_that_are_no_heights_are_refused(row):
    piece = piece_at("formed")
    with pytest.raises(BadEntry, match=r"(missing|should be)"):
        production.record_form_check(
            piece, by=person(), core_held=True, sleeves_sealed=True, pockets_set=True, rod_heights=[row]
        )
    assert not FormCheck.objects.exists()


def test_one_batch_into_two_pieces():
    design = make_design(pieces=2)
    both = []
    piece_at("formed", design)
    second = move(move(move(design.pieces.get(serial=2), "designed"), "released"), "formed")
    for piece in (design.pieces.get(serial=1), second):
        check_form(piece)
        both.append(piece)
    made = production.record_pour(both, by=person(Role.CREW), batch="B-1")
    assert set(made.pieces.all()) == set(both)
    assert Event.objects.filter(verb="poured").count() == 1
    assert Event.objects.filter(verb="piece-poured").count() == 2


def test_a_pour_is_for_all_its_pieces_or_for_none():
    design = make_design(pieces=2)
    ready = piece_at("formed", design)
    check_form(ready)
    with pytest.raises(NotNow, match="only a formed piece is poured"):
        production.record_pour([ready, design.pieces.get(serial=2)], by=person(), batch="B-1")
    assert not Pour.objects.exists()
    assert not Piece.objects.filter(pour__isnull=False).exists()
    assert not Event.objects.filter(verb__in=["poured", "piece-poured"]).exists()


def test_a_pour_without_a_form_check_is_refused():
    piece = piece_at("formed")
    with pytest.raises(GateClosed, match="The form is not checked to this revision"):
        pour(piece)
    assert not Pour.objects.exists()


def test_a_pour_to_an_old_drawing_is_refused():
    piece = piece_at("formed")
    check_form(piece)
    revise(piece.design)
    with pytest.raises(GateClosed, match="The drawing changed"):
        pour(piece)
    assert not Pour.objects.exists()


def test_a_piece_is_poured_once():
    piece = piece_at("formed")
    check_form(piece)
    first = pour(piece)
    with pytest.raises(NotNow, match="was poured already"):
        pour(piece)
    assert pieces.fresh(piece).pour == first
    assert Pour.objects.count() == 1


def test_the_same_pour_sent_twice_is_one():
    piece, crew, tap = piece_at("formed"), person(Role.CREW), uuid4()
    check_form(piece)
    first, second = (production.record_pour([piece], by=crew, batch="B-1", request_id=tap) for _ in range(2))
    assert first == second
    assert (Pour.objects.count(), Event.objects.filter(verb="piece-poured").count()) == (1, 1)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"batch": ""}, "batch is missing"),
        ({"slump_in": 1e9}, "slump should be from 0 to 40 in"),
        ({"slump_in": float("inf")}, "slump should be"),
        ({"mix_temperature_f": "hot"}, "should be a number"),
        ({"unit_weight_pcf": True}, "should be a number"),
        ({"at": timezone.now() + timedelta(hours=1)}, "lies in the future"),
        ({"slump_in": 10**400}, "slump should be"),
    ],
)
def test_a_pour_with_an_impossible_value_is_refused(fields, words):
    piece = piece_at("formed")
    check_form(piece)
    with pytest.raises(BadEntry, match=words):
        production.record_pour([piece], by=person(), **{"batch": "B-1", **fields})
    assert not Pour.objects.exists()
    assert pieces.fresh(piece).pour is None


def test_a_pour_goes_into_something():
    with pytest.raises(BadEntry, match="1 to 50 pieces"):
        production.record_pour([], by=person(), batch="B-1")


# ---- strength --------------------------------------------------------------------------------------------------------


def test_a_strength_test_is_told_with_its_pour_and_pieces():
    piece = piece_at("curing")
    test = strength_test(piece, specimens=(4000, 4100))
    detail = Event.objects.get(verb="strength-tested").detail
    assert (test.factor, detail["specimens_psi"], detail["pieces"]) == (1.0, [4000, 4100], [piece.pk])


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"kind": "brick"}, "cylinders or cubes"),
        ({"specimens_psi": []}, "1 to 20 specimens"),
        ({"specimens_psi": [-1]}, "from 0 to 40000"),
        ({"specimens_psi": [float("nan")]}, "from 0 to 40000"),
        ({"specimens_psi": ["4000"]}, "should be a number"),
        ({"specimens_psi": [1] * 21}, "1 to 20 specimens"),
    ],
)
def test_an_impossible_strength_test_is_refused(fields, words):
    piece = piece_at("curing")
    with pytest.raises(BadEntry, match=words):
        production.record_strength_test(
            piece.pour, by=person(), **{"kind": "cylinder", "specimens_psi": [4000, 4000], **fields}
        )
    assert not StrengthTest.objects.exists()


# ---- load test and install -------------------------------------------------------------------------------------------


def test_a_load_test_with_a_crack_is_not_accepted():
    piece = piece_at("stressed", load_test_required=True)
    with pytest.raises(BadEntry, match="with a crack cannot be accepted"):
        production.record_load_test(
            piece, by=person(), load_lbf=900, deflection_in=0.1, cracks_seen=True, accepted=True
        )
    assert not LoadTest.objects.exists()


def test_a_load_test_comes_after_stressing():
    with pytest.raises(NotNow, match="comes after stressing"):
        production.record_load_test(
            piece_at("stripped"), by=person(), load_lbf=900, deflection_in=0.1, cracks_seen=False, accepted=True
        )
    assert not LoadTest.objects.exists()


@pytest.mark.parametrize(
    ("supports", "words"),
    [
        ([4, 104.6], "Support 2 stands at 104.6 in"),
        ([3.4, 104], "Support 1 stands at 3.4 in"),
        ([4], "has 2 supports; 1 were measured"),
        ([4, float("nan")], "should be from"),
        ([1] * 101, "More supports"),
    ],
)
def test_an_install_off_the_drawing_is_refused(supports, words):
    piece = piece_at("delivered")
    with pytest.raises(BadEntry, match=words):
        production.record_installation(piece, by=person(), supports_in=supports, cautions_confirmed=True)
    assert not Installation.objects.exists()


@pytest.mark.parametrize("supports", [[3.5, 104.5], [4.5, 103.5]])
def test_half_an_inch_is_still_in_place(supports):
    made = production.record_installation(
        piece_at("delivered"), by=person(Role.CREW), supports_in=supports, cautions_confirmed=True
    )
    assert made.supports_in == supports


def test_no_install_without_the_cautions():
    piece = piece_at("delivered")
    with pytest.raises(BadEntry, match="read and confirmed"):
        production.record_installation(piece, by=person(), supports_in=[4, 104], cautions_confirmed=False)
    assert not Installation.objects.exists()


def test_an_install_is_recorded_once_and_only_when_delivered():
    with pytest.raises(NotNow, match="once the piece is delivered"):
        production.record_installation(piece_at("finished"), by=person(), supports_in=[4, 104], cautions_confirmed=True)
    piece = piece_at("delivered")
    production.record_installation(piece, by=person(), supports_in=[4, 104], cautions_confirmed=True)
    with pytest.raises(NotNow, match="is recorded already"):
        production.record_installation(piece, by=person(), supports_in=[4, 104], cautions_confirmed=True)
    assert Installation.objects.count() == 1


# ---- who -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["engineer", "viewer"])
def test_only_crew_and_manager_write_on_the_floor(role):
    other, piece, stripped = person(role), piece_at("formed"), piece_at("stripped")
    stressing = start(stripped)
    acts = [
        lambda: check_form(piece, other),
        lambda: pour(piece, other),
        lambda: strength_test(stripped, other),
        lambda: production.start_stressing(stripped, by=other),
        lambda: read(stressing, "R2", 0, other),
        lambda: production.finish_stressing(stressing, by=other),
        lambda: production.stop_stressing(stressing, by=other, reason="x"),
        lambda: production.record_load_test(
            stripped, by=other, load_lbf=1, deflection_in=1, cracks_seen=False, accepted=True
        ),
        lambda: production.record_installation(stripped, by=other, supports_in=[1], cautions_confirmed=True),
    ]
    before = Event.objects.count()
    for act in acts:
        with pytest.raises(NotAllowed, match="for the shop manager or the crew"):
            act()
    assert Event.objects.count() == before


def test_a_specification_in_other_steps_is_followed():
    three = document(stressing={"age": 7, "method": "torque", "steps": [0.2, 0.6, 1.0], "order": ["R1", "R2"]})
    stressing = stress(piece_at("stripped", document=three))
    assert [(r.rod, r.step) for r in stressing.readings.order_by("pk")] == [
        ("R1", 0),
        ("R2", 0),
        ("R1", 1),
        ("R2", 1),
        ("R1", 2),
        ("R2", 2),
    ]
