"""Cover and moisture, temperatures, coupons and washouts of one pour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID, uuid4

from django.db.models import Model

from engineering.core import coupons
from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number, when_done
from jobs.errors import BadEntry
from jobs.models import CouponTest, CureCheck, Person, Pour, TemperatureLog, WashoutTest
from jobs.words import say

MOST_READINGS = 20_000
MOST_COUPONS = 50
Made = TypeVar("Made", bound=Model)


def _entry(
    kind: type[Made],
    verb: str,
    pour: Pour,
    words: str,
    *,
    by: Person,
    note: str,
    at: datetime | None,
    request_id: UUID | None,
    fields: dict[str, Any],
    told: dict[str, Any],
) -> Made:
    """One row and its event. The order is that of the first piece in the batch."""
    made = kind._default_manager.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=5_000),
        pour=pour,
        **fields,
    )
    first = pour.pieces.select_related("design__order").order_by("pk").first()
    events.record(
        verb,
        f"Batch {pour.batch}: {words}",
        by=by,
        order=first.design.order if first else None,
        request_id=request_id,
        detail={"row": made.pk, "pour": pour.pk, **told},
    )
    return made


@one_act
def record_cure_check(
    pour: Pour,
    *,
    by: Person,
    covered: bool,
    moist: bool,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> CureCheck:
    need(by, "produce")
    if event := events.seen(request_id, "cure-checked", by):
        return CureCheck.objects.get(pk=event.detail["row"])
    fields = {"covered": covered is True, "moist": moist is True}
    words = f"{'covered' if covered else 'NOT covered'}, {'moist' if moist else 'NOT moist'}"
    keep: dict[str, Any] = {"by": by, "note": note, "at": at, "request_id": request_id}
    return _entry(CureCheck, "cure-checked", pour, words, **keep, fields=fields, told=fields)


@one_act
def record_temperatures(
    pour: Pour,
    *,
    by: Person,
    readings: Sequence[tuple[datetime, float]],
    source: str = "",
    note: str = "",
    request_id: UUID | None = None,
) -> TemperatureLog:
    """`readings`: time and °F, in any order; each time once."""
    need(by, "produce")
    if event := events.seen(request_id, "temperatures-read", by):
        return TemperatureLog.objects.get(pk=event.detail["row"])
    if not 1 <= len(readings) <= MOST_READINGS:
        raise BadEntry(say("1 to {most} readings fit into one entry.", most=MOST_READINGS), field="readings")
    rows = sorted(
        (when_done(at, name="time of a reading"), number(value, name="temperature", least=-40, most=250, unit="°F"))
        for at, value in readings
    )
    if len({at for at, _ in rows}) < len(rows):
        raise BadEntry(say("Two readings have the same time."), field="readings")
    fields: dict[str, Any] = {
        "source": clean_text(source, name="source", most=80),
        "readings": [[at.isoformat(), value] for at, value in rows],
    }
    keep: dict[str, Any] = {"by": by, "note": note, "at": rows[-1][0], "request_id": request_id}
    told = {"number": len(rows), "first": rows[0][0].isoformat(), "last": rows[-1][0].isoformat()}
    return _entry(
        TemperatureLog, "temperatures-read", pour, f"{len(rows)} temperatures", **keep, fields=fields, told=told
    )


@one_act
def record_coupon_test(
    pour: Pour,
    *,
    by: Person,
    specimens: Sequence[Mapping[str, float]],
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> CouponTest:
    """`specimens`: yield_lbf, ultimate_lbf, span_in, width_in, depth_in of each; the engine makes stresses of them."""
    need(by, "produce")
    if event := events.seen(request_id, "coupons-broken", by):
        return CouponTest.objects.get(pk=event.detail["row"])
    if not 1 <= len(specimens) <= MOST_COUPONS:
        raise BadEntry(say("A test has 1 to {most} coupons.", most=MOST_COUPONS), field="specimens")
    rows = []
    for place, specimen in enumerate(specimens, start=1):
        sizes = {
            name: number(specimen.get(name), name=f"{name} of coupon {place}", least=0, most=1e5)
            for name in ("yield_lbf", "ultimate_lbf", "span_in", "width_in", "depth_in")
        }
        try:
            coupons.Coupon(**sizes)
        except ValueError as exc:
            raise BadEntry(f"Coupon {place}: {exc}.", field="specimens") from exc
        rows.append(sizes)
    keep: dict[str, Any] = {"by": by, "note": note, "at": at, "request_id": request_id}
    told = {"specimens": rows}
    return _entry(CouponTest, "coupons-broken", pour, f"{len(rows)} coupons", **keep, fields=told, told=told)


@one_act
def record_washout(
    pour: Pour,
    *,
    by: Person,
    sample_lb: float,
    fibre_lb: float,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> WashoutTest:
    need(by, "produce")
    if event := events.seen(request_id, "fibre-washed-out", by):
        return WashoutTest.objects.get(pk=event.detail["row"])
    fields = {
        "sample_lb": number(sample_lb, name="sample", least=1e-4, most=1e3, unit="lb"),
        "fibre_lb": number(fibre_lb, name="fibre", least=0, most=1e3, unit="lb"),
    }
    try:
        share = coupons.fibre_share(fields["fibre_lb"], fields["sample_lb"])
    except ValueError as exc:
        raise BadEntry(f"{exc}.", field="fibre_lb") from exc
    keep: dict[str, Any] = {"by": by, "note": note, "at": at, "request_id": request_id}
    words = f"fibre {100 * share:.2f} % by washout"
    return _entry(WashoutTest, "fibre-washed-out", pour, words, **keep, fields=fields, told={**fields, "share": share})
