"""A load test planned, and what was read while the load went on and came off."""

from __future__ import annotations

from django.db import models

from jobs.models.order import Piece, Revision
from jobs.models.production import Entry


class LoadTestPlan(Entry):
    """Bags or blocks: how heavy each, how many, where in which order; how long they lie; when to stop."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="load_test_plans")
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="+")
    what = models.CharField(max_length=80)                              # sand bags, concrete blocks
    unit_lbf = models.FloatField()
    layers = models.JSONField()                                         # [{number, where}] in order
    hold_minutes = models.PositiveIntegerField()
    total_lbf = models.FloatField()                                     # that the test asks for besides self weight
    stop_deflection_in = models.FloatField()
    span_in = models.FloatField()
    depth_in = models.FloatField()

    def __str__(self) -> str:
        return f"load test plan of {self.piece}"


class LoadTestReading(Entry):
    """One look at the dial: load on the piece besides its own weight, deflection down, any crack."""

    plan = models.ForeignKey(LoadTestPlan, models.PROTECT, related_name="readings")
    load_lbf = models.FloatField()
    deflection_in = models.FloatField()
    crack_seen = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"{self.load_lbf:g} lbf"
