"""More dates and pieces than a page shows: what comes first, how many there are, and every row once, page by page."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs import queries, schedule
from jobs.actions import orders, pieces
from jobs.models import Order, Piece, Pour, Role, Stage, Stressing
from jobs.views import board as board_view
from jobs.views.production import plan as plan_view
from tests.factories import document, make_design, make_order, make_wrench, person, piece_at, release
from tests.page_reading import as_read
from tests.production.test_planned_visits import LATER, planned

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def signed_in(role: Role) -> Client:
    client = Client()
    client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
    return client


# ---- dates -----------------------------------------------------------------------------------------------------------


def a_full_month() -> None:
    """Dates of every kind, several a day: due orders, pours, earliest stressings, tightening again, plans, wrenches."""
    today = timezone.localdate()
    for n in range(4):
        make_design(make_order(due_date=today + n % 2 * DAY), pieces=2)
    Piece.objects.filter(stage=Stage.ORDERED).update(pour_planned=today)
    make_wrench(days=0)
    for n in range(3):
        piece_at(Stage.CURING, make_design(pieces=2, document=document(mark=f"D-{n}")))
    tight = [piece_at(Stage.STRESSED, make_design(document=document(stressing=LATER))) for _ in range(3)]
    planned(tight[0])
    Pour.objects.filter(pieces__stage=Stage.CURING).update(at=timezone.now() - 7 * DAY)
    Pour.objects.filter(pieces__stage=Stage.STRESSED).update(at=timezone.now() - 28 * DAY)


def pages(start: date, end: date, most: int) -> list[list[str]]:
    found, after = [], None
    while True:
        page = schedule.plan(start, end, most=most, after=after)
        found.append([entry.uid for entry in page.entries])
        if not page.after:
            return found
        after = schedule.place_of(page.after)
        assert after is not None


@pytest.mark.parametrize("most", [1, 2, 3, 5, 7])
def test_from_page_to_page_every_date_comes_once_and_in_order(most: int) -> None:
    a_full_month()
    today = timezone.localdate()
    span = (today - 10 * DAY, today + 400 * DAY)
    whole = schedule.plan(*span)
    assert whole.after == ""
    assert [entry.on for entry in whole.entries] == sorted(entry.on for entry in whole.entries)
    kinds = {entry.uid.rpartition("-")[0].partition("-")[0] for entry in whole.entries}
    assert kinds == {"order", "pour", "stress", "restress", "planned", "wrench"}
    found = pages(*span, most)
    assert [uid for page in found for uid in page] == [entry.uid for entry in whole.entries]
    assert {len(page) for page in found[:-1]} == {most}
    assert len({uid for page in found for uid in page}) == len(whole.entries)


def test_the_number_of_a_days_dates_is_that_of_the_dates() -> None:
    a_full_month()
    today = timezone.localdate()
    whole = schedule.plan(today, today + DAY)
    for most in (1, 4, 100):
        counted = schedule.plan(today, today + DAY, most=most, counted=True)
        assert counted.total == len(whole.entries)
        assert [entry.uid for entry in counted.entries] == [entry.uid for entry in whole.entries][:most]


def test_what_was_tightened_again_is_neither_dated_nor_counted() -> None:
    piece = piece_at(Stage.STRESSED, make_design(pieces=1, document=document(stressing=LATER)))
    beside = piece_at(Stage.STRESSED, make_design(document=document(stressing=LATER)))
    Piece.objects.filter(pk=beside.pk).update(pour=piece.pour, revision=piece.revision)
    Pour.objects.update(at=timezone.now() - 28 * DAY)
    today = timezone.localdate()
    assert schedule.plan(today, today + DAY, counted=True).total == 2
    Stressing.objects.update(finished_at=timezone.now() - 2 * DAY)
    production_rows(piece, 28.0, within=False)
    assert schedule.plan(today, today + DAY, counted=True).total == 2
    production_rows(piece, 28.0, within=True)
    found = schedule.plan(today, today + DAY, counted=True)
    assert [entry.uid for entry in found.entries] == [f"restress-{beside.pk}-28"]
    assert found.total == 1


def production_rows(piece: Piece, age: float, *, within: bool) -> None:
    """As the crew's entry leaves it; the entry itself is tested in test_procedures."""
    piece.restressings.create(
        revision=piece.revision, age_days=age, rods=[], within_tolerance=within, by=person(Role.CREW), at=timezone.now()
    )


def test_an_order_put_away_takes_its_dates_along() -> None:
    a_full_month()
    today = timezone.localdate()
    assert schedule.plan(today, today + 60 * DAY).entries
    for order in Order.objects.all():
        orders.archive_order(order, by=person())
    left = [entry.uid for entry in schedule.plan(today - 90 * DAY, today + 400 * DAY).entries]
    assert {uid.partition("-")[0] for uid in left} == {"wrench"}


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "20260101",
        "20260101-0-1",
        "20261301-0-1-0-0-0",
        "20260101-0--1-0-0-0",
        "20260101-0-1-0-0-99999999999999999999999",
        "20260101-0-1-0-0-0-0",
        "٢٠٢٦0101-0-1-0-0-0",
    ],
)
def test_a_place_that_is_none_begins_at_the_beginning(text: str) -> None:
    assert schedule.place_of(text) is None
    make_design(make_order(due_date=timezone.localdate()))
    answer = signed_in(Role.CREW).get(reverse("schedule"), {"after": text})
    assert answer.status_code == 200
    assert "Due: " in as_read(answer)


def test_a_place_is_read_as_it_was_written() -> None:
    place = schedule.Place(date(2026, 11, 5), schedule.OF_A_GROUP, 12, 34, 28_000, 56)
    assert schedule.place_of(place.text()) == place


def test_the_schedules_page_goes_on_and_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_view, "ON_A_PAGE", 3)
    today = timezone.localdate()
    for n in range(5):
        make_design(make_order(due_date=today, number=f"O-{n}"))
    client, seen = signed_in(Role.VIEWER), []
    address: str | None = f"{reverse('schedule')}?by=day&from={today}"
    while address:
        answer = client.get(address)
        seen += re.findall(r"Due: (O-\d)", as_read(answer))
        links = {link.text: link.url for link in answer.context["tables"][0].links}
        address = f"{reverse('schedule')}{links['Next page']}" if "Next page" in links else None
        assert ("From the beginning" in links) == (len(seen) > 3)
    assert seen == [f"O-{n}" for n in range(5)]


def test_today_shows_the_first_dates_and_leads_to_the_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_view, "SHOWN_TODAY", 2)
    today = timezone.localdate()
    for n in range(3):
        make_design(make_order(due_date=today, number=f"O-{n}"))
    Piece.objects.update(pour_planned=today)
    answer = signed_in(Role.CREW).get(reverse("today"))
    assert "The first 2 of 6." in as_read(answer)
    (link,) = answer.context["tables"][1].links
    day = signed_in(Role.CREW).get(link.url)
    assert len(day.context["tables"][0].rows) == 6


# ---- the board -------------------------------------------------------------------------------------------------------


def on_the_board(client: Client, stage: str, page: int) -> list[Any]:
    return [
        slip.piece for slip in client.get(reverse("board_stage", args=[stage]), {"page": page}).context["band"].slips
    ]


def test_a_stage_is_paged_first_due_first_and_those_without_a_day_last(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(board_view, "ON_A_PAGE", 4)
    today = timezone.localdate()
    for days in (5, None, -3, 1):
        make_design(make_order(due_date=None if days is None else today + days * DAY), pieces=3)
    client = signed_in(Role.CREW)
    seen = [piece for page in (1, 2, 3) for piece in on_the_board(client, "ordered", page)]
    assert len({piece.pk for piece in seen}) == len(seen) == 12
    dues = [piece.design.order.due_date for piece in seen]
    assert dues == [today - 3 * DAY] * 3 + [today + DAY] * 3 + [today + 5 * DAY] * 3 + [None] * 3
    board = queries.board()
    assert board.columns[0].pieces == seen[: queries.SHOWN_OF_A_STAGE]
    assert (board.columns[0].count, board.late) == (12, 3)


def test_installed_pieces_are_shown_last_moved_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(board_view, "ON_A_PAGE", 2)
    monkeypatch.setattr(queries, "SHOWN_OF_A_STAGE", 2)
    made = list(make_design(pieces=5).pieces.order_by("serial"))
    for n, piece in enumerate(made):
        Piece.objects.filter(pk=piece.pk).update(stage=Stage.INSTALLED, stage_since=timezone.now() - n * DAY)
    client = signed_in(Role.VIEWER)
    assert [piece.pk for page in (1, 2, 3) for piece in on_the_board(client, "installed", page)] == [p.pk for p in made]
    installed = queries.board().columns[-1]
    assert ([piece.pk for piece in installed.pieces], installed.count) == ([p.pk for p in made[:2]], 5)


def test_the_first_of_each_stage_are_those_that_a_look_at_all_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(queries, "SHOWN_OF_A_STAGE", 2)
    today = timezone.localdate()
    for days in (9, 2, None, 4):
        design = make_design(make_order(due_date=None if days is None else today + days * DAY), pieces=4)
        pieces.hold(design.pieces.first(), by=person(), reason="x")
        pieces.reject(design.pieces.last(), by=person(), reason="x")
    release(make_design(pieces=3))
    board = queries.board()
    for column in [*board.columns, board.held]:
        every = queries.in_order(Piece.objects.filter(stage=column.stage, design__order__archived_at=None))
        assert [piece.pk for piece in column.pieces] == [piece.pk for piece in every[:2]]
        assert column.count == len(every)
    assert board.held.count == 4


def test_what_is_released_and_not_poured_is_shown_first_due_first_with_the_way_to_the_rest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(plan_view, "ON_A_PAGE", 3)
    designs = [make_design(make_order(due_date=timezone.localdate() + n * DAY), pieces=2) for n in (7, 3)]
    for design in designs:
        release(design)
    answer = signed_in(Role.MANAGER).get(reverse("schedule"))
    table = answer.context["tables"][-1]
    assert [row[0].text for row in table.rows] == [str(p) for d in reversed(designs) for p in d.pieces.all()][:3]
    assert "3 that are due first, of 4" in as_read(answer)
    assert [link.text for link in table.links] == ["All 4 that are released", "All 0 that are formed"]
