"""How long the shop keeps what it does not have to keep for ever."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

LEAST_DAYS, MOST_DAYS = 30, 36_500


class Keeping(models.Model):
    """One row, pk 1. Records and events have no line here: they are never removed."""

    photo_days = models.PositiveIntegerField(null=True, blank=True)     # after the order is put away; null: for ever
    sign_in_days = models.PositiveIntegerField(default=180)             # who signed in, wrong passwords and PINs
    looked_on = models.DateField(null=True, blank=True)                 # when all that was past its time was removed

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="one_keeping_row", condition=Q(pk=1)),
            models.CheckConstraint(
                name="photos_kept_a_month", condition=Q(photo_days__isnull=True) | Q(photo_days__gte=LEAST_DAYS)
            ),
            models.CheckConstraint(name="sign_ins_kept_a_month", condition=Q(sign_in_days__gte=LEAST_DAYS)),
        ]

    def __str__(self) -> str:
        return "how long things are kept"
