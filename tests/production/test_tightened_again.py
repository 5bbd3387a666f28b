"""Dates of tightening again: however often pieces of one pour were, they are what each piece's own rows say."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from engineering.queries import described_piece
from jobs import schedule
from jobs.actions import pieces, production
from jobs.models import Person, Piece, Pour, Restressing, Role, Stage
from jobs.stages import TIGHT
from jobs.tightness import restress_dues
from tests.factories import document, make_design, make_wrench, person, piece_at
from tests.production.test_planned_visits import LATER
from tests.production.test_procedures import slackened

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
HISTORIES: tuple[tuple[tuple[float, bool], ...], ...] = (  # of each piece: at which age, and whether in tolerance
    (),
    ((28.0, False),),
    ((28.0, True),),
    ((28.0, False), (28.0, False), (28.0, True)),
    ((90.0, True),),
    ((90.0, True), (28.0, False)),
    ((28.0, True), (90.0, False), (90.0, True)),
    ((28.0, True), (28.0, True)),  # twice, which no page writes
    ((7.0, True),),  # an age that the drawing does not name
)


def written(piece: Piece, age: float, *, within: bool, by: Person) -> None:
    piece.restressings.create(
        revision=piece.revision, age_days=age, rods=[], within_tolerance=within, by=by, at=timezone.now()
    )


@pytest.fixture
def of_one_pour() -> list[Piece]:
    """A piece of each history to one drawing, of one pour; two beside them not stressed any more, and not yet."""
    design = make_design(pieces=len(HISTORIES) + 2, document=document(stressing=LATER))
    first, crew = piece_at(Stage.STRESSED, design), person(Role.CREW)
    Piece.objects.filter(design=design).update(pour=first.pour, revision=first.revision, stage=Stage.STRESSED)
    made = list(Piece.objects.filter(design=design).order_by("pk"))
    for piece, history in zip(made, HISTORIES, strict=False):
        for age, within in history:
            written(piece, age, within=within, by=crew)
    for piece, stage in zip(made[-2:], (Stage.STRIPPED, Stage.REJECTED), strict=True):
        written(piece, 28.0, within=True, by=crew)
        Piece.objects.filter(pk=piece.pk).update(stage=stage)
    Piece.objects.filter(pk=made[0].pk).update(stage=Stage.INSTALLED)
    Pour.objects.update(at=timezone.now() - 20 * DAY)
    return [pieces.fresh(piece) for piece in made]


def told_by_its_own_rows(rows: list[Piece]) -> set[tuple[str, date]]:
    found = set()
    for piece in rows:
        if piece.stage in TIGHT and piece.revision is not None:
            for due in restress_dues(pieces.fresh(piece), described_piece(piece.revision.specification)):
                found.add((f"restress-{piece.pk}-{due.age_days:g}", timezone.localdate(due.at)))
    return found


def on_the_schedule(span: tuple[date, date], most: int = schedule.MOST) -> list[tuple[str, date]]:
    found: list[tuple[str, date]] = []
    after = None
    while True:
        page = schedule.plan(*span, most=most, after=after)
        found += [(entry.uid, entry.on) for entry in page.entries if entry.uid.startswith("restress-")]
        if not page.after:
            return found
        after = schedule.place_of(page.after)


@pytest.mark.parametrize("most", [1, 2, 3, 5, schedule.MOST])
def test_the_schedule_dates_what_each_piece_is_told_once_page_by_page(of_one_pour: list[Piece], most: int) -> None:
    today = timezone.localdate()
    found = on_the_schedule((today - 30 * DAY, today + 200 * DAY), most)
    assert set(found) == told_by_its_own_rows(of_one_pour)
    assert len(found) == len(set(found)) == 5 + 6  # at 28 days and at 90


def test_what_is_counted_is_what_is_there(of_one_pour: list[Piece]) -> None:
    today = timezone.localdate()
    for days, number in ((8, 5), (70, 6)):
        day = today + days * DAY
        counted = schedule.plan(day, day + DAY, most=2, counted=True)
        assert (counted.total, len(counted.entries)) == (number, 2)


def test_a_slackening_takes_back_no_date_that_was_done_and_adds_none(of_one_pour: list[Piece]) -> None:
    done = next(piece for piece, history in zip(of_one_pour, HISTORIES, strict=False) if history == ((28.0, True),))
    today = timezone.localdate()
    span = (today - 30 * DAY, today + 200 * DAY)
    before = on_the_schedule(span)
    slackened(done)
    rows = [pieces.fresh(piece) for piece in of_one_pour]
    assert set(on_the_schedule(span)) == told_by_its_own_rows(rows)
    assert (f"restress-{done.pk}-28", today + 8 * DAY) not in {*before, *on_the_schedule(span)}


def test_the_crews_entry_takes_its_date_off_and_one_out_of_tolerance_leaves_it() -> None:
    piece = piece_at(Stage.STRESSED, make_design(document=document(stressing=LATER)))
    today = timezone.localdate()
    span = (today, today + 100 * DAY)
    both = {f"restress-{piece.pk}-28", f"restress-{piece.pk}-90"}
    for age, torque, left in ((90.0, 70.0, both), (28.0, 80.0, both - {f"restress-{piece.pk}-28"})):
        production.record_restressing(
            piece,
            by=person(Role.CREW),
            age_days=age,
            values={"R1": torque, "R2": torque},
            wrench=make_wrench(),
            line_clear=True,
        )
        assert {uid for uid, _ in on_the_schedule(span)} == left
    assert list(Restressing.objects.order_by("pk").values_list("within_tolerance", flat=True)) == [False, True]
