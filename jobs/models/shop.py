"""The shop itself: name on the records, mixes, wrenches."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q


def coupon_days_at_first() -> int | None:
    return settings.COUPON_DAYS_AT_FIRST


class Shop(models.Model):
    """One installation is one shop: there is one row, pk 1."""

    name = models.CharField(max_length=120, default="Our shop")
    address = models.CharField(max_length=200, blank=True)
    contact = models.CharField(max_length=120, blank=True)
    cube_factor = models.FloatField(default=0.8)           # cylinder/cube strength unless the shop measured its own
    coupon_days = models.PositiveSmallIntegerField(             # age coupon tests may have; null: not said yet
        null=True, blank=True, default=coupon_days_at_first)
    beds = models.JSONField(default=list, blank=True)           # names of the places where pieces cure, in order
    document_size = models.CharField(max_length=6, choices=[("letter", "US letter"), ("a4", "A4")], default="letter")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="one_shop_row", condition=Q(pk=1)),
            models.CheckConstraint(name="cube_factor_range", condition=Q(cube_factor__gt=0) & Q(cube_factor__lte=1.2)),
        ]

    def __str__(self) -> str:
        return self.name


class Mix(models.Model):
    name = models.CharField(max_length=80, unique=True)
    description = models.CharField(max_length=200, blank=True)
    active = models.BooleanField(default=True)

    class Meta:
        verbose_name_plural = "mixes"

    def __str__(self) -> str:
        return self.name


class Wrench(models.Model):
    name = models.CharField(max_length=80, unique=True)
    certificate = models.CharField(max_length=80, blank=True)
    calibrated_until = models.DateField()
    active = models.BooleanField(default=True)

    class Meta:
        verbose_name_plural = "wrenches"

    def __str__(self) -> str:
        return self.name
