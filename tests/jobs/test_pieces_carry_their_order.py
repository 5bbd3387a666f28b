"""A piece carries its order's day and whether it is put away, so that lists go by an index: after every action that
changes either, or makes a piece, both are what the order says."""

from datetime import date, timedelta

import pytest
from django.db.models import F, Q
from django.utils import timezone

from engineering.actions import dated
from engineering.core.contract import parse
from engineering.models import Specification
from jobs import queries
from jobs.actions import copying, designs, orders, pieces
from jobs.errors import EditConflict, NotAllowed, NotNow
from jobs.models import Order, Piece, Role, Stage
from tests.factories import document, make_design, make_order, person, piece_at, revise

pytestmark = pytest.mark.django_db
DAY, OTHER = date(2027, 3, 1), date(2027, 4, 2)


def wrong() -> list[Piece]:
    """Pieces that carry something else than their order has."""
    same_day = Q(order_due=F("design__order__due_date")) | Q(order_due=None, design__order__due_date=None)
    put_away = Q(order_away=True, design__order__archived_at__isnull=False)
    in_work = Q(order_away=False, design__order__archived_at=None)
    return list(Piece.objects.exclude(pk__in=Piece.objects.filter(same_day & (put_away | in_work)).values("pk")))


def test_the_look_finds_what_is_wrong() -> None:
    order = make_design(make_order(due_date=DAY), pieces=2).order
    assert wrong() == []
    Order.objects.filter(pk=order.pk).update(due_date=OTHER)
    assert len(wrong()) == 2
    Order.objects.filter(pk=order.pk).update(due_date=DAY, archived_at=timezone.now())
    assert len(wrong()) == 2


def test_made_added_and_made_again() -> None:
    design = make_design(make_order(due_date=DAY), pieces=3)
    make_design(make_order())
    assert set(Piece.objects.filter(design=design).values_list("order_due", flat=True)) == {DAY}
    designs.add_pieces(design, by=person(), count=2)
    rejected = pieces.reject(design.pieces.first(), by=person(), reason="x")
    again = pieces.remake(rejected, by=person())
    assert (again.order_due, again.order_away) == (DAY, False)
    assert wrong() == []


def test_the_day_changes_comes_and_goes() -> None:
    order = make_design(make_order(due_date=DAY), pieces=2).order
    beside = make_design(make_order(due_date=DAY)).pieces.get()
    for day in (OTHER, None, DAY):
        order = orders.edit_order(order, by=person(), version=order.version, due_date=day)
        assert set(Piece.objects.filter(design__order=order).values_list("order_due", flat=True)) == {day}
        assert wrong() == []
    beside.refresh_from_db()
    assert beside.order_due == DAY


def test_a_refused_change_changes_no_piece() -> None:
    order = make_design(make_order(due_date=DAY)).order
    with pytest.raises(EditConflict):
        orders.edit_order(order, by=person(), version=order.version + 1, due_date=OTHER)
    for refused in (
        lambda: orders.edit_order(order, by=person(Role.CREW), version=order.version, due_date=OTHER),
        lambda: orders.archive_order(order, by=person(Role.ENGINEER)),
    ):
        with pytest.raises(NotAllowed):
            refused()
    piece = Piece.objects.get()
    assert (piece.order_due, piece.order_away, wrong()) == (DAY, False, [])


def test_put_away_and_made_again_from_there() -> None:
    piece = make_design(make_order(due_date=DAY)).pieces.get()
    rejected = pieces.reject(piece, by=person(), reason="x")
    orders.archive_order(piece.design.order, by=person())
    with pytest.raises(NotNow):
        orders.archive_order(piece.design.order, by=person())
    assert Piece.objects.get().order_away
    again = pieces.remake(rejected, by=person())
    assert (again.order_due, again.order_away) == (DAY, True)
    assert wrong() == []


def test_copied_orders_and_lists_and_every_move_of_the_line() -> None:
    piece = piece_at(Stage.INSTALLED, make_design(make_order(due_date=DAY)))
    assert wrong() == []
    copied = copying.copy_order(piece.design.order, by=person(), number="C-1", due_date=OTHER)
    assert set(Piece.objects.filter(design__order=copied).values_list("order_due", flat=True)) == {OTHER}
    revise(make_design(make_order(due_date=DAY), pieces=2))
    assert wrong() == []


def test_the_counts_of_the_board_are_those_of_the_rows_after_every_action() -> None:
    def counted() -> dict[str, int]:
        found: dict[str, int] = {}
        for piece in Piece.objects.filter(design__order__archived_at=None):
            found[piece.stage] = found.get(piece.stage, 0) + 1
        return found

    late = make_order(due_date=timezone.localdate() - timedelta(days=1))
    design = make_design(late, pieces=3)
    assert queries.count_of_stages() == counted() == {Stage.ORDERED: 3}
    held = pieces.hold(design.pieces.first(), by=person(), reason="x")
    pieces.reject(design.pieces.last(), by=person(), reason="x")
    piece_at(Stage.CURING)
    assert queries.count_of_stages() == counted()
    assert queries.board().late == 2
    pieces.resume(held, by=person())
    assert queries.count_of_stages() == counted()
    orders.archive_order(late, by=person())
    assert queries.count_of_stages() == counted() == {Stage.CURING: 1}
    assert queries.board().late == 0


def test_a_specification_carries_its_ages() -> None:
    make_design(document=document(stressing={**document()["stressing"], "restress": [28, 90.5]}))
    make_design()
    for row in Specification.objects.all():
        described = parse(row.document)
        assert {name: getattr(row, name) for name in dated(described)} == dated(described)
    row = Specification.objects.order_by("pk").first()
    assert row is not None
    assert (row.stressing_age_days, row.restress_days) == (7, "28.0,90.5")
