"""Moves: one stage at a time, by whoever may, through the gate; hold, reject, remake."""

from uuid import uuid4

import pytest

from jobs.actions import pieces
from jobs.errors import BadEntry, GateClosed, NotAllowed, NotNow, RequestReused, StageMoved
from jobs.models import Event, Piece, Role, Stage
from jobs.stages import MOVES
from tests.factories import make_design, move, newest, person, piece_at, start

pytestmark = pytest.mark.django_db


def test_a_double_tap_does_not_skip_a_stage():
    piece, ana = piece_at("poured"), person(Role.CREW)
    pieces.move(piece, "curing", by=ana, request_id=uuid4())
    with pytest.raises(StageMoved, match="was not marked curing"):
        pieces.move(Piece.objects.get(pk=piece.pk), "curing", by=ana, request_id=uuid4())
    piece.refresh_from_db()
    assert (piece.stage, Event.objects.filter(piece=piece, verb="piece-moved", detail__to="curing").count()) == (
        "curing",
        1,
    )


def test_the_same_tap_sent_twice_is_one_move():
    piece, ana, tap = piece_at("poured"), person(Role.CREW), uuid4()
    first = pieces.move(piece, "curing", by=ana, request_id=tap)
    assert pieces.move(piece, "curing", by=ana, request_id=tap) == first
    assert pieces.fresh(piece).stage == "curing"


def test_a_tap_number_of_another_piece_is_refused():
    ana, tap = person(Role.CREW), uuid4()
    pieces.move(piece_at("poured"), "curing", by=ana, request_id=tap)
    other = piece_at("poured")
    with pytest.raises(RequestReused, match="used before"):
        pieces.move(other, "curing", by=ana, request_id=tap)
    assert pieces.fresh(other).stage == "poured"


@pytest.mark.parametrize(
    "from_stage", [stage for stage in Stage if MOVES[stage] or stage in (Stage.INSTALLED, Stage.HELD, Stage.REJECTED)]
)
def test_only_the_moves_of_the_table_are_made(from_stage):
    piece, manager = make_design().pieces.get(), person()
    Piece.objects.filter(pk=piece.pk).update(stage=from_stage, held_from="curing" if from_stage == Stage.HELD else "")
    for to_stage in set(Stage) - {*MOVES[from_stage], Stage.HELD, Stage.REJECTED}:
        with pytest.raises(StageMoved, match=f"was not marked {to_stage}"):
            pieces.move(piece, to_stage, by=manager)
    piece.refresh_from_db()
    assert (piece.stage, Event.objects.filter(verb="piece-moved").count()) == (from_stage, 0)


@pytest.mark.parametrize(
    ("to_stage", "refusal", "words"),
    [
        ("held", NotAllowed, "may not move a piece to"),
        ("rejected", NotAllowed, "may not move a piece to"),
        ("nowhere", BadEntry, "none of the shop's"),
        ("", BadEntry, "none of the shop's"),
    ],
)
def test_hold_and_reject_are_no_moves_and_unknown_stages_neither(to_stage, refusal, words):
    piece = make_design().pieces.get()
    with pytest.raises(refusal, match=words):
        pieces.move(piece, to_stage, by=person())
    assert pieces.fresh(piece).stage == "ordered"


def test_a_page_that_shows_an_old_stage_moves_nothing():
    piece = piece_at("released")
    with pytest.raises(StageMoved, match="no longer where this page shows it"):
        pieces.move(piece, "formed", by=person(), from_stage="designed")
    assert pieces.fresh(piece).stage == "released"


def test_a_move_that_was_overtaken_between_reading_and_writing_does_not_happen():
    piece = piece_at("poured")
    assert pieces._put(piece, "curing") == 1
    assert pieces._put(piece, "curing") == 0  # still says poured: somebody got there first


@pytest.mark.parametrize(
    ("role", "stage", "to_stage", "allowed"),
    [
        ("manager", "ordered", "designed", True),
        ("engineer", "ordered", "designed", True),
        ("crew", "ordered", "designed", False),
        ("viewer", "ordered", "designed", False),
        ("crew", "released", "formed", True),
        ("manager", "released", "formed", True),
        ("engineer", "released", "formed", False),
        ("viewer", "released", "formed", False),
        ("crew", "formed", "designed", False),
        ("engineer", "formed", "designed", True),
        ("viewer", "poured", "curing", False),
    ],
)
def test_who_makes_which_move(role, stage, to_stage, allowed):
    piece, somebody = piece_at(stage), person(role)
    if allowed:
        pieces.move(piece, to_stage, by=somebody)
    else:
        with pytest.raises(NotAllowed, match=f"may not move a piece to {to_stage}|your account may not do it"):
            pieces.move(piece, to_stage, by=somebody)
    assert pieces.fresh(piece).stage == (to_stage if allowed else stage)


def test_released_binds_the_piece_to_the_newest_revision_and_going_back_unbinds_it():
    piece = piece_at("released")
    assert piece.revision == newest(piece.design)
    assert move(piece, "designed").revision is None


def test_a_closed_gate_changes_nothing_and_names_what_is_missing():
    design = make_design(verdict="fail")
    piece = move(design.pieces.get(), "designed")
    with pytest.raises(GateClosed, match="was not marked released: The checks of C-104 revision A fail") as caught:
        pieces.move(piece, "released", by=person())
    assert caught.value.blockers[0].who == "engineer or shop manager"
    assert pieces.fresh(piece).stage == "designed"
    assert Event.objects.filter(verb="piece-moved", detail__to="released").count() == 0


# ---- hold, resume, reject, remake ------------------------------------------------------------------------------------


def test_a_held_piece_goes_back_to_where_it_was():
    piece = pieces.hold(piece_at("curing"), by=person(Role.CREW), reason="cold night")
    assert (piece.stage, piece.held_from, piece.hold_reason) == ("held", "curing", "cold night")
    piece = pieces.resume(piece, by=person(Role.ENGINEER))
    assert (piece.stage, piece.held_from, piece.hold_reason) == ("curing", "", "")
    assert list(Event.objects.filter(piece=piece).values_list("verb", flat=True))[-2:] == [
        "piece-held",
        "piece-resumed",
    ]


def test_a_hold_needs_a_reason():
    piece = piece_at("curing")
    with pytest.raises(BadEntry, match="reason is missing"):
        pieces.hold(piece, by=person(), reason="  ")
    assert pieces.fresh(piece).stage == "curing"


def test_a_held_piece_is_not_held_again_nor_moved():
    piece = pieces.hold(piece_at("curing"), by=person(), reason="x")
    with pytest.raises(NotNow, match="cannot be held"):
        pieces.hold(piece, by=person(), reason="y")
    with pytest.raises(StageMoved, match="was not marked stripped"):
        pieces.move(piece, "stripped", by=person())
    assert pieces.fresh(piece).hold_reason == "x"


def test_what_is_not_held_is_not_resumed():
    with pytest.raises(NotNow, match="is not held"):
        pieces.resume(piece_at("curing"), by=person())


def test_a_piece_under_the_wrench_is_neither_held_nor_rejected():
    piece = piece_at("stripped")
    start(piece)
    with pytest.raises(NotNow, match="being stressed"):
        pieces.hold(piece, by=person(), reason="x")
    with pytest.raises(NotNow, match="being stressed"):
        pieces.reject(piece, by=person(), reason="x")
    assert pieces.fresh(piece).stage == "stripped"


def test_a_rejected_piece_moves_no_more_and_is_made_again_once():
    piece = pieces.reject(piece_at("stripped"), by=person(Role.ENGINEER), reason="honeycomb at R1")
    again = pieces.remake(piece, by=person())
    with pytest.raises(NotNow, match="made again already"):
        pieces.remake(piece, by=person())
    with pytest.raises(StageMoved, match="not marked stressed"):
        pieces.move(piece, "stressed", by=person())
    assert (again.serial, again.stage, again.remake_of, Piece.objects.count()) == (2, "ordered", piece, 2)


def test_only_a_rejected_piece_is_made_again():
    with pytest.raises(NotNow, match="only a rejected piece"):
        pieces.remake(piece_at("curing"), by=person())
    assert Piece.objects.count() == 1


def test_a_held_piece_can_be_rejected():
    piece = pieces.hold(piece_at("curing"), by=person(), reason="x")
    assert pieces.reject(piece, by=person(), reason="y").stage == "rejected"
    assert Event.objects.get(verb="piece-rejected").detail["from"] == "curing"


@pytest.mark.parametrize(
    ("act", "roles"),
    [
        ("hold", ["viewer"]),
        ("resume", ["crew", "viewer"]),
        ("reject", ["crew", "viewer"]),
        ("remake", ["crew", "engineer", "viewer"]),
    ],
)
def test_who_may_not(act, roles):
    piece = piece_at("curing")
    reason = {"reason": "x"} if act in ("hold", "reject") else {}
    for role in roles:
        with pytest.raises(NotAllowed, match="your account may not do it"):
            getattr(pieces, act)(piece, by=person(role), **reason)
    assert pieces.fresh(piece).stage == "curing"
