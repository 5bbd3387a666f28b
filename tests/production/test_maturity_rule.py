"""From about when a piece can be stressed, by maturity: worked by hand, what it says it rests on, and every refusal."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs import gates, schedule
from jobs.actions import production
from jobs.maturity_rule import MaturityBook, NotByMaturity
from jobs.models import MixVersion, Piece, Pour, Stage
from tests.factories import make_mix, person
from tests.production.test_mix_and_cure import poured, ticket, version

pytestmark = pytest.mark.django_db
REFERENCE_F, WARM_F = 73.4, 91.4  # 23 °C and 33 °C


def cast(made: MixVersion, batch: str, days_ago: float, **fields: Any) -> tuple[Piece, Pour]:
    at = timezone.now() - timedelta(days=days_ago)
    return poured(at=at, water_added_at=at, mix=made.mix, ticket=ticket(made, batch=batch), **fields)


def warm(pour: Pour, value_f: float, hours: list[float]) -> None:
    start = pour.water_added_at or pour.at
    readings = [(start + timedelta(hours=hour), value_f) for hour in hours]
    production.record_temperatures(pour, by=person(), readings=readings)


def a_tested_batch(made: MixVersion, batch: str = "before") -> Pour:
    """f(t) = 6000 t/(1 + t) at the reference temperature, where equivalent age is age: 3000, 4000, 4500 psi."""
    _, pour = cast(made, batch, 5)
    warm(pour, REFERENCE_F, [0, 12, 24, 36, 48, 60, 72])
    for days, psi in ((1, 3000), (2, 4000), (3, 4500)):
        at = pour.at + timedelta(days=days)
        production.record_strength_test(pour, by=person(), kind="cylinder", specimens_psi=[psi, psi], at=at)
    return pour


def refusal(pour: Pour, needed_psi: float = 4200) -> NotByMaturity:
    with pytest.raises(NotByMaturity) as told:
        MaturityBook([pour]).ready_from(pour, needed_psi, "us")
    return told.value


@pytest.fixture
def made() -> MixVersion:
    return version()


def test_warm_concrete_gets_there_sooner_by_the_equivalent_age(made: MixVersion) -> None:
    """4200 psi at 0.7/0.3 = 2.333 days of equivalent age, 56 h. At 33 °C an hour counts
    exp(5000 (1/296.15 − 1/306.15)) = 1.736 h, so it is there 32.3 h after the water. ASTM C1074 eq. 2."""
    a_tested_batch(made)
    _, pour = cast(made, "now", 0.5)
    warm(pour, WARM_F, [0, 6, 12])
    found = MaturityBook([pour]).ready_from(pour, 4200, "us")
    rate = math.exp(5000 * (1 / 296.15 - 1 / 306.15))
    assert (found.at - pour.at).total_seconds() / 3600 == pytest.approx(56 / rate, rel=0.01)
    assert "3 tests of one batch of" in found.words
    assert "ASTM C1074, Portland cement" in found.words
    assert "taken as 91 °F" in found.words
    assert "Break specimens first" in found.words


def test_reached_within_the_readings_nothing_is_taken_for_granted(made: MixVersion) -> None:
    pour = a_tested_batch(made)
    found = MaturityBook([pour]).ready_from(pour, 4200, "us")
    assert (found.at - pour.at).total_seconds() / 3600 == pytest.approx(56, rel=0.01)
    assert "taken as" not in found.words


def test_rapid_setting_cement_is_refused_and_its_tests_make_no_curve() -> None:
    csa = version(cement="csa")
    pour = a_tested_batch(csa)
    assert "Rapid-setting (CSA) cement does not gain strength as Portland" in refusal(pour).words
    portland = version(csa.mix, cement="portland")
    _, later = cast(portland, "later", 0.5)
    warm(later, WARM_F, [0, 6, 12])
    assert "Tests of its mix with temperatures beside them: 0." in refusal(later).words


def test_what_is_missing_is_named(made: MixVersion) -> None:
    a_tested_batch(made)
    _, unticketed = poured(mix=made.mix)
    assert "no batch ticket" in refusal(unticketed).words
    _, unread = cast(made, "unread", 1)
    assert "begin within 3 hours of the water" in refusal(unread).words
    _, late = cast(made, "late", 1)
    warm(late, WARM_F, [4, 10])
    assert "begin within 3 hours of the water" in refusal(late).words
    _, stopped = cast(made, "stopped", 4)
    warm(stopped, REFERENCE_F, [0, 12])
    assert "over a day old" in refusal(stopped).words
    _, fresh = cast(made, "fresh", 0.5)
    warm(fresh, WARM_F, [0, 12])
    assert "do not reach that strength" in refusal(fresh, 5000).words
    assert "do not reach that strength" in refusal(fresh, 50_000).words


def test_too_few_tests_with_temperatures_make_no_curve() -> None:
    made = version(make_mix())
    _, pour = cast(made, "alone", 2)
    warm(pour, REFERENCE_F, [0, 12, 24, 36, 48])
    production.record_strength_test(pour, by=person(), kind="cylinder", specimens_psi=[3000, 3000])
    assert "Tests of its mix with temperatures beside them: 1" in refusal(pour).words


def test_the_cure_page_and_the_schedule_say_it_and_the_gate_stays_shut(made: MixVersion, client: Client) -> None:
    a_tested_batch(made)
    piece, pour = cast(made, "now", 0.5)
    warm(pour, WARM_F, [0, 6, 12])
    client.force_login(person("crew"))
    page = client.get(reverse("cure", args=[piece.pk])).content.decode()
    assert "by maturity: 3 tests of one batch" in page
    today = timezone.localdate()
    entries = {entry.uid: entry for entry in schedule.plan(today, today + timedelta(days=30)).entries}
    told = entries[f"stress-{piece.pk}"]
    assert "by maturity; break specimens first" in told.text
    at: datetime = MaturityBook([pour]).ready_from(pour, 4500 * 0.99, "us").at
    assert abs((told.on - timezone.localdate(at)).days) <= 1
    Piece.objects.filter(pk=piece.pk).update(stage=Stage.STRIPPED)
    codes = {blocker.code for blocker in gates.stressing_blockers(Piece.objects.get(pk=piece.pk))}
    assert "strength-stressing" in codes


def test_where_maturity_cannot_be_said_the_schedule_goes_by_the_drawing_and_says_why(client: Client) -> None:
    piece, _ = cast(version(cement="csa"), "csa", 0.5)
    today = timezone.localdate()
    entries = {entry.uid: entry for entry in schedule.plan(today, today + timedelta(days=30)).entries}
    assert "not by maturity: the cement is not Portland" in entries[f"stress-{piece.pk}"].text
    client.force_login(person("crew"))
    page = client.get(reverse("cure", args=[piece.pk])).content.decode()
    assert "Not by maturity: Rapid-setting (CSA) cement" in page


def test_any_number_of_pours_takes_two_queries(made: MixVersion, django_assert_num_queries: Any) -> None:
    pours = [a_tested_batch(made, f"batch-{number}") for number in range(4)]
    book = MaturityBook(pours)
    with django_assert_num_queries(2):
        for pour in pours:
            book.ready_from(pour, 4200, "us")


def test_a_pour_is_told_by_its_own_rows_and_one_without_any_is_refused_as_itself(made: MixVersion) -> None:
    tested = a_tested_batch(made)
    _, warm_one = cast(made, "warm", 0.5)
    warm(warm_one, WARM_F, [0, 6, 12])
    _, bare = cast(made, "bare", 1)
    _, unticketed = poured(mix=made.mix)
    _, unmixed = cast(made, "unmixed", 1)
    Pour.objects.filter(pk=unmixed.pk).update(mix=None)
    unmixed.refresh_from_db()
    book = MaturityBook([tested, warm_one, bare, unticketed, unmixed])
    newest = book.newest_test(tested)
    assert newest is not None
    assert newest.specimens_psi == [4500, 4500]
    assert [book.newest_test(pour) for pour in (warm_one, bare, unticketed, unmixed)] == [None] * 4
    whys = []
    for pour in (bare, unticketed, unmixed):
        with pytest.raises(NotByMaturity) as told:
            book.ready_from(pour, 4200, "us")
        whys.append(told.value.short)
    assert whys == ["no temperatures from the start", "no batch ticket", "no mix named"]
    assert book.ready_from(warm_one, 4200, "us").at != book.ready_from(tested, 4200, "us").at
