"""What somebody should know without looking: on the page until it is over, by e-mail once."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.order import Design, Piece
from jobs.models.quality import NonConformance
from jobs.models.shop import Wrench


class Notice(models.Model):
    """`key` names the one thing it is about, so that it is said once however often the sweep comes by."""

    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=30)
    text = models.CharField(max_length=300)
    roles = models.JSONField()                                          # whom it concerns
    piece = models.ForeignKey(Piece, models.PROTECT, null=True, blank=True, related_name="notices")
    # What it is about where that is no piece, or more than one: where the page leads to.
    design = models.ForeignKey(Design, models.PROTECT, null=True, blank=True, related_name="+")
    wrench = models.ForeignKey(Wrench, models.PROTECT, null=True, blank=True, related_name="+")
    non_conformance = models.ForeignKey(NonConformance, models.PROTECT, null=True, blank=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    over_at = models.DateTimeField(null=True, blank=True)
    mailed_at = models.DateTimeField(null=True, blank=True)
    urgency = models.PositiveSmallIntegerField(default=0)               # 0 comes first: `jobs.notices.URGENCY`
    # The roles again, each a column of its own: a list for one role is read off an index.
    for_manager = models.BooleanField(default=False)
    for_engineer = models.BooleanField(default=False)
    for_crew = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar[list[str]] = ["-made_at", "-pk"]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["over_at"], name="notice_by_end"),
            *(
                models.Index(fields=["over_at", "urgency", "made_at", "id"], name=f"notice_{role}_first",
                             condition=Q(**{f"for_{role}": True}))
                for role in ("manager", "engineer", "crew")
            ),
        ]

    def __str__(self) -> str:
        return self.text


class CalendarLink(models.Model):
    """A person's secret address of the shop's dates. Only its SHA-256 is kept; the address is shown once."""

    person = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="calendar_link")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"calendar of {self.person}"
