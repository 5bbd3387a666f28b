"""While it cures: cover and moisture, temperature, coupons and washouts of the batch."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from engineering.core.coupons import Coupon, fibre_share
from jobs.models.production import Entry, Pour


class CureCheck(Entry):
    pour = models.ForeignKey(Pour, models.PROTECT, related_name="cure_checks")
    covered = models.BooleanField()
    moist = models.BooleanField()

    def __str__(self) -> str:
        return f"cure check of {self.pour}"


class TemperatureLog(Entry):
    """Temperatures of the concrete, typed or from a logger's file."""

    pour = models.ForeignKey(Pour, models.PROTECT, related_name="temperature_logs")
    source = models.CharField(max_length=80, blank=True)
    readings = models.JSONField()  # [[ISO time with zone, °F]] in order of time

    class Meta:
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["recorded_at"], name="temperatures_by_time")]

    def __str__(self) -> str:
        return f"temperatures of {self.pour}"


class CouponTest(Entry):
    """Coupons of one pour broken together, ASTM C947."""

    pour = models.ForeignKey(Pour, models.PROTECT, related_name="coupon_tests")
    specimens = models.JSONField()  # [{yield_lbf, ultimate_lbf, span_in, …}]

    def __str__(self) -> str:
        return f"coupons of {self.pour}"

    @property
    def coupons(self) -> list[Coupon]:
        return [Coupon(**row) for row in self.specimens]


class WashoutTest(Entry):
    """Fibre washed out of a fresh sample, ASTM C1229."""

    pour = models.ForeignKey(Pour, models.PROTECT, related_name="washout_tests")
    sample_lb = models.FloatField()
    fibre_lb = models.FloatField()

    def __str__(self) -> str:
        return f"washout of {self.pour}"

    @property
    def fibre_share(self) -> float:
        return fibre_share(self.fibre_lb, self.sample_lb)
