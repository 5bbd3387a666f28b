"""What pages and lists cost as the shop's book grows: the number of queries stays, and the time is printed as ratios.

The first two tests run always; `-m benchmark -s` runs the others, up to 50,000 pieces.
"""

import itertools
import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.template import engines
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from jobs.models import Design, Order, Piece, Pour, Revision, Stage
from tests.factories import make_design, make_order, person, piece_at

pytestmark = pytest.mark.django_db
ADDRESSES = (
    "/board/",
    "/today/",
    "/schedule/",
    "/orders/",
    "/orders/{order}/",
    "/pieces/{piece}/",
    "/designs/{design}/",
    "/search/?q=G-1",
    "/api/pieces/",
    "/api/orders/",
    "/api/designs/",
    "/api/events/",
    "/api/check-runs/",
)
OVER_ALL = ("/board/", "/today/", "/schedule/")  # pages that are of the whole book
MOST_QUERIES = 12
GROWING = ("/board/", "/today/", "/pieces/{piece}/", "/api/pieces/")
A_DESIGN, AT_ONCE = 20, 1_000
BOUND = (Stage.RELEASED, Stage.FORMED, Stage.CURING, Stage.STRESSED, Stage.INSTALLED)
STAGES = (Stage.ORDERED, Stage.DESIGNED, *BOUND)
POURED = (Stage.CURING, Stage.STRESSED, Stage.INSTALLED)
BARE = engines["django"].from_string(
    "<table>{% for piece in pieces %}<tr><td>{{ piece.design.mark }}/{{ piece.serial }}</td>"
    "<td>{{ piece.stage }}</td><td>{{ piece.design.order.client }}</td></tr>{% endfor %}</table>"
)


class Book:
    """A book that grows: orders with a design and twenty pieces each, all on one specification, due and planned over
    the weeks around today; what is poured has a pour.
    """

    def __init__(self) -> None:
        self.manager = person("manager")
        self.piece = piece_at(Stage.CURING)
        self.client = Client()
        self.client.force_login(self.manager, backend="django.contrib.auth.backends.ModelBackend")
        self.orders = itertools.count(1)

    def grow_to(self, pieces: int) -> None:
        template = Revision.objects.filter(design=self.piece.design).latest("number")
        while (missing := pieces - Piece.objects.count()) > 0:
            numbers = [next(self.orders) for _ in range(min(AT_ONCE, -(-missing // A_DESIGN)))]
            orders = Order.objects.bulk_create(self.order(number) for number in numbers)
            designs = Design.objects.bulk_create(Design(order=row, mark="G-1", title="Grown") for row in orders)
            pours = Pour.objects.bulk_create(self.pour(number) for number in numbers)
            Piece.objects.bulk_create(
                self.grown(design, place, pour, template)
                for design, pour in zip(designs, pours, strict=True)
                for place in range(A_DESIGN)
            )

    def order(self, number: int) -> Order:
        due = timezone.localdate() + timedelta(days=number % 90 - 30)
        return Order(number=f"G-{number}", client=f"Client {number}", due_date=due)

    def pour(self, number: int) -> Pour:
        return Pour(by=self.manager, at=timezone.now() - timedelta(days=number % 60), batch=f"G-{number}")

    def grown(self, design: Design, place: int, pour: Pour, template: Revision) -> Piece:
        stage = STAGES[place % len(STAGES)]
        planned = timezone.localdate() + timedelta(days=design.pk % 60 - 10) if stage not in POURED else None
        return Piece(
            design=design,
            serial=place + 1,
            stage=stage,
            pour_planned=planned,
            revision=template if stage in BOUND else None,
            pour=pour if stage in POURED else None,
        )

    def ask(self, address: str) -> tuple[int, float, int]:
        """Queries, seconds of this process (the best of three), and bytes of one page."""
        design = self.piece.design
        path = address.format(order=design.order_id, piece=self.piece.pk, design=design.pk)
        return measured(lambda: self.client.get(path), path)


def measured(ask: Callable[[], Any], name: str) -> tuple[int, float, int]:
    ask()
    best = float("inf")
    for _ in range(3):
        with CaptureQueriesContext(connection) as queries:
            since = time.process_time()
            answer = ask()
            best = min(best, time.process_time() - since)
        assert answer.status_code == 200, name
    return len(queries), best, len(answer.content)


def bare_list() -> HttpResponse:
    """Every piece with its design and order in a plain table: what Django itself takes for so many rows."""
    pieces = Piece.objects.select_related("design__order").order_by("pk")
    return HttpResponse(BARE.render({"pieces": pieces}))


def test_a_larger_book_asks_the_database_no_more_often() -> None:
    book = Book()
    make_design(make_order())
    book.grow_to(40)
    small = {address: book.ask(address)[0] for address in ADDRESSES}
    book.grow_to(240)
    assert {address: book.ask(address)[0] for address in ADDRESSES} == small


def test_a_page_of_the_whole_book_asks_twelve_times_at_most() -> None:
    book = Book()
    book.grow_to(240)
    assert [(address, asked) for address in OVER_ALL if (asked := book.ask(address)[0]) > MOST_QUERIES] == []


@pytest.mark.benchmark
def test_beside_a_bare_list_of_five_thousand() -> None:
    book = Book()
    book.grow_to(5_000)
    _, bare, size = measured(bare_list, "bare list")
    print(f"\nbare list of 5,000 pieces: {bare * 1000:.1f} ms, {size / 1024:.0f} kB")
    for address in OVER_ALL:
        queries, took, size = book.ask(address)
        print(f"{address:24}{queries:8} queries{took * 1000:11.1f} ms{took / bare:9.2f} × bare{size / 1024:8.0f} kB")
        assert queries <= MOST_QUERIES, address


@pytest.mark.benchmark
def test_from_five_hundred_to_five_thousand_pieces() -> None:
    grown(ADDRESSES, 500, 5_000)


@pytest.mark.benchmark
def test_from_five_hundred_to_fifty_thousand_pieces() -> None:
    grown(GROWING, 500, 50_000)


def grown(addresses: tuple[str, ...], few: int, many: int) -> None:
    book = Book()
    book.grow_to(few)
    small = {address: book.ask(address) for address in addresses}
    book.grow_to(many)
    print(f"\n{'':24}{'queries':>8}{f'ms at {few:,}':>12}{f'ms at {many:,}':>14}{'×':>7}{'kB':>8}{'× kB':>7}")
    for address in addresses:
        (queries, before, size), (same, after, larger) = small[address], book.ask(address)
        assert queries == same, address
        times = f"{before * 1000:12.1f}{after * 1000:14.1f}{after / before:7.1f}"
        print(f"{address:24}{queries:8}{times}{size / 1024:8.0f}{larger / size:7.1f}")
