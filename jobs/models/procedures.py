"""After the tightening: lift-off, re-stressing, slackening, a broken rod, an incident, and the finish of the ends."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from jobs.models.order import Piece, Revision
from jobs.models.production import Entry, Stressing
from jobs.models.shop import Wrench


class LiftOff(Entry):
    """The force at which a nut leaves its plate under a jack: what is really in the rod."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="lift_offs")
    stressing = models.ForeignKey(Stressing, models.PROTECT, related_name="lift_offs")
    rod = models.CharField(max_length=40)
    force_lbf = models.FloatField()
    expected_lbf = models.FloatField(null=True, blank=True)  # null: the result has no figure for it
    line_clear = models.BooleanField(default=False)
    within_tolerance = models.BooleanField()
    findings = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"lift-off of {self.rod}"


class Restressing(Entry):
    """Every rod brought back to its jacking force, at an age the specification names."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="restressings")
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="+")
    age_days = models.FloatField()  # as the specification names it
    wrench = models.ForeignKey(Wrench, models.PROTECT, null=True, blank=True, related_name="+")
    rods = models.JSONField()  # [{rod, torque_lbf_ft or force_lbf, target}]
    crown_in = models.FloatField(null=True, blank=True)
    line_clear = models.BooleanField(default=False)
    within_tolerance = models.BooleanField()
    findings = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"re-stressing of {self.piece}"


class Incident(Entry):
    """Rods slackened, a rod that broke, or an incident: with what the crew confirmed to have done first."""

    class Kind(models.TextChoices):
        SLACKENED = "slackened", "Rods slackened"
        BROKEN_ROD = "broken-rod", "Broken rod"
        INCIDENT = "incident", "Incident"

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="incidents")
    kind = models.CharField(max_length=12, choices=Kind)
    rods = models.JSONField(default=list)
    what = models.TextField()
    somebody_hurt = models.BooleanField(default=False)
    confirmed = models.JSONField(default=list)  # the first steps, in words, that were confirmed

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                name="incident_kind_known", condition=Q(kind__in=("slackened", "broken-rod", "incident"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.piece}"


class Finishing(Entry):
    """Tails cut, ends capped and greased, pockets filled."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="finishings")
    tails_cut = models.BooleanField(default=False)
    capped = models.BooleanField(default=False)
    greased = models.BooleanField(default=False)
    pockets_filled = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"finish of {self.piece}"
