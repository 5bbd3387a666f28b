"""Two people at once, for real (`tests.jobs.arena`): an order changes while pieces are added to it."""

from datetime import date

import pytest

from jobs.actions import designs, orders, pieces
from jobs.errors import NotNow
from jobs.models import Order, Piece
from tests.factories import make_design, make_order, person
from tests.jobs.arena import arena, at_once, empty_file, sorted_out
from tests.jobs.test_pieces_carry_their_order import wrong

pytestmark = pytest.mark.django_db(transaction=True)
__all__ = ["arena", "empty_file"]  # fixtures
ROUNDS = 4
DAY, OTHER = date(2027, 3, 1), date(2027, 4, 2)


def test_a_new_day_of_the_order_reaches_the_piece_that_is_added_meanwhile(arena):
    def body():
        design, manager = make_design(make_order(due_date=DAY), pieces=3), person()
        rejected = pieces.reject(design.pieces.last(), by=manager, reason="x")
        version = Order.objects.get(pk=design.order_id).version
        _, refused = sorted_out(
            at_once(
                lambda: designs.add_pieces(design, by=manager, count=5),
                lambda: orders.edit_order(design.order, by=manager, version=version, due_date=OTHER),
                lambda: pieces.remake(rejected, by=manager),
            )
        )
        assert refused == []
        assert list(Piece.objects.filter(design=design).values_list("order_due", flat=True)) == [OTHER] * 9
        assert wrong() == []

    arena(body, ROUNDS)


def test_a_piece_added_while_its_order_is_put_away_goes_with_it_or_is_not_added(arena):
    def body():
        design, manager = make_design(make_order(due_date=DAY)), person()
        _, refused = sorted_out(
            at_once(
                lambda: designs.add_pieces(design, by=manager, count=5),
                lambda: orders.archive_order(design.order, by=manager),
            )
        )
        assert [type(no) for no in refused] in ([], [NotNow])
        added = Piece.objects.filter(design=design)
        assert added.count() == (1 if refused else 6)
        assert all(piece.order_away for piece in added)
        assert wrong() == []

    arena(body, ROUNDS)
