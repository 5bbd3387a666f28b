"""A floor on which everything is there at once that Today and the schedule can have to ask for."""

from __future__ import annotations

from datetime import timedelta

from django.utils import timezone

from jobs.actions import production
from jobs.actions.notices import sweep
from jobs.actions.shop import edit_shop
from jobs.models import Piece, Pour, Role, Shop, Stage
from tests.factories import document, make_design, make_order, make_wrench, person, piece_at
from tests.production.test_maturity_rule import WARM_F, a_tested_batch, cast, warm
from tests.production.test_mix_and_cure import version
from tests.production.test_planned_visits import LATER, planned
from tests.production.test_quality import raised

ASKED_FOR = (  # tables that the fullest page reads
    "jobs_order",
    "jobs_wrench",
    "engineering_study",
    "jobs_temperaturelog",
    "jobs_strengthtest",
    "jobs_restressing",
    "jobs_piece",
)


def a_full_floor() -> list[Piece]:
    """Specimens broken and temperatures read of what cures, pieces tightened again at 28 days and not yet, a plan with
    later visits, notices, dates of orders, pours and wrenches of today, and a piece on each bed but one. Answers what
    lies on a bed.
    """
    today = timezone.localdate()
    make_design(make_order(due_date=today))
    make_wrench(days=0)
    Piece.objects.filter(pk=piece_at(Stage.FORMED).pk).update(pour_planned=today)
    piece_at(Stage.RELEASED)
    made = version()
    tested = a_tested_batch(made)
    curing, pour = cast(made, "now", 0.5)
    warm(pour, WARM_F, [0, 6, 12])
    tight = [piece_at(Stage.STRESSED, make_design(document=document(stressing=LATER))) for _ in range(2)]
    planned(tight[0])
    Pour.objects.filter(pieces__in=tight).update(at=timezone.now() - timedelta(days=28))
    tight[0].restressings.create(
        revision=tight[0].revision, age_days=28.0, rods=[], within_tolerance=True, by=person(), at=timezone.now()
    )
    raised(piece_at(Stage.POURED))
    on_beds = [curing, tested.pieces.get()]
    lay_on_new_beds(on_beds)
    sweep()
    return on_beds


def lay_on_new_beds(pieces: list[Piece]) -> None:
    """Each on one of its own, beside those that the shop has and one that stays free."""
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    beds = [f"Bed {piece.pk}" for piece in pieces]
    edit_shop(by=person(), beds=[*beds, *(shop.beds or ["Free"])])
    for piece, bed in zip(pieces, beds, strict=True):
        production.lay_on_bed(piece, by=person(Role.CREW), bed=bed)
