"""Two people at one load test, for real (`tests.jobs.arena`): planned, planned anew, concluded."""

from datetime import timedelta

import pytest
from django.utils import timezone

from engineering.queries import latest_run
from jobs import gates
from jobs.actions import pieces, production
from jobs.actions.production.load_testing import newest_plan
from jobs.errors import NotNow
from jobs.load_tests import load_for
from jobs.models import (
    Event,
    LoadTest,
    LoadTestPlan,
    LoadTestReading,
    Role,
    Stage,
)
from jobs.standing import Standing
from tests.factories import (
    person,
    piece_at,
    plan_load_test,
    read_load,
)
from tests.jobs.arena import arena, at_once, empty_file, sorted_out

pytestmark = pytest.mark.django_db(transaction=True)
__all__ = ["arena", "empty_file"]  # fixtures
ROUNDS = 4


def test_two_people_begin_a_load_test_of_one_piece(arena):
    def body():
        piece, ana, ben = piece_at("stressed", load_test_required=True), person(Role.CREW), person(Role.CREW)
        done, refused = sorted_out(at_once(*(lambda who=who: plan_load_test(piece, who) for who in (ana, ben))))
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert LoadTestPlan.objects.get(piece=piece) == done[0]
        assert Event.objects.filter(verb="load-test-planned", piece=piece).count() == 1

    arena(body, ROUNDS)


def test_a_load_test_is_planned_anew_while_the_old_plan_is_read(arena):
    def body():
        piece, ana, ben = piece_at("stressed", load_test_required=True), person(Role.CREW), person(Role.CREW)
        old = plan_load_test(piece, ana)
        made, seen = at_once(
            lambda: plan_load_test(piece, ben, replaces=old.pk), lambda: read_load(old, 100.0, 0.01, 0, by=ana)
        )
        sorted_out([made, seen])
        assert newest_plan(piece) == made
        assert LoadTestReading.objects.filter(plan=old).count() == (0 if isinstance(seen, NotNow) else 1)
        assert not LoadTestReading.objects.filter(plan=made).exists()

    arena(body, ROUNDS)


def ready_to_conclude(crew):
    piece = piece_at("stressed", load_test_required=True)
    load = load_for(Standing(piece).described, latest_run(piece.revision.specification))
    plan = plan_load_test(piece, crew, unit_lbf=load.to_put_on_lbf / 40 + 1)
    for hours in (0, 1):
        read_load(plan, 40 * plan.unit_lbf, 0.2 * load.limit_in, hours, by=crew)
    return piece, plan


def test_two_people_conclude_one_load_test(arena):
    def body():
        crew = person(Role.CREW)
        piece, plan = ready_to_conclude(crew)
        done, refused = sorted_out(at_once(*[lambda: production.conclude_load_test(plan, by=crew)] * 2))
        assert (len(done), [type(no) for no in refused]) == (1, [NotNow])
        assert LoadTest.objects.filter(piece=piece).count() == 1
        assert Event.objects.filter(verb="load-tested", piece=piece).count() == 1

    arena(body, ROUNDS)


def test_a_crack_is_seen_while_the_load_test_is_concluded(arena):
    def body():
        crew, other = person(Role.CREW), person(Role.CREW)
        piece, plan = ready_to_conclude(crew)
        now = timezone.now() - timedelta(days=9)
        concluded, seen = at_once(
            lambda: production.conclude_load_test(plan, by=crew),
            lambda: production.record_load_reading(
                plan, by=other, load_lbf=900.0, deflection_in=0.1, crack_seen=True, nobody_under=True, at=now
            ),
        )
        sorted_out([concluded, seen])
        assert isinstance(seen, LoadTestReading)
        first = "load-tested" if concluded.accepted else "load-read"
        verbs = Event.objects.filter(piece=piece, verb__in=["load-tested", "load-read"]).order_by("-sequence")
        assert verbs[1].verb == first  # accepted only where the crack was not in the book yet
        assert LoadTest.objects.get(piece=piece).cracks_seen is not concluded.accepted
        codes = {blocker.code for blocker in gates.blockers(pieces.fresh(piece), Stage.LOAD_TESTED)}
        assert "non-conformance-open" in codes  # whichever came first, the piece waits for the engineer
        assert ("load-test-not-accepted" in codes) is not concluded.accepted

    arena(body, 2 * ROUNDS)
