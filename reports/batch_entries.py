"""What stands behind the concrete of a piece: the batch as weighed, its coupons and washouts, its cure, its lots."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar

from django.db.models import Model

from jobs.models import BatchTicket, CouponTest, CureCheck, LotUse, Piece, Pour, TemperatureLog, WashoutTest
from reports.noted import Noted, noted

OfAPour = TypeVar("OfAPour", CouponTest, WashoutTest, CureCheck, TemperatureLog)


@dataclass(frozen=True)
class Batch:
    """Entries in order of time; the rows behind them in `rows`."""

    ticket: Noted | None = None
    coupons: tuple[Noted, ...] = ()
    washouts: tuple[Noted, ...] = ()
    cure: tuple[Noted, ...] = ()
    temperatures: tuple[Noted, ...] = ()
    lots: tuple[Noted, ...] = ()
    rows: tuple[Model, ...] = field(default=(), repr=False)


def batch_of(piece: Piece, pour: Pour | None, *, with_cure: bool) -> Batch:
    """Of the pour: ticket, coupons, washouts; `with_cure`: cure checks and temperatures too. Of the piece: its lots."""
    ticket = pour.ticket if pour else None
    coupons = list(_of(CouponTest, pour))
    washouts = list(_of(WashoutTest, pour))
    cure = list(_of(CureCheck, pour)) if with_cure else []
    temperatures = list(_of(TemperatureLog, pour)) if with_cure else []
    lots = list(LotUse.objects.filter(piece=piece).select_related("by", "lot").order_by("at", "pk"))
    rows: list[Model] = [row for row in (ticket,) if row is not None]
    rows += [*coupons, *washouts, *cure, *temperatures, *lots]
    return Batch(
        ticket=_ticket(ticket) if ticket else None,
        coupons=tuple(_coupons(row) for row in coupons),
        washouts=tuple(noted(row, "sample_lb", "fibre_lb", "fibre_share") for row in washouts),
        cure=tuple(noted(row, "covered", "moist") for row in cure),
        temperatures=tuple(noted(row, "source", "readings") for row in temperatures),
        lots=tuple(_lot(row) for row in lots),
        rows=tuple(rows),
    )


def _of(kind: type[OfAPour], pour: Pour | None) -> list[OfAPour]:
    if pour is None:
        return []
    return list(kind._default_manager.filter(pour=pour).select_related("by").order_by("at", "pk"))


def _ticket(row: BatchTicket) -> Noted:
    columns = (
        "batch", "volume_ft3", "waste", "weighings", "water_to_cementitious", "fibre_share", "within_tolerance",
        "findings",
    )  # fmt: skip
    return noted(row, *columns, recipe=str(row.mix_version))


def _coupons(row: CouponTest) -> Noted:
    """Loads and sizes as written down; stresses by the engine's own rule for coupons."""
    broken = [
        {**specimen, "yield_psi": coupon.yield_psi, "ultimate_psi": coupon.ultimate_psi}
        for specimen, coupon in zip(row.specimens, row.coupons, strict=True)
    ]
    return noted(row, specimens=broken)


def _lot(row: LotUse) -> Noted:
    lot = row.lot
    return noted(
        row,
        "rods",
        kind=lot.get_kind_display(),
        lot=lot.lot,
        description=lot.description,
        certificate=lot.certificate,
    )
