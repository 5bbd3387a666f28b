"""One piece, all the way, by every gate."""

import pytest

from jobs.models import Event, Stage
from tests.factories import piece_at

pytestmark = pytest.mark.django_db


def test_a_piece_goes_from_order_to_install():
    piece = piece_at(Stage.INSTALLED)
    moves = list(Event.objects.filter(piece=piece, verb="piece-moved").values_list("detail__to", flat=True))
    assert piece.stage == Stage.INSTALLED
    assert moves == [
        "designed",
        "released",
        "formed",
        "poured",
        "curing",
        "stripped",
        "stressed",
        "finished",
        "delivered",
        "installed",
    ]


def test_a_piece_with_a_load_test_goes_through_it():
    piece = piece_at(Stage.INSTALLED, load_test_required=True)
    moves = list(Event.objects.filter(piece=piece, verb="piece-moved").values_list("detail__to", flat=True))
    assert "load-tested" in moves
