"""What pieces are made of, by lot, with certificates: rods, sleeves, plates and nuts; load cells by calibration."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from jobs.models.order import Piece
from jobs.models.production import Entry


class StockLot(models.Model):
    """One delivery of one thing."""

    class Kind(models.TextChoices):
        ROD = "rod", "Rods"
        SLEEVE = "sleeve", "Sleeves"
        ANCHOR = "anchor", "Plates and nuts"
        LOAD_CELL = "load-cell", "Load cell"
        OTHER = "other", "Other"

    kind = models.CharField(max_length=10, choices=Kind)
    lot = models.CharField(max_length=80)                               # heat or lot number, as on the certificate
    description = models.CharField(max_length=120)                      # thread and grade, size
    supplier = models.CharField(max_length=120, blank=True)
    certificate = models.CharField(max_length=120, blank=True)
    received_on = models.DateField(null=True, blank=True)
    valid_until = models.DateField(null=True, blank=True)               # a load cell's calibration
    active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["kind", "lot"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["kind", "lot"], name="lots_are_unique_by_kind",
                                    violation_error_message="That lot is in the book already."),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.lot}"


class LotUse(Entry):
    """A lot that went into a piece, and into which of its rods."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="lot_uses")
    lot = models.ForeignKey(StockLot, models.PROTECT, related_name="uses")
    rods = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"{self.lot} in {self.piece}"
