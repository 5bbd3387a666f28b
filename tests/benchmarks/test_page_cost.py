"""What pages and lists cost as the shop's book grows: the number of queries stays, and the time is printed as ratios.

The first three tests run always; `-m benchmark -s` runs the others, up to 50,000 pieces.
"""

from __future__ import annotations

import itertools
import time
from collections import Counter
from collections.abc import Callable
from datetime import timedelta
from typing import Any, NamedTuple

import pytest
from django.db import connection
from django.db.models import Model, signals
from django.http import HttpResponse
from django.template import engines
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from engineering.models import Specification
from jobs.models import Design, Notice, Order, Piece, Pour, Revision, Role, Stage
from jobs.notices import Found
from jobs.views.production import plan
from tests.factories import make_design, make_order, person, piece_at
from tests.production.full_floor import a_full_floor

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
MOST_QUERIES = 11
GROWING = (
    "/board/",
    "/board/ordered/",
    "/today/",
    "/today/all/",
    "/schedule/",
    "/pieces/{piece}/",
    "/api/pieces/",
    "/api/orders/",
)
A_DESIGN, AT_ONCE = 20, 1_000
BOUND = (Stage.RELEASED, Stage.FORMED, Stage.CURING, Stage.STRESSED, Stage.INSTALLED)
STAGES = (Stage.ORDERED, Stage.DESIGNED, *BOUND)
POURED = (Stage.CURING, Stage.STRESSED, Stage.INSTALLED)
BARE = engines["django"].from_string(
    "<table>{% for piece in pieces %}<tr><td>{{ piece.design.mark }}/{{ piece.serial }}</td>"
    "<td>{{ piece.stage }}</td><td>{{ piece.design.order.client }}</td></tr>{% endfor %}</table>"
)


class Book:
    """A book that grows: orders with a design of its own specification and twenty pieces each, due and planned over the
    weeks around today; what is poured has a pour, what is late has its notice.

    `open_pieces`: so many stand on the floor, and whatever comes on top is installed, its order put away. None: all
    stand on the floor.
    """

    def __init__(self, open_pieces: int | None = None) -> None:
        self.open_pieces = open_pieces
        self.manager = person("manager")
        self.piece = piece_at(Stage.CURING)
        self.template = Revision.objects.select_related("specification").get(design=self.piece.design)
        self.client = Client()
        self.client.force_login(self.manager, backend="django.contrib.auth.backends.ModelBackend")
        self.orders = itertools.count(1)

    def grow_to(self, pieces: int) -> None:
        while (missing := pieces - Piece.objects.count()) > 0:
            there = Piece.objects.filter(order_away=False).count()
            away = self.open_pieces is not None and there >= self.open_pieces
            numbers = [next(self.orders) for _ in range(min(AT_ONCE, -(-missing // A_DESIGN)))]
            if not away and self.open_pieces is not None:
                numbers = numbers[: -(-(self.open_pieces - there) // A_DESIGN)]
            self.add(numbers, away)
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("ANALYZE")  # what its autovacuum does once rows are committed

    def add(self, numbers: list[int], away: bool) -> None:
        orders = Order.objects.bulk_create(self.order(number, away) for number in numbers)
        designs = Design.objects.bulk_create(Design(order=row, mark="G-1", title="Grown") for row in orders)
        specification = self.template.specification
        specifications = Specification.objects.bulk_create(self.copy_of(specification) for _ in numbers)
        revisions = Revision.objects.bulk_create(
            Revision(design=design, number=1, specification=row, made_by=self.manager)
            for design, row in zip(designs, specifications, strict=True)
        )
        pours = Pour.objects.bulk_create(self.pour(number, away) for number in numbers)
        made = Piece.objects.bulk_create(
            self.grown(revision, place, pour, away)
            for revision, pour in zip(revisions, pours, strict=True)
            for place in range(A_DESIGN)
        )
        late = [piece for piece in made if not away and piece.stage != Stage.INSTALLED and is_late(piece)]
        Notice.objects.bulk_create(told_late(piece) for piece in late)

    def copy_of(self, row: Specification) -> Specification:
        fields = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
        return Specification(**(fields | {"id": None}))

    def order(self, number: int, away: bool) -> Order:
        due = timezone.localdate() + timedelta(days=number % 90 - (400 if away else 30))
        put_away = timezone.now() if away else None
        return Order(number=f"G-{number}", client=f"Client {number}", due_date=due, archived_at=put_away)

    def pour(self, number: int, away: bool) -> Pour:
        return Pour(by=self.manager, at=timezone.now() - timedelta(days=number % 60 + 300 * away), batch=f"G-{number}")

    def grown(self, revision: Revision, place: int, pour: Pour, away: bool) -> Piece:
        design, stage = revision.design, Stage.INSTALLED if away else STAGES[place % len(STAGES)]
        planned = timezone.localdate() + timedelta(days=design.pk % 60 - 10) if stage not in POURED else None
        return Piece(
            design=design,
            serial=place + 1,
            stage=stage,
            pour_planned=planned,
            revision=revision if stage in BOUND else None,
            pour=pour if stage in POURED else None,
            order_due=design.order.due_date,
            order_away=away,
        )

    def ask(self, address: str) -> Asked:
        """Of one page."""
        design = self.piece.design
        path = address.format(order=design.order_id, piece=self.piece.pk, design=design.pk)
        return measured(lambda: self.client.get(path), path)


def is_late(piece: Piece) -> bool:
    return piece.order_due is not None and piece.order_due < timezone.localdate()


def told_late(piece: Piece) -> Notice:
    found = Found(f"late-{piece.pk}", "piece-late", f"{piece} is late.", (Role.MANAGER,), piece)
    return Notice(key=found.key, kind=found.kind, text=found.text, roles=list(found.roles), piece=piece, **found.place)


class Asked(NamedTuple):
    """Queries, seconds of this process and by the clock (the best of three each), and bytes."""

    queries: int
    seconds: float
    clock: float
    size: int


def measured(ask: Callable[[], Any], name: str) -> Asked:
    ask()
    seconds, clock = [], []
    for _ in range(3):
        with CaptureQueriesContext(connection) as queries:
            since, started = time.process_time(), time.perf_counter()
            answer = ask()
            seconds.append(time.process_time() - since)
            clock.append(time.perf_counter() - started)
        assert answer.status_code == 200, name
    return Asked(len(queries), min(seconds), min(clock), len(answer.content))


def bare_list() -> HttpResponse:
    """Every piece with its design and order in a plain table: what Django itself takes for so many rows."""
    pieces = Piece.objects.select_related("design__order").order_by("pk")
    return HttpResponse(BARE.render({"pieces": pieces}))


def test_a_larger_book_asks_the_database_no_more_often() -> None:
    book = Book()
    make_design(make_order())
    book.grow_to(40)
    small = {address: book.ask(address).queries for address in ADDRESSES}
    book.grow_to(240)
    assert {address: book.ask(address).queries for address in ADDRESSES} == small


def test_a_page_of_the_whole_book_asks_less_than_twelve_times() -> None:
    """Also where all is there at once that it can have to ask for."""
    book = Book()
    book.grow_to(240)
    a_full_floor()
    assert [(address, asked) for address in OVER_ALL if (asked := book.ask(address).queries) > MOST_QUERIES] == []


def test_a_page_of_a_larger_book_makes_no_more_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once there is more than a page shows, the rest stays in the database."""
    monkeypatch.setattr(plan, "SHOWN_TODAY", 2)
    monkeypatch.setattr(plan, "ON_A_PAGE", 12)
    book = Book()
    book.grow_to(1_200)
    few = {address: rows_made(book, address) for address in OVER_ALL}
    book.grow_to(2_400)
    assert {address: rows_made(book, address) for address in OVER_ALL} == few


def rows_made(book: Book, address: str) -> dict[str, int]:
    """How many rows of each kind one page makes."""
    made: Counter[str] = Counter()

    def count(sender: type[Model], **_: Any) -> None:
        made[sender.__name__] += 1

    signals.post_init.connect(count)
    try:
        book.client.get(address)
    finally:
        signals.post_init.disconnect(count)
    return dict(made)


@pytest.mark.benchmark
def test_beside_a_bare_list_of_five_thousand() -> None:
    book = Book()
    book.grow_to(5_000)
    bare = measured(bare_list, "bare list")
    print(f"\nbare list of 5,000 pieces: {bare.seconds * 1000:.1f} ms, {bare.size / 1024:.0f} kB")
    for address in OVER_ALL:
        asked = book.ask(address)
        times = f"{asked.seconds * 1000:11.1f} ms{asked.seconds / bare.seconds:9.2f} × bare"
        print(f"{address:24}{asked.queries:8} queries{times}{asked.size / 1024:8.0f} kB")
        assert asked.queries <= MOST_QUERIES, address


@pytest.mark.benchmark
def test_from_five_hundred_to_five_thousand_pieces() -> None:
    grown("every piece open", Book(), ADDRESSES, 500, 5_000)


@pytest.mark.benchmark
def test_from_five_hundred_to_fifty_thousand_pieces() -> None:
    grown("every piece open", Book(), GROWING, 500, 50_000)


@pytest.mark.benchmark
def test_from_five_hundred_to_fifty_thousand_pieces_of_which_four_hundred_are_open() -> None:
    grown("400 pieces open, the others installed and put away", Book(open_pieces=400), GROWING, 500, 50_000)


def grown(which: str, book: Book, addresses: tuple[str, ...], few: int, many: int) -> None:
    book.grow_to(few)
    small = {address: book.ask(address) for address in addresses}
    book.grow_to(many)
    print(f"\n{connection.vendor}, {which}; ms of this process, and by the clock")
    heads = f"{f'at {few:,}':>10}{f'at {many:,}':>11}{'×':>6}{'clock':>10}{'clock':>11}{'×':>6}"
    print(f"{'':24}{'queries':>8}{heads}{'kB':>7}{'× kB':>6}")
    for address in addresses:
        one, other = small[address], book.ask(address)
        assert one.queries == other.queries, address
        times = "".join(
            f"{before * 1000:10.1f}{after * 1000:11.1f}{after / before:6.1f}"
            for before, after in ((one.seconds, other.seconds), (one.clock, other.clock))
        )
        print(f"{address:24}{one.queries:8}{times}{one.size / 1024:7.0f}{other.size / one.size:6.1f}")
