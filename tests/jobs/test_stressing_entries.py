"""Stressing, turn by turn: what is written, and what is refused and leaves nothing behind."""

from uuid import uuid4

import pytest

from jobs.actions import production
from jobs.errors import BadEntry, GateClosed, NotNow
from jobs.models import (
    Event,
    Role,
    Stressing,
    StressingReading,
)
from tests.factories import (
    make_wrench,
    move,
    person,
    piece_at,
    read,
    revise,
    start,
    strength_test,
    stress,
    without_rods,
)

pytestmark = pytest.mark.django_db


def test_stressing_below_strength_is_refused_whoever_asks():
    piece = piece_at("curing")
    strength_test(piece, specimens=(4000, 4000))
    piece = move(piece, "stripped")
    for role in ("crew", "manager"):
        with pytest.raises(GateClosed, match=r"4500 psi are needed\. This is for stressing, and cannot be passed over"):
            production.start_stressing(piece, by=person(role), wrench=make_wrench())
    assert not Stressing.objects.exists()


def test_stressing_with_a_wrench_past_its_calibration_is_refused():
    with pytest.raises(GateClosed, match="The calibration of Wrench"):
        production.start_stressing(piece_at("stripped"), by=person(), wrench=make_wrench(days=-1))
    assert not Stressing.objects.exists()


def test_by_torque_the_wrench_has_to_be_named():
    piece = piece_at("stripped")
    make_wrench()
    with pytest.raises(BadEntry, match="which torque wrench"):
        production.start_stressing(piece, by=person())
    assert not Stressing.objects.exists()


def test_a_piece_is_stressed_once_at_a_time():
    piece = piece_at("stripped")
    start(piece)
    with pytest.raises(NotNow, match="being stressed already"):
        start(piece)
    assert Stressing.objects.count() == 1


def test_a_piece_without_rods_is_not_stressed():
    with pytest.raises(GateClosed, match="no rods to tighten"):
        start(piece_at("stripped", document=without_rods()))


def test_targets_stay_as_they_stood_when_it_began():
    piece = piece_at("stripped")
    stressing = start(piece)
    revise(piece.design, title="Later")
    stressing.refresh_from_db()
    assert stressing.revision.letter == "A"
    assert stressing.targets["rods"]["R1"]["torque_lbf_ft"] == 80.0


def test_a_reading_is_judged_and_told():
    stressing = start(piece_at("stripped"))
    reading = read(stressing, "R2", 0, elongation_in=0.2)
    event = Event.objects.get(verb="rod-read")
    assert reading.within_tolerance is False
    assert "60 % over" in reading.findings[0]
    assert "OUT OF tolerance" in event.text


def test_no_reading_without_a_clear_line():
    stressing = start(piece_at("stripped"))
    for answer in (False, "yes", 1):
        with pytest.raises(BadEntry, match="nobody stands in the line of the rod"):
            read(stressing, "R2", 0, line_clear=answer)
    assert not StressingReading.objects.exists()


@pytest.mark.parametrize(("rod", "step"), [("R1", 0), ("R2", 1), ("R1", 1)])
def test_no_turn_is_skipped(rod, step):
    stressing = start(piece_at("stripped"))
    with pytest.raises(NotNow, match="Rod R2 step 1 comes next"):
        read(stressing, rod, step)
    assert not StressingReading.objects.exists()


@pytest.mark.parametrize(("rod", "step"), [("R9", 0), ("R1", 2), ("R1", -1)])
def test_a_turn_that_is_not_in_the_specification_is_refused(rod, step):
    stressing = start(piece_at("stripped"))
    with pytest.raises(BadEntry, match="has no rod"):
        production.record_reading(
            stressing, by=person(), rod=rod, step=step, torque_lbf_ft=1, elongation_in=1, line_clear=True
        )
    assert not StressingReading.objects.exists()


def test_a_wrong_reading_is_answered_by_a_later_one_and_both_stay():
    stressing = start(piece_at("stripped"))
    for turn in (("R2", 0), ("R1", 0), ("R2", 1)):
        read(stressing, *turn)
    read(stressing, "R1", 1, elongation_in=0.5)
    with pytest.raises(GateClosed, match="Rod R1 is out of tolerance at its last step"):
        production.finish_stressing(stressing, by=person())
    read(stressing, "R1", 1)
    done = production.finish_stressing(stressing, by=person())
    assert done.state == "complete"
    assert stressing.readings.filter(rod="R1", step=1).count() == 2


def test_a_stressing_with_a_rod_missing_is_not_finished():
    stressing = start(piece_at("stripped"))
    read(stressing, "R2", 0)
    with pytest.raises(GateClosed, match="Rod R2 is not at its last step"):
        production.finish_stressing(stressing, by=person())
    stressing.refresh_from_db()
    assert (stressing.state, stressing.finished_at) == ("open", None)


def test_over_the_crowns_limit_no_further_turn_is_taken():
    stressing = start(piece_at("stripped"))
    reading = read(stressing, "R2", 0, crown_in=0.5)
    assert reading.findings[-1].startswith("STOP.")
    with pytest.raises(NotNow, match="No further turn: slacken"):
        read(stressing, "R1", 0)
    read(stressing, "R2", 0, crown_in=0.05)  # it was a slip of the thumb
    read(stressing, "R1", 0)
    assert stressing.readings.count() == 3


def test_a_stopped_stressing_takes_nothing_more_and_a_new_one_starts_over():
    piece = piece_at("stripped")
    stressing = start(piece)
    read(stressing, "R2", 0)
    production.stop_stressing(stressing, by=person(Role.CREW), reason="nut spins")
    with pytest.raises(NotNow, match="is stopped; nothing can be added"):
        read(stressing, "R1", 0)
    with pytest.raises(NotNow, match="is stopped"):
        production.finish_stressing(stressing, by=person())
    again = start(piece)
    with pytest.raises(NotNow, match="Rod R2 step 1 comes next"):
        read(again, "R1", 0)
    assert Event.objects.get(verb="stressing-stopped").detail["reason"] == "nut spins"


def test_the_same_reading_sent_twice_is_one():
    stressing, crew, tap = start(piece_at("stripped")), person(Role.CREW), uuid4()
    first, second = (read(stressing, "R2", 0, by=crew, request_id=tap) for _ in range(2))
    assert first == second
    assert stressing.readings.count() == 1


def test_a_finished_stressing_is_not_finished_again():
    piece = piece_at("stripped")
    stressing = stress(piece)
    with pytest.raises(NotNow, match="is complete"):
        production.finish_stressing(stressing, by=person())
    assert Event.objects.filter(verb="stressing-finished").count() == 1
