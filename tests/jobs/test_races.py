"""Two people at once, for real (`tests.jobs.arena`): pieces, drawings, rounds of stressing, people, jobs."""

from collections.abc import Callable
from uuid import uuid4

import pytest

from engineering import leases
from jobs import event_chain
from jobs.actions import designs, orders, people, pieces, production
from jobs.errors import EditConflict, GateClosed, NotNow, StageMoved, Taken
from jobs.models import Event, Order, Person, Piece, Pour, Release, Revision, Role, Stressing
from jobs.site import setup_code
from tests.factories import (
    check_form,
    document,
    make_design,
    make_order,
    make_wrench,
    newest,
    person,
    piece_at,
    read,
    start,
    stress,
)
from tests.jobs.arena import arena, at_once, empty_file, sorted_out

pytestmark = pytest.mark.django_db(transaction=True)
__all__ = ["arena", "empty_file"]  # fixtures
ROUNDS = 4


def test_two_moves_of_one_piece(arena):
    def body():
        piece, ana, ben = piece_at("poured"), person(Role.CREW), person(Role.CREW)
        done, refused = sorted_out(
            at_once(*(lambda who=who: pieces.move(piece, "curing", by=who, request_id=uuid4()) for who in (ana, ben)))
        )
        assert (len(done), [type(no) for no in refused]) == (1, [StageMoved])
        assert pieces.fresh(piece).stage == "curing"
        assert Event.objects.filter(piece=piece, verb="piece-moved", detail__to="curing").count() == 1

    arena(body, ROUNDS)


def test_one_tap_sent_twice_at_once(arena):
    def body():
        piece, ana, tap = piece_at("poured"), person(Role.CREW), uuid4()
        done, refused = sorted_out(at_once(*[lambda: pieces.move(piece, "curing", by=ana, request_id=tap)] * 3))
        assert refused == []
        assert len({event.pk for event in done}) == 1
        assert Event.objects.filter(request_id=tap).count() == 1

    arena(body, ROUNDS)


def test_two_orders_of_one_number(arena):
    def body():
        n = uuid4().hex[:8]
        manager = person()
        done, refused = sorted_out(at_once(*[lambda: orders.create_order(manager, number=f"R-{n}", client="A")] * 3))
        assert (len(done), {type(no) for no in refused}) == (1, {Taken})
        assert Order.objects.filter(number=f"R-{n}").count() == 1

    arena(body, ROUNDS)


def test_one_new_order_sent_three_times_at_once(arena):
    def body():
        n = uuid4().hex[:8]
        manager, tap = person(), uuid4()
        done, refused = sorted_out(
            at_once(*[lambda: orders.create_order(manager, number=f"R-{n}", client="A", request_id=tap)] * 3)
        )
        assert (len({order.pk for order in done}), refused) == (1, [])

    arena(body, ROUNDS)


def test_two_revisions_from_one(arena):
    def body():
        design, engineer = make_design(), person(Role.ENGINEER)
        done, refused = sorted_out(
            at_once(
                *(
                    lambda title=title: designs.revise(
                        design, by=engineer, document=document(title=title), base_revision=1
                    )
                    for title in "AB"
                )
            )
        )
        assert (len(done), [type(no) for no in refused]) == (1, [EditConflict])
        assert refused[0].newest == done[0]
        assert Revision.objects.filter(design=design).count() == 2

    arena(body, ROUNDS)


@pytest.mark.parametrize("verdict", ["pass", "review"])
def test_an_engineer_approves_while_the_specification_changes(arena, verdict):
    def body():
        design, engineer, other = make_design(verdict=verdict), person(Role.ENGINEER), person(Role.ENGINEER)
        revision = newest(design)
        released, revised = at_once(
            lambda: designs.release(revision, by=engineer),
            lambda: designs.revise(design, by=other, document=document(title="Changed"), base_revision=1),
        )
        sorted_out([released, revised])
        assert isinstance(revised, Revision)
        if isinstance(released, Release):  # then it came first, and the book says so
            verbs = list(
                Event.objects.filter(design=design, verb__in=["revision-released", "revision-made"]).values_list(
                    "verb", flat=True
                )
            )
            assert verbs == ["revision-released", "revision-made"]
            assert (released.revision, released.verdict) == (revision, verdict)
        else:
            assert isinstance(released, GateClosed)
            assert [blocker.code for blocker in released.blockers] == ["superseded"]
            assert not Release.objects.filter(revision=revision).exists()
        assert not Release.objects.filter(revision=revised).exists()  # nobody has looked at that one

    arena(body, 2 * ROUNDS)


def test_a_piece_is_formed_while_the_specification_changes(arena):
    def body():
        piece, ana, engineer = piece_at("released"), person(Role.CREW), person(Role.ENGINEER)
        moved, revised = at_once(
            lambda: pieces.move(piece, "formed", by=ana, request_id=uuid4()),
            lambda: designs.revise(piece.design, by=engineer, document=document(title="Changed"), base_revision=1),
        )
        sorted_out([moved, revised])
        now = pieces.fresh(piece)
        if isinstance(moved, Event):
            assert (now.stage, now.revision.number) == ("formed", 1)
        else:
            assert (now.stage, now.revision) == ("designed", None)

    arena(body, 2 * ROUNDS)


def test_two_people_read_the_same_turn(arena):
    def body():
        stressing, ana, ben = start(piece_at("stripped")), person(Role.CREW), person(Role.CREW)
        sorted_out(at_once(lambda: read(stressing, "R2", 0, ana), lambda: read(stressing, "R2", 0, ben)))
        assert set(stressing.readings.values_list("rod", "step")) == {("R2", 0)}
        with pytest.raises(NotNow, match="Rod R1 step 1 comes next"):
            read(stressing, "R2", 1, ana)

    arena(body, ROUNDS)


def test_two_people_read_two_turns_and_none_is_skipped(arena):
    def body():
        stressing, ana, ben = start(piece_at("stripped")), person(Role.CREW), person(Role.CREW)
        first, second = at_once(lambda: read(stressing, "R2", 0, ana), lambda: read(stressing, "R1", 0, ben))
        sorted_out([first, second])
        order = list(stressing.readings.order_by("pk").values_list("rod", flat=True))
        assert order == (["R2"] if isinstance(second, NotNow) else ["R2", "R1"])

    arena(body, ROUNDS)


def test_a_reading_and_the_stop_at_once(arena):
    def body():
        stressing, ana, ben = start(piece_at("stripped")), person(Role.CREW), person(Role.CREW)
        reading, stopped = at_once(
            lambda: read(stressing, "R2", 0, ana),
            lambda: production.stop_stressing(stressing, by=ben, reason="nut spins"),
        )
        sorted_out([reading, stopped])
        assert isinstance(stopped, Stressing)
        assert stressing.readings.count() == (0 if isinstance(reading, NotNow) else 1)

    arena(body, ROUNDS)


def test_two_people_start_stressing_one_piece(arena):
    def body():
        piece, wrench, crew = piece_at("stripped"), make_wrench(), person(Role.CREW)
        done, refused = sorted_out(at_once(*[lambda: production.start_stressing(piece, by=crew, wrench=wrench)] * 2))
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert Stressing.objects.filter(piece=piece).count() == 1

    arena(body, ROUNDS)


def test_two_people_finish_one_stressing(arena):
    def body():
        piece, crew = piece_at("stripped"), person(Role.CREW)
        stressing = start(piece)
        for step in (0, 1):
            for rod in ("R2", "R1"):
                read(stressing, rod, step)
        done, refused = sorted_out(at_once(*[lambda: production.finish_stressing(stressing, by=crew)] * 2))
        assert (len(done), len(refused)) == (1, 1)
        assert Event.objects.filter(verb="stressing-finished").count() == 1

    arena(body)


def test_two_batches_into_one_form(arena):
    def body():
        n = uuid4().hex[:8]
        piece, crew = piece_at("formed"), person(Role.CREW)
        check_form(piece)
        done, refused = sorted_out(
            at_once(*(lambda b=b: production.record_pour([piece], by=crew, batch=b) for b in (f"{n}-1", f"{n}-2")))
        )
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert pieces.fresh(piece).pour == done[0]
        assert Pour.objects.filter(batch__startswith=f"{n}-").count() == 1

    arena(body, ROUNDS)


def test_pieces_added_twice_at_once_are_numbered_on(arena):
    def body():
        design, manager = make_design(), person()
        done, refused = sorted_out(at_once(*[lambda: designs.add_pieces(design, by=manager, count=5)] * 3))
        assert (len(done), refused) == (3, [])
        assert list(Piece.objects.filter(design=design).values_list("serial", flat=True)) == list(range(1, 17))

    arena(body)


def test_a_rejected_piece_is_made_again_once(arena):
    def body():
        piece, manager = pieces.reject(piece_at("curing"), by=person(), reason="x"), person()
        done, refused = sorted_out(at_once(*[lambda: pieces.remake(piece, by=manager)] * 3))
        assert (len(done), len(refused)) == (1, 2)
        assert Piece.objects.filter(remake_of=piece).count() == 1

    arena(body)


def test_two_first_managers(arena):
    def body():
        code = setup_code.make()
        made, refused = sorted_out(
            at_once(
                *(
                    lambda name=name: people.create_first_manager(code=code, username=name, password="long enough 99")
                    for name in ("ana", "ben")
                )
            )
        )
        assert (len(made), [type(no) for no in refused]) == (1, [NotNow])
        assert Person.objects.count() == 1

    arena(body)


def test_two_managers_close_each_others_account(arena):
    def body():
        Person.objects.filter(role=Role.MANAGER).update(role=Role.VIEWER)
        ana, ben = person(), person()
        done, refused = sorted_out(
            at_once(
                lambda: people.edit_person(ben, by=ana, is_active=False),
                lambda: people.edit_person(ana, by=ben, is_active=False),
            )
        )
        assert (len(done), len(refused)) == (1, 1)
        assert Person.objects.filter(role=Role.MANAGER, is_active=True).count() == 1

    arena(body, ROUNDS)


def test_two_workers_claim_one_run(arena):
    def body():
        run = newest(make_design(verdict=None)).specification.check_runs.get()
        claims = at_once(*[lambda: leases.claim(run.pk)] * 4)
        assert sum(claim is not None for claim in claims) == 1
        run.refresh_from_db()
        assert run.attempts == 1

    arena(body, ROUNDS)


def test_many_people_at_once_leave_an_unbroken_chain(arena):
    def body():
        manager = person()
        stress(piece_at("stripped"))

        def shift(n: int) -> Callable[[], None]:
            def act() -> None:
                for m in range(5):
                    make_design(make_order(manager, number=f"S-{n}-{m}"), manager)

            return act

        answers, refused = sorted_out(at_once(*(shift(n) for n in range(6))))
        assert (len(answers), refused) == (6, [])
        assert list(event_chain.faults()) == []
        assert Event.objects.filter(verb="design-made").count() == 31

    arena(body)
