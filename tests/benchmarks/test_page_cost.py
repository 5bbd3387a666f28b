"""What pages and lists cost as the shop's book grows: the number of queries stays, and the time is printed as ratios.

The first test runs always; `-m benchmark -s` runs the second, from 500 to 5,000 pieces.
"""

import time

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from jobs.models import Design, Order, Piece, Revision, Stage
from tests.factories import make_design, make_order, person, piece_at

pytestmark = pytest.mark.django_db
ADDRESSES = ("/board/", "/orders/", "/orders/{order}/", "/pieces/{piece}/", "/designs/{design}/", "/api/pieces/",
             "/api/orders/", "/api/designs/", "/api/events/", "/api/check-runs/")
A_DESIGN = 20
STAGES = [Stage.ORDERED, Stage.DESIGNED, Stage.RELEASED, Stage.CURING, Stage.STRESSED, Stage.INSTALLED]


class Book:
    """A book that grows: orders with a design and twenty pieces each, all on one specification."""

    def __init__(self) -> None:
        self.manager = person("manager")
        self.piece = piece_at(Stage.CURING)
        self.client = Client()
        self.client.force_login(self.manager, backend="django.contrib.auth.backends.ModelBackend")
        self.orders = 0

    def grow_to(self, pieces: int) -> None:
        template = Revision.objects.filter(design=self.piece.design).latest("number")
        while Piece.objects.count() < pieces:
            self.orders += 1
            order = Order.objects.create(number=f"G-{self.orders}", client=f"Client {self.orders}")
            design = Design.objects.create(order=order, mark="G-1", title="Grown")
            Piece.objects.bulk_create(
                Piece(design=design, serial=number + 1, stage=STAGES[number % len(STAGES)],
                      revision=template if STAGES[number % len(STAGES)] == Stage.CURING else None)
                for number in range(A_DESIGN)
            )

    def ask(self, address: str) -> tuple[int, float, int]:
        """Queries, seconds of this process (the best of three), and bytes of one page."""
        design = self.piece.design
        path = address.format(order=design.order_id, piece=self.piece.pk, design=design.pk)
        self.client.get(path)
        best = float("inf")
        for _ in range(3):
            with CaptureQueriesContext(connection) as queries:
                since = time.process_time()
                answer = self.client.get(path)
                best = min(best, time.process_time() - since)
            assert answer.status_code == 200, path
        return len(queries), best, len(answer.content)


def test_a_larger_book_asks_the_database_no_more_often() -> None:
    book = Book()
    make_design(make_order())
    book.grow_to(40)
    small = {address: book.ask(address)[0] for address in ADDRESSES}
    book.grow_to(240)
    assert {address: book.ask(address)[0] for address in ADDRESSES} == small


@pytest.mark.benchmark
def test_from_five_hundred_to_five_thousand_pieces() -> None:
    book = Book()
    book.grow_to(500)
    small = {address: book.ask(address) for address in ADDRESSES}
    book.grow_to(5_000)
    print(f"\n{'':24}{'queries':>8}{'ms at 500':>11}{'× at 5,000':>12}{'kB':>8}{'× kB':>7}")
    for address in ADDRESSES:
        (queries, before, size), (same, after, larger) = small[address], book.ask(address)
        assert queries == same, address
        ratios = f"{after / before:12.1f}{size / 1024:8.0f}{larger / size:7.1f}"
        print(f"{address:24}{queries:8}{before * 1000:11.1f}{ratios}")
