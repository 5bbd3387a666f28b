"""A reading that should not be there is taken back by an entry of its own; nothing is ever deleted."""

from __future__ import annotations

from uuid import uuid4

import pytest

from jobs import targets
from jobs.actions import production
from jobs.errors import BadEntry, NotAllowed, NotNow
from jobs.event_chain import faults
from jobs.models import Event, Stage, Stressing, StressingReading
from tests.factories import person, piece_at, read, start

pytestmark = pytest.mark.django_db


def newest(stressing: Stressing) -> Stressing:
    return Stressing.objects.get(pk=stressing.pk)


def test_the_last_reading_counts_no_more_and_both_rows_stay() -> None:
    stressing, number = start(piece_at(Stage.STRIPPED)), uuid4()
    first, second = read(stressing, "R2", 0), read(stressing, "R1", 0)
    by = person("crew")
    for _ in range(2):  # the same tap twice is one counter-entry
        made = production.take_back_reading(
            stressing, by=by, reading=second.pk, reason="that was rod R2", request_id=number
        )
    assert StressingReading.objects.count() == 3
    assert list(newest(stressing).newest_readings.values()) == [first]
    assert targets.next_turn(stressing.targets, newest(stressing).newest_readings) == ("R1", 0)
    event = Event.objects.get(verb="reading-taken-back")
    assert (event.detail["reading"], event.detail["counter_entry"]) == (second.pk, made.pk)
    assert list(faults()) == []


def test_an_earlier_reading_of_the_same_turn_counts_again() -> None:
    stressing = start(piece_at(Stage.STRIPPED))
    first = read(stressing, "R2", 0)
    again = read(stressing, "R2", 0, elongation_in=0.2)
    production.take_back_reading(stressing, by=person("crew"), reading=again.pk, reason="misread")
    assert newest(stressing).newest_readings == {("R2", 0): first}


@pytest.mark.parametrize(("who", "reason", "error"), [("viewer", "x", NotAllowed), ("crew", "  ", BadEntry)])
def test_not_by_a_viewer_and_not_without_a_reason(who: str, reason: str, error: type[Exception]) -> None:
    stressing = start(piece_at(Stage.STRIPPED))
    row = read(stressing, "R2", 0)
    with pytest.raises(error):
        production.take_back_reading(stressing, by=person(who), reading=row.pk, reason=reason)
    assert newest(stressing).newest_readings == {("R2", 0): row}
    assert not Event.objects.filter(verb="reading-taken-back").exists()


def test_only_the_last_and_never_one_over_the_limit_of_the_crown() -> None:
    stressing = start(piece_at(Stage.STRIPPED))
    first = read(stressing, "R2", 0)
    over = read(stressing, "R1", 0, crown_in=0.9)
    for row in (first, over):
        with pytest.raises(NotNow):
            production.take_back_reading(stressing, by=person("crew"), reading=row.pk, reason="no")
    assert StressingReading.objects.count() == 2
