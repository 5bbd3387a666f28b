"""The load a test asks for, and when its readings accept it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from engineering.queries import latest_run
from jobs.actions import production
from jobs.errors import BadEntry, NotNow
from jobs.load_tests import load_for, outcome_of
from jobs.models import LoadTestPlan, Piece, Role, Stage
from jobs.standing import Standing
from tests.factories import person, piece_at

pytestmark = pytest.mark.django_db


def planned(piece: Piece, **fields: Any) -> LoadTestPlan:
    layers = [{"number": 10, "where": place} for place in ("middle", "left third", "right third", "all along")]
    given = {"what": "sand bags", "unit_lbf": 31.0, "layers": layers, "hold_minutes": 60}
    return production.plan_load_test(piece, by=person(Role.CREW), **{**given, **fields})


def read(plan: LoadTestPlan, load: float, deflection: float, hours: float, **fields: Any) -> None:
    production.record_load_reading(
        plan,
        by=person(Role.CREW),
        load_lbf=load,
        deflection_in=deflection,
        at=timezone.now() - timedelta(days=10) + timedelta(hours=hours),
        **{"nobody_under": True, **fields},
    )


def outcome(plan: LoadTestPlan) -> tuple[bool | None, str]:
    found = outcome_of(plan, list(plan.readings.order_by("at", "pk")))
    return found.accepted, found.words


def test_the_load_by_hand() -> None:
    """25 × 108 in at 40 psf: 750 lbf live; 25·3·108/1728·130 = 609.375 lbf weight. 0.15·609.375 + 1.5·750 = 1216.406;
    100²/(20,000·3) = 1/6 in."""
    piece = piece_at(Stage.STRESSED)
    assert piece.revision is not None
    load = load_for(Standing(piece).described, latest_run(piece.revision.specification))
    assert (load.live_lbf, load.to_put_on_lbf) == pytest.approx((750, 1216.40625))
    assert load.limit_in == pytest.approx(1 / 6)


def test_a_plan_that_brings_too_little_or_in_too_few_layers_is_refused() -> None:
    piece = piece_at(Stage.STRESSED)
    with pytest.raises(BadEntry, match="asks for 1216 lbf"):
        planned(piece, unit_lbf=30.0)
    with pytest.raises(BadEntry, match="4 layers or more"):
        planned(piece, layers=[{"number": 50, "where": "all"}])


@pytest.fixture
def plan() -> LoadTestPlan:
    return planned(piece_at(Stage.STRESSED, load_test_required=True), unit_lbf=31.0)


def test_small_enough_under_the_full_load_that_lay_long_enough(plan: LoadTestPlan) -> None:
    read(plan, 620, 0.05, 0)
    assert outcome(plan) == (None, "Not at its full load yet: 620 of 1216 lbf.")
    read(plan, 1240, 0.10, 1)
    assert outcome(plan)[0] is None
    read(plan, 1240, 0.11, 2)
    assert outcome(plan)[0] is True
    made = production.conclude_load_test(plan, by=person(Role.CREW))
    assert (made.accepted, made.load_lbf, made.deflection_in) == (True, 1240, 0.11)


def test_over_the_limit_it_has_to_come_back_within_a_day(plan: LoadTestPlan) -> None:
    read(plan, 1240, 0.30, 0)
    read(plan, 1240, 0.32, 1)
    assert outcome(plan)[0] is None
    with pytest.raises(NotNow, match="not at its end"):
        production.conclude_load_test(plan, by=person(Role.CREW))
    read(plan, 0, 0.20, 2)
    assert outcome(plan)[0] is None
    read(plan, 0, 0.08, 26)
    assert outcome(plan)[0] is True


def test_what_does_not_come_back_is_not_accepted(plan: LoadTestPlan) -> None:
    read(plan, 1240, 0.30, 0)
    read(plan, 1240, 0.32, 1)
    read(plan, 0, 0.09, 26)
    assert outcome(plan)[0] is False
    assert not production.conclude_load_test(plan, by=person(Role.CREW)).accepted


def test_a_crack_is_never_accepted(plan: LoadTestPlan) -> None:
    read(plan, 300, 0.01, 0, crack_seen=True)
    assert outcome(plan)[0] is False


def test_nobody_under_it_before_anything_is_written(plan: LoadTestPlan) -> None:
    with pytest.raises(BadEntry, match="out from under it"):
        read(plan, 300, 0.01, 0, nobody_under=False)
    assert not plan.readings.exists()


def test_the_plan_s_page_shows_how_the_load_comes_about() -> None:
    """The sum of the engine, step by step, and no warning where a spread load tries the piece hard enough."""
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    client = Client()
    client.force_login(person(Role.CREW), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("load_test_plan", args=[piece.pk])).content.decode()
    assert "load = max(1.15 D + 1.5 L, 1.3 D) = max(1.15 × 609.38 lbf + 1.5 × 750 lbf" in page
    assert ("An engineer must say where to put the load" in page) is not load_for(
        Standing(piece).described, latest_run(piece.revision.specification)
    ).enough
