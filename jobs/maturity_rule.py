"""From about when the strength is there by maturity (ASTM C1074): tests of the mix against equivalent age, and how far
one pour has come by its own temperatures. Opens no gate; a piece is stressed on broken specimens.

Every answer says what it rests on, or plainly why there is none. The sums are the engine's (`maturity`,
`strength_gain`).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone
from django.utils.formats import date_format

from engineering.core.maturity import Interval, MaturityConstants, NoConstants, constants_for, equivalent_age_hours
from engineering.core.strength_gain import StrengthCurve, fit_strength_curve
from engineering.core.strength_gain import StrengthTest as AgedTest
from jobs.curing import NO_CURVE, NO_TICKET, in_order, no_constants
from jobs.models import Mix, Pour, StrengthTest, TemperatureLog
from jobs.words import Words, say

MOST_START = timedelta(hours=3)  # of the first reading after the water; till then its temperature is taken
MOST_GAP = timedelta(hours=24)  # between two readings, and from the last one to a test: longer says too little
HOUR_DAYS = 1 / 24
NO_MIX, NOT_FROM_THE_START = say("no mix named"), say("no temperatures from the start")
Readings = list[tuple[datetime, float]]
WITH = ("pour__mix", "pour__ticket__mix_version")


class NotByMaturity(Exception):  # an answer, not a fault
    """`words`: why, in full; `short`: for a line of the schedule."""

    def __init__(self, short: str, words: str) -> None:
        self.short, self.words = short, words
        super().__init__(words)


@dataclass(frozen=True)
class MixCurve:
    """Strength against equivalent age in days at the reference temperature."""

    curve: StrengthCurve
    tests: int  # three and more, or there is no curve
    batches: int

    @property
    def rests_on(self) -> Words:
        if self.batches == 1:
            return say("{tests} tests of one batch", tests=self.tests)
        return say("{tests} tests of {batches} batches", tests=self.tests, batches=self.batches)


@dataclass(frozen=True)
class Ready:
    at: datetime
    words: str


@dataclass
class Written:
    """A pour with its temperatures and broken specimens, each in the order of their numbers."""

    pour: Pour
    logs: list[TemperatureLog] = field(default_factory=list)
    tests: list[StrengthTest] = field(default_factory=list)


class MaturityBook:
    """What the rows say of several pours and of the other batches of their mixes. Two queries, however many: a pour
    comes along with its rows, and of one that has none the caller's own is taken.
    """

    def __init__(self, pours: Iterable[Pour]) -> None:
        self._asked = list(pours)
        self._curves: dict[int, MixCurve | NotByMaturity] = {}

    @cached_property
    def _written(self) -> dict[int, Written]:
        found: dict[int, Written] = {}
        of_pours = {"pour__in": self._pours()}
        for log in TemperatureLog.objects.filter(**of_pours).select_related(*WITH).order_by("pk"):
            found.setdefault(log.pour_id, Written(log.pour)).logs.append(log)
        for test in StrengthTest.objects.filter(**of_pours).select_related(*WITH).order_by("pk"):
            found.setdefault(test.pour_id, Written(test.pour)).tests.append(test)
        return found

    def _pours(self) -> QuerySet[Pour, Any]:
        """Those asked for, and the tested ones of their mixes."""
        asked = Pour.objects.filter(pk__in={pour.pk for pour in self._asked})
        read = asked.filter(temperature_logs__isnull=False)  # the others get no curve anyway
        history = Pour.objects.filter(
            Exists(StrengthTest.objects.filter(pour=OuterRef("pk"))),
            Exists(TemperatureLog.objects.filter(pour=OuterRef("pk"))),
            mix__in=read.values("mix"),
        )
        return asked.values("pk").union(history.values("pk"))  # each read off its own index, unlike an “or”

    def _of(self, pour: Pour) -> Written:
        return self._written.get(pour.pk) or Written(pour)

    def newest_test(self, pour: Pour) -> StrengthTest | None:
        """What was broken last of this pour."""
        return max(self._of(pour).tests, key=lambda test: (test.at, test.pk), default=None)

    def curve_of(self, mix: Mix) -> MixCurve:
        """NotByMaturity where fewer than three ages of the mix were tested with their temperatures read."""
        if mix.pk not in self._curves:
            try:
                self._curves[mix.pk] = _fitted([row for row in self._written.values() if row.pour.mix_id == mix.pk])
            except NotByMaturity as refusal:
                self._curves[mix.pk] = refusal
        found = self._curves[mix.pk]
        if isinstance(found, NotByMaturity):
            raise found
        return found

    def ready_from(self, pour: Pour, needed_psi: float, units: str) -> Ready:
        """About when this pour reaches a strength. NotByMaturity where that cannot be said."""
        row = self._of(pour)
        constants = _constants(row.pour)
        mix = row.pour.mix
        if mix is None:
            raise NotByMaturity(NO_MIX, say("Its pour names no mix, so no tests stand behind it."))
        readings = _readings(row)
        found = self.curve_of(mix)
        age = found.curve.age_days(needed_psi)
        if age is None or age > found.curve.last_test_days:
            raise NotByMaturity(
                say("beyond its tests"),
                say("The tests of {mix} do not reach that strength; break specimens later.", mix=mix),
            )
        at, ahead = _reached(readings, 24 * max(age, found.curve.first_test_days), constants, units)
        words = say(
            "by maturity: {rests_on} of {mix} against equivalent age ({source}), and its own temperatures{ahead}; "
            "± {scatter} psi. Break specimens first.",
            rests_on=found.rests_on,
            mix=mix,
            source=constants.source,
            ahead=ahead,
            scatter=f"{found.curve.scatter_psi:.0f}",
        )
        return Ready(at, words)


def _constants(pour: Pour) -> MaturityConstants:
    return _constants_of(pour.ticket.mix_version.cement if pour.ticket else None)


def _constants_of(cement: str | None) -> MaturityConstants:
    """`cement`: of its batch ticket; None where it has none."""
    if cement is None:
        raise NotByMaturity(say("no batch ticket"), NO_TICKET)
    try:
        return constants_for(cement)
    except NoConstants as exc:
        raise NotByMaturity(say("the cement is not Portland"), no_constants(cement)) from exc


def without_temperatures(cement: str | None, *, mix: bool) -> str:
    """Why nothing is said by maturity of a pour without temperatures: what `ready_from` would say, in short."""
    try:
        _constants_of(cement)
    except NotByMaturity as refusal:
        return refusal.short
    return NOT_FROM_THE_START if mix else NO_MIX


def _readings(row: Written) -> Readings:
    """From the water on: the first one stands for the time before it. °F."""
    rows, start = in_order(row.logs), row.pour.water_added_at or row.pour.at
    rows = [reading for reading in rows if reading[0] >= start]
    if not rows or rows[0][0] - start > MOST_START:
        raise NotByMaturity(
            NOT_FROM_THE_START,
            say("Its temperatures have to begin within 3 hours of the water; without them there is no maturity."),
        )
    return [(start, rows[0][1]), *rows]


def _whole(readings: Readings) -> Readings:
    """Up to the first gap that is too long to bridge."""
    kept = readings[:1]
    for row in readings[1:]:
        if row[0] - kept[-1][0] > MOST_GAP:
            break
        kept.append(row)
    return kept


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def _step(at: tuple[datetime, float], to: tuple[datetime, float]) -> Interval:
    return Interval((to[0] - at[0]).total_seconds() / 3600, _celsius((at[1] + to[1]) / 2))


def equivalent_hours(readings: Readings, until: datetime, constants: MaturityConstants) -> float | None:
    """Equivalent age at a moment [h]; None where the readings do not come near it."""
    rows = [row for row in _whole(readings) if row[0] < until]
    if not rows or until - rows[-1][0] > MOST_GAP:
        return None
    rows.append((until, rows[-1][1]))
    return equivalent_age_hours([_step(at, to) for at, to in itertools.pairwise(rows)], constants)


def _fitted(pours: list[Written]) -> MixCurve:
    tests, batches = [], set()
    for row in pours:
        try:
            constants, readings = _constants(row.pour), _readings(row)
        except NotByMaturity:
            continue
        for test in row.tests:
            hours = equivalent_hours(readings, test.at, constants)
            if hours is not None and hours >= 1 and 0 < test.mean_psi < 60_000:
                tests.append(AgedTest(round(hours) * HOUR_DAYS, test.mean_psi))
                batches.add(row.pour.pk)
    try:
        return MixCurve(fit_strength_curve(tests), len(tests), len(batches))
    except ValueError as exc:
        words = say(
            "Tests of its mix with temperatures beside them: {number}. {why}",
            number=len(tests),
            why=NO_CURVE.get(str(exc), str(exc)),
        )
        raise NotByMaturity(say("too few tests with temperatures"), words) from exc


def _reached(readings: Readings, needed_h: float, constants: MaturityConstants, units: str) -> tuple[datetime, str]:
    """When the equivalent age is there, and what was taken for the time after the last reading."""
    rows, grown = _whole(readings), 0.0
    for at, to in itertools.pairwise(rows):
        step = _step(at, to)
        more = equivalent_age_hours([step], constants)
        if more > 0 and grown + more >= needed_h:
            return at[0] + timedelta(hours=step.hours * (needed_h - grown) / more), ""
        grown += more
    last, value = rows[-1]
    if timezone.now() - last > MOST_GAP:
        raise NotByMaturity(
            say("its temperatures have stopped"),
            say("Its last temperature is over a day old, and the strength was not there by then. Read it again."),
        )
    rate = equivalent_age_hours([Interval(1.0, _celsius(value))], constants)
    shown = f"{_celsius(value):.0f} °C" if units == "si" else f"{value:.0f} °F"
    local = date_format(timezone.localtime(last), "Y-m-d H:i")
    ahead = say(", from {when} on taken as {temperature}", when=local, temperature=shown)
    return last + timedelta(hours=(needed_h - grown) / rate), ahead
