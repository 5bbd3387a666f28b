"""Recipes, tickets, temperatures, coupons: what is written down, and what follows from it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from engineering.core.mix import batch_for
from jobs import coupon_rule, curing, gates
from jobs.actions import batching, pieces, production, quality, shop
from jobs.errors import BadEntry, GateClosed, NotAllowed, NothingChanged, NotNow
from jobs.forms.curing import read_ingredients
from jobs.models import BatchTicket, CouponTest, Mix, MixVersion, Piece, Pour, Role, Shop, Stage
from jobs.temperature_csv import read_temperatures
from tests.factories import check_form, make_mix, person, piece_at, stress

pytestmark = pytest.mark.django_db

RECIPE = """cement; cement; 94; 3.15
sand; sand; 94; 2.65; 1; 0.02
water; water; 26; 1
polymer; polymer; 11; 1.05; 0.5
fibre; fibre; 7; 2.68"""


def version(mix: Mix | None = None, **fields: Any) -> MixVersion:
    given = {"cement": "portland", "ingredients": read_ingredients(RECIPE), "air": 0.08, "working_minutes": 20}
    return batching.save_mix_version(mix or make_mix(), by=person(), **{**given, **fields})


def ticket(made: MixVersion, **fields: Any) -> BatchTicket:
    exact = {row.name: row.target_lb for row in batch_for(made.recipe, 5.0, 0.1).weighings}
    weighed = {**exact, **fields.pop("weighed_lb", {})}
    return batching.record_ticket(
        made, by=person(Role.CREW), **{"batch": "B-1", "volume_ft3": 5.0, "weighed_lb": weighed, **fields}
    )


def test_a_changed_recipe_is_the_next_version_and_the_same_one_is_none() -> None:
    first = version()
    with pytest.raises(NothingChanged):
        version(first.mix)
    assert version(first.mix, working_minutes=15).number == 2
    first.refresh_from_db()
    assert first.working_minutes == 20


def test_every_line_of_a_recipe_that_cannot_be_read_is_named() -> None:
    with pytest.raises(BadEntry, match=r"Line 1: .* line 3: "):
        read_ingredients("cement; cement\nsand; sand; 94; 2.65\nwater; water; much; 1")


def test_an_ingredient_of_no_known_kind_is_refused_in_the_engines_words() -> None:
    with pytest.raises(BadEntry, match="should be one of"):
        version(ingredients=[{"name": "glue", "kind": "magic", "weight_lb": 1, "specific_gravity": 1}])


def test_water_and_fibre_are_of_what_was_really_weighed() -> None:
    """Polymer 50 % water: (26 + 11·0.5)/94 = 0.3351; fibre 7/232. Twice the fibre: 14/239."""
    made = version()
    exact = ticket(made)
    assert exact.within_tolerance
    assert (exact.water_to_cementitious, exact.fibre_share) == pytest.approx((31.5 / 94, 7 / 232))
    fibre = next(row for row in exact.weighings if row["name"] == "fibre")
    much = ticket(made, batch="B-2", weighed_lb={"fibre": 2 * fibre["target_lb"]})
    assert not much.within_tolerance
    assert much.findings[0].startswith("fibre: ")
    assert much.fibre_share == pytest.approx(14 / 239)


def test_an_ingredient_left_out_has_to_be_said() -> None:
    made = version()
    with pytest.raises(BadEntry, match="is missing"):
        batching.record_ticket(made, by=person(), batch="B", volume_ft3=1, weighed_lb={"cement": 10})


def test_a_pour_takes_its_mix_and_water_from_the_ticket_once() -> None:
    weighed = ticket(version(), water_added_at=timezone.now())
    piece, other = piece_at(Stage.FORMED), piece_at(Stage.FORMED)
    for row in (piece, other):
        check_form(row)
    pour = production.record_pour([piece], by=person(), batch="B-1", ticket=weighed)
    assert (pour.mix, pour.water_added_at) == (weighed.mix_version.mix, weighed.water_added_at)
    with pytest.raises(NotNow, match="another pour already"):
        production.record_pour([other], by=person(), batch="B-1", ticket=weighed)


def test_the_working_time_runs_from_the_water() -> None:
    weighed = ticket(version(working_minutes=25), water_added_at=timezone.now())
    assert weighed.workable_until - weighed.water_added_at == timedelta(minutes=25)


# ---- cure ------------------------------------------------------------------------------------------------------------


def poured(**fields: Any) -> tuple[Piece, Pour]:
    piece = piece_at(Stage.CURING)
    assert piece.pour is not None
    Pour.objects.filter(pk=piece.pour.pk).update(**fields)
    piece = pieces.fresh(piece)
    return piece, piece.pour


def test_a_loggers_file_is_taken_whole_or_not_at_all() -> None:
    rows = read_temperatures("time,temp\n2026-11-01 08:00,20\n2026-11-01 09:00,25\n", celsius=True)
    assert [value for _, value in rows] == pytest.approx([68, 77])
    with pytest.raises(BadEntry, match=r"line 3: .*; line 4: "):
        read_temperatures("time,temp\n2026-11-01 08:00,20\nyesterday,20\n2026-11-01 09:00,warm\n", celsius=True)


def test_maturity_by_hand_for_portland_and_refused_for_rapid_setting_cement() -> None:
    """Nurse-Saul, datum 0 °C: an hour from 20 to 30 °C and an hour at 30 °C are 25 + 30 = 55 °C·h."""
    now = timezone.now() - timedelta(hours=5)
    readings = [(now, 68.0), (now + timedelta(hours=1), 86.0), (now + timedelta(hours=2), 86.0)]
    for cement, last in (("portland", 55.0), ("csa", None)):
        _, pour = poured(ticket=ticket(version(cement=cement), batch=cement))
        production.record_temperatures(pour, by=person(), readings=readings)
        found = curing.maturity(pour)
        assert (found.course[-1][1] if found.course else None) == (pytest.approx(last) if last else None)
        assert bool(found.why) is (cement == "csa")


def test_from_when_it_can_be_stressed_by_the_curve_through_its_tests() -> None:
    """f(t) = 6000·t/(1 + t): 3000 at 1 day, 4000 at 2, 4500 at 3; so 4200 at 0.7/0.3 = 2.333 days."""
    cast = timezone.now() - timedelta(days=5)
    _, pour = poured(at=cast, water_added_at=cast)
    for days, psi in ((1, 3000), (2, 4000), (3, 4500)):
        production.record_strength_test(
            pour, by=person(), kind="cylinder", specimens_psi=[psi, psi], at=cast + timedelta(days=days)
        )
    found = curing.ready_from(pour, 4200)
    assert (found.at - cast).total_seconds() / 86400 == pytest.approx(7 / 3, rel=0.01)
    assert "Beyond the last age" in curing.ready_from(pour, 5000).words
    assert curing.ready_from(pour, 50_000).at is None


def test_specimens_entered_right_after_the_pour_draw_no_curve() -> None:
    cast = timezone.now() - timedelta(days=1)
    _, pour = poured(at=cast, water_added_at=cast)
    for seconds in (2, 4, 6):
        at = cast + timedelta(seconds=seconds)
        production.record_strength_test(pour, by=person(), kind="cylinder", specimens_psi=[5000, 5000], at=at)
    assert curing.ready_from(pour, 4000).at is None


def test_it_is_never_said_to_be_ready_before_the_first_specimen() -> None:
    """The curve 6000·t/(1 + t) passes 2000 psi at half a day; the first specimens were broken at one day."""
    cast = timezone.now() - timedelta(days=5)
    _, pour = poured(at=cast, water_added_at=cast)
    for days, psi in ((1, 3000), (2, 4000), (3, 4500)):
        at = cast + timedelta(days=days)
        production.record_strength_test(pour, by=person(), kind="cylinder", specimens_psi=[psi, psi], at=at)
    assert curing.ready_from(pour, 2000).at == cast + timedelta(days=1)


def test_no_curve_through_too_few_tests() -> None:
    _, pour = poured()
    assert curing.ready_from(pour, 4000).words == "A strength curve needs tests at three ages or more."


# ---- coupons ---------------------------------------------------------------------------------------------------------


def coupons(pour: Pour, yields: list[float], **fields: Any) -> None:
    """Loads that give these flexural yields on 10 × 2 × 0.5 in, ultimate twice as much."""
    rows = [
        {"yield_lbf": psi / 20, "ultimate_lbf": psi / 10, "span_in": 10, "width_in": 2, "depth_in": 0.5}
        for psi in yields
    ]
    production.record_coupon_test(pour, by=person(Role.CREW), specimens=rows, **fields)


@pytest.fixture
def tight() -> Piece:
    """Stressed but not moved; the shop asks for coupons of the last 90 days."""
    shop.edit_shop(by=person(), coupon_days=90, name="Tight")
    piece = piece_at(Stage.STRIPPED)
    CouponTest.objects.all().delete()
    Pour.objects.filter(pk=piece.pour_id).update(mix=make_mix())
    stress(piece)
    return pieces.fresh(piece)


def codes(piece: Piece) -> list[str]:
    return [blocker.code for blocker in gates.blockers(pieces.fresh(piece), Stage.STRESSED)]


def test_no_coupons_asks_the_engineer_who_may_accept_it_and_the_manager_not(tight: Piece) -> None:
    assert codes(tight) == ["coupons-missing"]
    with pytest.raises(NotNow, match="Nothing of what is missing"):
        quality.pass_gate(tight, Stage.STRESSED, by=person(), reason="Same mix as ever.")
    quality.pass_gate(tight, Stage.STRESSED, by=person(Role.ENGINEER), reason="Certificate of the mix seen.")
    assert codes(tight) == []


def test_good_coupons_stand_behind_the_specification(tight: Piece) -> None:
    """Specification 1,000 psi with 0.10: 746 to count on. Coupons 1,000 with 0.02 variation: about 950."""
    coupons(tight.pour, [980, 1000, 1020, 980, 1000, 1020])
    assert codes(tight) == []


def test_too_few_too_weak_and_too_old_coupons(tight: Piece) -> None:
    coupons(tight.pour, [1000, 1010, 990], at=timezone.now() - timedelta(days=100))
    assert codes(tight) == ["coupons-old"]
    coupons(tight.pour, [700, 710, 690])
    assert codes(tight) == ["coupons-short"]
    coupons(tight.pour, [700, 710, 690])
    text = gates.blockers(pieces.fresh(tight), Stage.STRESSED)[0].text
    assert text.startswith("Coupons give a flexural yield of 700 psi on the mean with 1 % variation")


def test_a_shop_that_set_nothing_asks_for_coupons_of_the_last_quarter(settings: Any) -> None:
    """On from the first day, without anybody having to find it: 90 days, common practice, no source."""
    assert settings.COUPON_DAYS_AT_FIRST == 90
    assert not Shop.objects.exists()
    piece = piece_at(Stage.STRIPPED)
    CouponTest.objects.all().delete()
    Pour.objects.filter(pk=piece.pour_id).update(mix=make_mix())
    stress(piece)
    piece = pieces.fresh(piece)
    assert codes(piece) == ["coupons-missing"]
    with pytest.raises(GateClosed):
        pieces.move(piece, Stage.STRESSED, by=person(Role.CREW), request_id=uuid4())
    assert pieces.fresh(piece).stage == Stage.STRIPPED
    coupons(piece.pour, [980, 1000, 1020, 980, 1000, 1020], at=timezone.now() - timedelta(days=91))
    assert codes(piece) == ["coupons-old"]
    coupons(piece.pour, [980, 1000, 1020, 980, 1000, 1020], at=timezone.now() - timedelta(days=89))
    assert codes(piece) == []
    shop.edit_shop(by=person(), name="Another name")  # the first row of the shop is made with the limit
    assert Shop.objects.get().coupon_days == 90


def test_without_a_limit_the_gate_stays_shut_whatever_was_broken_and_the_manager_is_named(tight: Piece) -> None:
    """A shop older than the limit has none: nothing passes in silence, and nobody passes over it."""
    coupons(tight.pour, [980, 1000, 1020, 980, 1000, 1020])
    Shop.objects.filter(pk=1).update(coupon_days=None)
    assert codes(tight) == ["coupon-limit-missing"]
    (blocker,) = gates.blockers(pieces.fresh(tight), Stage.STRESSED)
    assert blocker.who == "shop manager"
    assert "The shop manager sets it on the shop's page." in blocker.text
    for role in (Role.MANAGER, Role.ENGINEER):
        with pytest.raises(NotNow, match="Nothing of what is missing"):
            quality.pass_gate(tight, Stage.STRESSED, by=person(role), reason="We never had one.")
    with pytest.raises(GateClosed):
        pieces.move(tight, Stage.STRESSED, by=person(Role.CREW), request_id=uuid4())
    assert pieces.fresh(tight).stage == Stage.STRIPPED
    shop.edit_shop(by=person(), coupon_days=60)
    assert codes(tight) == []


def test_the_limit_is_changed_but_never_taken_away(tight: Piece) -> None:
    for nothing in (None, 0, -1, "soon"):
        with pytest.raises(BadEntry, match="days coupons count for"):
            shop.edit_shop(by=person(), coupon_days=nothing)
    with pytest.raises(NotAllowed):
        shop.edit_shop(by=person(Role.ENGINEER), coupon_days=30)
    assert Shop.objects.get().coupon_days == 90


def test_statistics_of_a_mix_are_over_all_its_pours(tight: Piece) -> None:
    coupons(tight.pour, [900, 1100])
    found = coupon_rule.statistics(tight.pour.mix)
    assert (found.yield_psi.mean, found.yield_psi.number) == (1000, 2)
