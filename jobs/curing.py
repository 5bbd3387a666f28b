"""What the records of a pour say about its strength by age: the curve through its tests, and from when on.

The curve and the maturity are the engine's (`strength_gain`, `maturity`). Nothing here opens a gate: a piece is
stressed on broken specimens, never on a curve.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from engineering.core.maturity import (
    CSA,
    Interval,
    NoConstants,
    constants_for,
    equivalent_age_hours,
    temperature_time_factor,
)
from engineering.core.strength_gain import StrengthCurve, fit_strength_curve
from engineering.core.strength_gain import StrengthTest as AgedTest
from jobs.models import Mix, Pour, StrengthTest, TemperatureLog
from jobs.words import say

DAY_S = 86_400.0
HOUR_DAYS = 1 / 24  # younger says nothing of strength, and tests nearer to each other are of one age


NO_TICKET = say("The pour has no batch ticket, so its cement is not known.")
NO_CURVE = {  # the engine's own words, so that they can be said in the reader's language
    "a strength curve needs tests at three ages or more": say("A strength curve needs tests at three ages or more."),
    "the tests do not rise towards a limit; no curve can be drawn through them": say(
        "The tests do not rise towards a limit; no curve can be drawn through them."
    ),
}


def no_constants(cement: str) -> str:
    """Why the maturity of this cement is not worked out (`engineering.core.maturity.NoConstants`)."""
    name = say("Rapid-setting (CSA) cement") if cement == CSA else say("The cement “{cement}”", cement=cement)
    return say(
        "{name} does not gain strength as Portland cement does: Portland constants would give a wrong strength. Go by "
        "broken specimens, or by coupons cured beside the piece.",
        name=name,
    )


def age_days(pour: Pour, at: datetime) -> float:
    """From the water, or where nobody wrote that down from the pour."""
    return (at - (pour.water_added_at or pour.at)).total_seconds() / DAY_S


def aged_tests(tests: list[StrengthTest]) -> list[AgedTest]:
    """Mean strength as cylinders against age to the full hour. What cannot be is left out: a test entered before it can
    have been broken would draw a curve through nothing.
    """
    found = [AgedTest(round(age_days(test.pour, test.at) / HOUR_DAYS) * HOUR_DAYS, test.mean_psi) for test in tests]
    return [test for test in found if HOUR_DAYS <= test.age_days < 36_525 and 0 < test.strength_psi < 60_000]


@dataclass(frozen=True)
class Prediction:
    """`whose`: this batch, or the mix. `why` says why there is no curve."""

    curve: StrengthCurve | None
    whose: str = ""
    why: str = ""


def predicted(pour: Pour) -> Prediction:
    """The curve through this pour's tests, or else through all tests of its mix."""
    own = list(StrengthTest.objects.filter(pour=pour).select_related("pour"))
    candidates = [(say("this batch"), own)]
    if pour.mix_id:
        candidates.append((say("all batches of {mix}", mix=pour.mix), tests_of_mix(pour.mix)))
    why = ""
    for whose, tests in candidates:
        try:
            return Prediction(fit_strength_curve(aged_tests(tests)), whose)
        except ValueError as exc:
            why = NO_CURVE.get(str(exc), f"{str(exc)[:1].upper()}{str(exc)[1:]}.")
    return Prediction(None, why=why)


def tests_of_mix(mix: Mix | None) -> list[StrengthTest]:
    return list(StrengthTest.objects.filter(pour__mix=mix).select_related("pour")) if mix else []


@dataclass(frozen=True)
class FromWhen:
    at: datetime | None
    words: str


def ready_from(pour: Pour, needed_psi: float) -> FromWhen:
    """About when the curve reaches a strength; none outside the ages that were tested."""
    found = predicted(pour)
    if found.curve is None:
        return FromWhen(None, found.why)
    age = found.curve.age_days(needed_psi)
    if age is None:
        return FromWhen(None, say("The curve of {whose} never gets there.", whose=found.whose))
    if age > found.curve.last_test_days:
        return FromWhen(
            None,
            say(
                "Beyond the last age that was tested ({days} days); break specimens later.",
                days=f"{found.curve.last_test_days:.1f}",
            ),
        )
    age = max(age, found.curve.first_test_days)  # nothing is known of the time before the first specimen
    at = (pour.water_added_at or pour.at) + timedelta(days=age)
    words = say(
        "by the age of the tests of {whose}, ± {scatter} psi; break specimens first",
        whose=found.whose,
        scatter=f"{found.curve.scatter_psi:.0f}",
    )
    return FromWhen(at, words)


# ---- maturity --------------------------------------------------------------------------------------------------------


def temperatures(pour: Pour) -> list[tuple[datetime, float]]:
    """As `in_order` has them, °F."""
    return in_order(pour.temperature_logs.all())


def in_order(logs: Iterable[TemperatureLog]) -> list[tuple[datetime, float]]:
    """Every reading of one pour in order of time, °F; of one time the one written down last."""
    found: dict[datetime, float] = {}
    for log in sorted(logs, key=lambda row: (row.recorded_at, row.pk)):
        found.update({datetime.fromisoformat(at): value for at, value in log.readings})
    return sorted(found.items())


def intervals(readings: list[tuple[datetime, float]]) -> list[Interval]:
    """Between two readings their mean, in °C."""
    return [
        Interval((later - at).total_seconds() / 3600, ((value + next_value) / 2 - 32) / 1.8)
        for (at, value), (later, next_value) in itertools.pairwise(readings)
    ]


@dataclass(frozen=True)
class Maturity:
    """Along the readings: hours since the first, and °C·h. None with the reason where the cement has no constants."""

    course: list[tuple[float, float]]
    equivalent_hours: float | None
    why: str = ""
    source: str = ""


def maturity(pour: Pour) -> Maturity:
    parts = intervals(temperatures(pour))
    if not parts:
        return Maturity([], None, say("Two or more temperatures are needed."))
    version = pour.ticket.mix_version if pour.ticket else None
    if version is None:
        return Maturity([], None, NO_TICKET)
    try:
        constants = constants_for(version.cement)
        course = [(0.0, 0.0)]
        for part in parts:
            grown = temperature_time_factor([part], constants)
            course.append((course[-1][0] + part.hours, course[-1][1] + grown))
        return Maturity(course, equivalent_age_hours(parts, constants), source=constants.source)
    except NoConstants:
        return Maturity([], None, no_constants(version.cement))
    except ValueError as exc:
        return Maturity([], None, str(exc))
