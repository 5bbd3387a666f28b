"""Two people at once, for real (`tests.jobs.arena`): decisions, rounds and slackening, batches, beds, days."""

from datetime import date
from uuid import uuid4

import pytest

from jobs.actions import pieces, planning, production, quality, shop
from jobs.errors import BadEntry, GateClosed, NotNow
from jobs.models import (
    Event,
    Incident,
    NonConformance,
    Piece,
    Pour,
    Restressing,
    Role,
    Shop,
    Stressing,
)
from jobs.procedures import PROCEDURES
from jobs.tightness import loosened_since
from tests.factories import (
    check_form,
    document,
    make_design,
    make_mix,
    make_wrench,
    person,
    piece_at,
    pour_long_ago,
    read,
    start,
)
from tests.jobs.arena import arena, at_once, empty_file, sorted_out
from tests.production.test_mix_and_cure import ticket, version

pytestmark = pytest.mark.django_db(transaction=True)
__all__ = ["arena", "empty_file"]  # fixtures
ROUNDS = 4


def slacken(piece, who):
    return production.record_incident(
        piece, by=who, kind="slackened", rods=["R1"], what="a plate", confirmed=PROCEDURES["slackened"].first
    )


# ---- decisions -------------------------------------------------------------------------------------------------------


def test_two_engineers_decide_one_non_conformance(arena):
    def body():
        piece, ana, ben = piece_at("curing"), person(Role.ENGINEER), person(Role.ENGINEER)
        row = quality.raise_non_conformance(piece, by=person(Role.CREW), what="a chip")
        done, refused = sorted_out(
            at_once(
                lambda: quality.decide_non_conformance(row, by=ana, decision="use-as-is", note="small"),
                lambda: quality.decide_non_conformance(row, by=ben, decision="remake", note="too deep"),
            )
        )
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        row.refresh_from_db()
        assert row.decision == done[0].decision
        assert row.decided_by == (ana if row.decision == "use-as-is" else ben)
        assert pieces.fresh(piece).stage == ("curing" if row.decision == "use-as-is" else "rejected")
        assert Event.objects.filter(verb="non-conformance-decided", piece=piece).count() == 1

    arena(body, 2 * ROUNDS)


def test_two_people_write_down_one_repair(arena):
    def body():
        piece, crew = piece_at("curing"), person(Role.CREW)
        row = quality.raise_non_conformance(piece, by=crew, what="a chip")
        quality.decide_non_conformance(row, by=person(Role.ENGINEER), decision="repair", note="fill it")
        done, refused = sorted_out(at_once(*[lambda: quality.record_repair(row, by=crew, note="filled")] * 2))
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert Event.objects.filter(verb="non-conformance-repaired", piece=piece).count() == 1

    arena(body, ROUNDS)


def test_a_piece_is_moved_on_while_something_wrong_is_written_down(arena):
    def body():
        piece, ana, ben = piece_at("poured"), person(Role.CREW), person(Role.CREW)
        moved, raised = at_once(
            lambda: pieces.move(piece, "curing", by=ana, request_id=uuid4()),
            lambda: quality.raise_non_conformance(piece, by=ben, what="the cover blew off"),
        )
        sorted_out([moved, raised])
        assert isinstance(raised, NonConformance)
        assert pieces.fresh(piece).stage == ("poured" if isinstance(moved, GateClosed) else "curing")
        assert raised.stage == ("poured" if isinstance(moved, GateClosed) else pieces.fresh(piece).stage)

    arena(body, 2 * ROUNDS)


# ---- a round of stressing --------------------------------------------------------------------------------------------


def read_through(piece):
    stressing = start(piece)
    for step in (0, 1):
        for rod in ("R2", "R1"):
            last = read(stressing, rod, step)
    return stressing, last


def test_one_entry_is_taken_back_by_two_people(arena):
    def body():
        stressing, crew = start(piece_at("stripped")), person(Role.CREW)
        first = read(stressing, "R2", 0)
        done, refused = sorted_out(
            at_once(
                *[lambda: production.take_back_reading(stressing, by=crew, reading=first.pk, reason="wrong rod")] * 2
            )
        )
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert stressing.readings.filter(takes_back=first).count() == 1
        assert Event.objects.filter(verb="reading-taken-back", piece=stressing.piece).count() == 1
        assert Stressing.objects.get(pk=stressing.pk).newest_readings == {}

    arena(body, ROUNDS)


def test_an_entry_is_taken_back_while_the_round_is_finished(arena):
    def body():
        (stressing, last), crew, other = read_through(piece_at("stripped")), person(Role.CREW), person(Role.CREW)
        taken, finished = at_once(
            lambda: production.take_back_reading(stressing, by=crew, reading=last.pk, reason="misread"),
            lambda: production.finish_stressing(stressing, by=other),
        )
        done, refused = sorted_out([taken, finished])
        assert (len(done), len(refused)) == (1, 1)
        now = Stressing.objects.get(pk=stressing.pk)
        if isinstance(finished, Stressing):
            assert (now.state, len(now.newest_readings), type(taken)) == ("complete", 4, NotNow)
        else:
            assert (now.state, len(now.newest_readings), type(finished)) == ("open", 3, GateClosed)

    arena(body, 2 * ROUNDS)


def test_rods_are_slackened_while_one_is_read(arena):
    def body():
        stressing, ana, ben = start(piece_at("stripped")), person(Role.CREW), person(Role.CREW)
        reading, slackened = at_once(lambda: read(stressing, "R2", 0, ana), lambda: slacken(stressing.piece, ben))
        sorted_out([reading, slackened])
        assert isinstance(slackened, Incident)
        assert Stressing.objects.get(pk=stressing.pk).state == "stopped"
        assert stressing.readings.count() == (0 if isinstance(reading, NotNow) else 1)

    arena(body, 2 * ROUNDS)


def test_rods_are_slackened_while_the_round_is_finished(arena):
    def body():
        (stressing, _), ana, ben = read_through(piece_at("stripped")), person(Role.CREW), person(Role.CREW)
        piece = stressing.piece
        finished, slackened = at_once(
            lambda: production.finish_stressing(stressing, by=ana), lambda: slacken(piece, ben)
        )
        sorted_out([finished, slackened])
        now = Stressing.objects.get(pk=stressing.pk)
        assert now.state == ("stopped" if isinstance(finished, NotNow) else "complete")
        done = now if now.state == "complete" else None
        assert loosened_since(piece, done) == slackened  # either way the piece is not tight
        with pytest.raises(GateClosed):
            pieces.move(piece, "stressed", by=ana, request_id=uuid4())

    arena(body, 2 * ROUNDS)


def to_restress():
    drawn = document(stressing={**document()["stressing"], "restress": [28]})
    return pour_long_ago(piece_at("stressed", make_design(document=drawn)), days=30)


def brought_back(piece, who, wrench):
    values = {"R1": 80.0, "R2": 80.0}
    return production.record_restressing(piece, by=who, age_days=28, values=values, wrench=wrench, line_clear=True)


def test_rods_are_brought_back_to_force_by_two_people(arena):
    def body():
        piece, crew, wrench = to_restress(), person(Role.CREW), make_wrench()
        done, refused = sorted_out(at_once(*[lambda: brought_back(piece, crew, wrench)] * 2))
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert Restressing.objects.filter(piece=piece).count() == 1
        assert Event.objects.filter(verb="restressed", piece=piece).count() == 1

    arena(body, ROUNDS)


def test_rods_are_slackened_while_they_are_brought_back(arena):
    def body():
        piece, ana, ben, wrench = to_restress(), person(Role.CREW), person(Role.CREW), make_wrench()
        back, slackened = at_once(lambda: brought_back(piece, ana, wrench), lambda: slacken(piece, ben))
        sorted_out([back, slackened])
        assert isinstance(slackened, Incident)
        assert Restressing.objects.filter(piece=piece).count() == (0 if isinstance(back, GateClosed) else 1)

    arena(body, 2 * ROUNDS)


# ---- batches, beds, days ---------------------------------------------------------------------------------------------


def test_one_batch_goes_into_two_pieces_of_two_designs(arena):
    def body():
        both, crew = [piece_at("formed"), piece_at("formed")], person(Role.CREW)
        for piece in both:
            check_form(piece)
        weighed = ticket(version(make_mix()))
        done, refused = sorted_out(
            at_once(
                *(
                    lambda piece=piece: production.record_pour([piece], by=crew, batch="B-7", ticket=weighed)
                    for piece in both
                )
            )
        )
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert "belongs to another pour already" in refused[0].message
        assert Pour.objects.filter(ticket=weighed).count() == 1
        assert Piece.objects.filter(pk__in=[piece.pk for piece in both], pour=done[0]).count() == 1
        assert Piece.objects.filter(pk__in=[piece.pk for piece in both], pour=None).count() == 1

    arena(body, ROUNDS)


def test_two_pieces_are_laid_on_one_bed(arena):
    def body():
        bed = f"Bed {uuid4().hex[:6]}"
        shop.edit_shop(by=person(), beds=[bed])
        both, crew = [piece_at("formed"), piece_at("formed")], person(Role.CREW)
        done, refused = sorted_out(
            at_once(*(lambda piece=piece: production.lay_on_bed(piece, by=crew, bed=bed) for piece in both))
        )
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert Piece.objects.filter(bed=bed).count() == 1
        production.lay_on_bed(done[0], by=crew, bed="")

    arena(body, ROUNDS)


def test_a_bed_is_taken_away_while_a_piece_is_laid_on_it(arena):
    def body():
        bed = f"Bed {uuid4().hex[:6]}"
        shop.edit_shop(by=person(), beds=[bed])
        piece, crew, manager = piece_at("formed"), person(Role.CREW), person()
        laid, gone = at_once(
            lambda: production.lay_on_bed(piece, by=crew, bed=bed), lambda: shop.edit_shop(by=manager, beds=[])
        )
        done, refused = sorted_out([laid, gone])
        assert (len(done), [type(no) for no in refused]) == (1, [BadEntry])
        lies, there = pieces.fresh(piece).bed == bed, bed in Shop.objects.get().beds
        assert lies == there  # never on a bed that the shop does not have
        if lies:
            production.lay_on_bed(piece, by=crew, bed="")

    arena(body, 2 * ROUNDS)


def test_two_managers_set_the_day_of_one_pour(arena):
    def body():
        piece, ana, ben = piece_at("released"), person(), person()
        days = (date(2031, 3, 4), date(2031, 3, 5))
        done, refused = sorted_out(
            at_once(
                *(
                    lambda who=who, on=on: planning.plan_pour(piece, by=who, on=on, seen=(None,))
                    for who, on in zip((ana, ben), days, strict=True)
                )
            )
        )
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert pieces.fresh(piece).pour_planned == done[0].pour_planned
        assert Event.objects.filter(verb="pour-planned", piece=piece).count() == 1

    arena(body, ROUNDS)
