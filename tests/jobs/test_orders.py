"""Orders: made once, edited on what was seen, archived; and what does not happen."""

from datetime import date
from uuid import uuid4

import pytest

from jobs.actions import orders
from jobs.errors import BadEntry, EditConflict, NotAllowed, NothingChanged, NotNow, RequestReused, Taken
from jobs.models import Event, Order
from tests.factories import make_order, person

pytestmark = pytest.mark.django_db


def test_an_order_is_made_with_its_event():
    manager = person()
    order = orders.create_order(manager, number=" O-77 ", client="Mill Lane House", due_date=date(2027, 3, 1))
    event = Event.objects.get(order=order)
    assert (order.number, order.version) == ("O-77", 0)
    assert (event.verb, event.by, event.detail["due_date"]) == ("order-made", manager, "2027-03-01")


def test_the_same_tap_twice_makes_one_order():
    manager, tap = person(), uuid4()
    first = orders.create_order(manager, number="O-1", client="A", request_id=tap)
    second = orders.create_order(manager, number="O-1", client="A", request_id=tap)
    assert first == second
    assert (Order.objects.count(), Event.objects.count()) == (1, 1)


def test_a_tap_number_of_somebody_else_is_refused():
    tap = uuid4()
    orders.create_order(person(), number="O-1", client="A", request_id=tap)
    with pytest.raises(RequestReused, match="used before for something else"):
        orders.create_order(person(), number="O-2", client="B", request_id=tap)
    assert Order.objects.count() == 1


def test_a_number_in_use_is_refused_in_words():
    make_order(number="O-1")
    with pytest.raises(Taken, match="There is an order O-1 already"):
        make_order(number="O-1")
    assert Order.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"number": ""}, "The number is missing"),
        ({"client": "   "}, "The client is missing"),
        ({"number": "x" * 21}, "21 characters long; 20 fit"),
        ({"client": "a\0b"}, "cannot be stored"),
        ({"notes": "\ud800"}, "cannot be stored"),
        ({"client": 7}, "should be text"),
    ],
)
def test_what_cannot_be_stored_is_refused(fields, words):
    manager = person()
    with pytest.raises(BadEntry, match=words):
        orders.create_order(manager, **{"number": "O-1", "client": "A", **fields})
    assert not Order.objects.exists()
    assert not Event.objects.exists()


def test_an_edit_on_an_old_version_is_a_conflict_and_writes_nothing():
    manager = person()
    order = make_order(manager, client="Before")
    orders.edit_order(order, by=manager, version=0, client="Theirs")
    with pytest.raises(EditConflict, match="Somebody else saved a change") as caught:
        orders.edit_order(order, by=manager, version=0, client="Mine")
    order.refresh_from_db()
    assert (order.client, order.version, caught.value.newest.client) == ("Theirs", 1, "Theirs")
    assert Event.objects.filter(verb="order-edited").count() == 1


def test_an_edit_keeps_before_and_after():
    manager = person()
    order = orders.edit_order(
        make_order(manager, client="Before"), by=manager, version=0, client="After", due_date=date(2027, 1, 2)
    )
    detail = Event.objects.get(verb="order-edited").detail
    assert detail == {
        "before": {"client": "Before", "due_date": None},
        "after": {"client": "After", "due_date": "2027-01-02"},
    }
    assert order.version == 1


def test_an_edit_that_changes_nothing_is_no_edit():
    manager = person()
    order = make_order(manager, client="Same")
    with pytest.raises(NothingChanged, match="nothing to save"):
        orders.edit_order(order, by=manager, version=0, client="Same ")
    order.refresh_from_db()
    assert order.version == 0


def test_a_field_that_is_not_to_be_edited_is_refused():
    manager = person()
    with pytest.raises(BadEntry, match="has no archived_at to change"):
        orders.edit_order(make_order(manager), by=manager, version=0, archived_at=None)


def test_an_order_is_archived_once():
    manager = person()
    order = orders.archive_order(make_order(manager), by=manager)
    with pytest.raises(NotNow, match="archived already"):
        orders.archive_order(order, by=manager)
    assert Event.objects.filter(verb="order-archived").count() == 1


@pytest.mark.parametrize("role", ["crew", "engineer", "viewer"])
def test_only_the_manager_touches_orders(role):
    order, other = make_order(), person(role)
    with pytest.raises(NotAllowed, match="for the shop manager"):
        orders.create_order(other, number="O-9", client="A")
    with pytest.raises(NotAllowed, match="for the shop manager"):
        orders.edit_order(order, by=other, version=0, client="B")
    with pytest.raises(NotAllowed, match="for the shop manager"):
        orders.archive_order(order, by=other)
    order.refresh_from_db()
    assert (Order.objects.count(), order.version, order.archived_at) == (1, 0, None)
