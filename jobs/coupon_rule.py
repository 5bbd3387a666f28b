"""Whether the shop's own coupons stand behind the flexural strengths a specification works with.

Of all coupons of the mix broken within the shop's limit of days: at least six, and mean less 2.539 standard deviations
no lower than what the checks take from the specification, for yield and for ultimate alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from engineering.core.contract.piece import Concrete
from engineering.core.contract.units import format_quantity
from engineering.core.coupons import CHARACTERISTIC, LEAST_SPECIMENS, Spread, spread
from jobs.errors import Blocker
from jobs.models import CouponTest, Mix, Pour, Shop
from jobs.words import say

LIMIT_MISSING = say(
    "The shop has not said for how many days coupon tests count. The shop manager sets it on the shop's page."
)


@dataclass(frozen=True)
class CouponStatistics:
    yield_psi: Spread | None
    ultimate_psi: Spread | None


def statistics(mix: Mix, *, days: int | None = None) -> CouponStatistics:
    """Over every coupon of the mix; `days`: only those broken that lately."""
    tests = CouponTest.objects.filter(pour__mix=mix)
    if days is not None:
        tests = tests.filter(at__gte=timezone.now() - timedelta(days=days))
    broken = [coupon for test in tests for coupon in test.coupons]
    return CouponStatistics(
        spread([coupon.yield_psi for coupon in broken]), spread([coupon.ultimate_psi for coupon in broken])
    )


def coupon_blockers(pour: Pour | None, concrete: Concrete, units: str) -> list[Blocker]:
    """What the engineer has to accept or the crew to test. Without the shop's limit of days nothing can be told of the
    coupons, so the gate stays shut until the manager has set it.
    """
    if pour is None:
        return []  # the gates before this one say so
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    if shop.coupon_days is None:
        return [Blocker("coupon-limit-missing", LIMIT_MISSING, say("shop manager"))]
    ask = "The engineer may accept it with a reason."
    if pour.mix is None:
        return [
            Blocker(
                "coupons-missing",
                say("Its pour names no mix, so no coupons stand behind it. {ask}", ask=ask),
                "engineer",
            )
        ]
    found, ever = statistics(pour.mix, days=shop.coupon_days), statistics(pour.mix)
    if ever.yield_psi is None or found.yield_psi is None or found.ultimate_psi is None:
        code = "coupons-missing" if ever.yield_psi is None else "coupons-old"
        return [
            Blocker(
                code,
                say(
                    "No coupons of {mix} were broken in the last {coupon_days} days. {ask}",
                    mix=pour.mix,
                    coupon_days=shop.coupon_days,
                    ask=ask,
                ),
                "engineer",
            )
        ]
    if found.yield_psi.number < LEAST_SPECIMENS:
        words = f"{found.yield_psi.number} coupons of {pour.mix} were broken; {LEAST_SPECIMENS} are needed. {ask}"
        return [Blocker("coupons-short", words, "engineer")]
    rows = (
        ("flexural yield", found.yield_psi, concrete.flexural_yield_psi, concrete.variation_yield),
        ("flexural ultimate", found.ultimate_psi, concrete.flexural_ultimate_psi, concrete.variation_ultimate),
    )
    return [
        Blocker("coupons-short", say("{words} {ask}", words=words, ask=ask), "engineer")
        for name, have, mean, variation in rows
        if (words := _short(name, have, mean * (1 - CHARACTERISTIC * variation), units))
    ]


def _short(name: str, have: Spread, needed_psi: float, units: str) -> str:
    if have.characteristic is None or have.variation is None or have.characteristic >= needed_psi * (1 - 1e-9):
        return ""
    mean, least, needed = (
        format_quantity(value, "stress", units) for value in (have.mean, have.characteristic, needed_psi)
    )
    return say(
        "Coupons give a {name} of {mean} on the mean with {variation} % variation, so {least} to count on; the "
        "checks count on {needed}.",
        name=name,
        mean=mean,
        variation=f"{100 * have.variation:.0f}",
        least=least,
        needed=needed,
    )
