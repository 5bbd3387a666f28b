"""The event chain: added in the transaction of the act, and a changed, missing or swapped row is found."""

from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.db import connection, transaction

from jobs import event_chain
from jobs.actions import events, orders
from jobs.models import ChainHead, Event, Order
from tests.factories import make_order, person

pytestmark = pytest.mark.django_db


@pytest.fixture
def chain() -> list[Event]:
    manager = person()
    for _ in range(5):
        make_order(manager)
    return list(Event.objects.order_by("sequence"))


def verify() -> tuple[int, str]:
    """Exit status of the command and what it said."""
    out, err = StringIO(), StringIO()
    try:
        call_command("verify_events", stdout=out, stderr=err)
    except SystemExit as leaving:
        return int(leaving.code or 0), err.getvalue()
    return 0, out.getvalue()


def alter(sequence: int, /, **fields) -> None:
    Event.objects.filter(sequence=sequence).update(**fields)


def drop(sequence: int) -> None:
    Event.objects.filter(sequence=sequence)._raw_delete("default")


def test_rows_are_numbered_on_and_carry_the_hash_before(chain):
    assert [event.sequence for event in chain] == [1, 2, 3, 4, 5]
    assert chain[0].previous_hash == event_chain.START
    assert [event.previous_hash for event in chain[1:]] == [event.hash for event in chain[:-1]]
    head = ChainHead.objects.get()
    assert (head.sequence, head.hash) == (5, chain[-1].hash)


def test_an_untouched_chain_is_in_order(chain):
    assert verify() == (0, "All 5 events are as they were written, in order, none missing.\n")


def test_an_empty_chain_is_in_order():
    assert verify()[0] == 0


@pytest.mark.parametrize(
    "fields",
    [
        {"text": "x"},
        {"verb": "x"},
        {"detail": {}},
        {"by": None},
        {"order": None},
        {"request_id": uuid4()},
        {"detail": {"number": "O-9"}},
        {"at": "2026-01-01T00:00:00Z"},
        {"hash": "0" * 64},
    ],
)
def test_a_changed_row_is_named(chain, fields):
    alter(3, **fields)
    code, words = verify()
    assert code == 1
    assert "Event 3 (" in words
    assert "was changed after it was written" in words


def test_a_row_changed_with_its_hash_made_new_is_found_at_the_next(chain):
    alter(3, text="forged")
    forged = Event.objects.get(sequence=3)
    alter(3, hash=event_chain.event_hash(forged))
    assert verify() == (
        1,
        "Event 4 does not follow from event 3: one was swapped or put in later.\n"
        "1 of 5 events do not fit. Compare with a backup from before.\n",
    )


def test_the_last_row_forged_with_its_hash_is_found_by_the_head(chain):
    alter(5, text="forged")
    alter(5, hash=event_chain.event_hash(Event.objects.get(sequence=5)))
    assert verify()[0] == 1


@pytest.mark.parametrize(
    ("gone", "words"),
    [
        ([3], "Event 3 is missing."),
        ([1], "Event 1 is missing."),
        ([5], "Event 5 is missing."),
        ([4, 5], "Events 4 to 5 are missing."),
    ],
)
def test_a_missing_row_is_named(chain, gone, words):
    for sequence in gone:
        drop(sequence)
    code, said = verify()
    assert code == 1
    assert words in said


def test_two_swapped_rows_are_found(chain):
    alter(2, sequence=100)
    alter(3, sequence=2)
    alter(100, sequence=3)
    code, words = verify()
    assert code == 1
    assert "Event 2 (order-made) was changed" in words
    assert "Event 3 (order-made) was changed" in words


def test_a_row_put_in_past_the_book_is_found(chain):
    last = chain[-1]
    forged = Event(sequence=6, at=last.at, verb="piece-moved", text="never happened", previous_hash=last.hash)
    forged.hash = event_chain.event_hash(forged)
    forged.save()
    assert "rows were added past the book" in verify()[1]


def test_an_act_that_fails_after_its_event_leaves_no_event(chain):
    def act() -> None:
        with transaction.atomic():
            events.record("piece-moved", "x", by=None)
            raise RuntimeError("power cut")

    with pytest.raises(RuntimeError, match="power cut"):
        act()
    assert Event.objects.count() == 5
    assert verify()[0] == 0


@pytest.mark.django_db(transaction=True)
def test_an_event_outside_a_transaction_is_refused():
    with pytest.raises(RuntimeError, match="in the transaction of the act"):
        events.record("piece-moved", "x", by=None)
    assert not Event.objects.exists()


def test_an_act_without_its_event_does_not_happen(monkeypatch):
    manager = person()

    def broken(*args, **kwargs):
        raise RuntimeError("the log is full")

    monkeypatch.setattr(events, "record", broken)
    with pytest.raises(RuntimeError, match="the log is full"):
        orders.create_order(manager, number="O-1", client="A")
    assert not Order.objects.exists()


def test_events_are_not_deleted(chain):
    with pytest.raises(TypeError, match="only added"):
        chain[0].delete()


def test_events_are_not_saved_again(chain):
    chain[0].text = "forged"
    with pytest.raises(TypeError, match="only added"):
        chain[0].save()
    assert verify()[0] == 0


@pytest.mark.parametrize(
    "detail",
    [
        {"a": 1.0},
        {"a": 1},
        {"a": 1e20},
        {"a": 100000000000000000000},
        {"a": -0.0},
        {"a": 1e-9},
        {"a": 0.1 + 0.2},
        {"a": [1.5, True, None, "ü€𝄞"]},
        {"b": 1, "a": 2},
        {"ä": {"z": {}, "a": []}},
    ],
)
def test_a_row_reads_back_with_the_hash_it_was_written_with(detail):
    with transaction.atomic():
        event = events.record("piece-moved", "x", by=person(), detail=detail)
    assert event_chain.event_hash(Event.objects.get(pk=event.pk)) == event.hash


def test_a_number_that_is_none_is_not_written():
    with pytest.raises(ValueError, match="no such number"), transaction.atomic():
        events.record("piece-moved", "x", by=person(), detail={"a": float("nan")})
    assert not Event.objects.exists()


def test_a_name_is_not_in_the_row_so_that_it_can_be_erased():
    manager = person(first_name="Zebulon", last_name="Quist")
    make_order(manager)
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM jobs_event")
        assert "Zebulon" not in str(cursor.fetchall())
