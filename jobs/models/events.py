"""The event log: every write by every person, in order, each row carrying the hash of the one before."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models


class Event(models.Model):
    """Something somebody did. Rows are only added, by `jobs.actions.events.record`, in the transaction of the act."""

    sequence = models.PositiveBigIntegerField(unique=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    verb = models.CharField(max_length=40)                              # stable: piece-moved, revision-made, …
    text = models.CharField(max_length=300)                             # for the screen
    order = models.ForeignKey("jobs.Order", models.PROTECT, null=True, blank=True, related_name="events")
    design = models.ForeignKey("jobs.Design", models.PROTECT, null=True, blank=True, related_name="events")
    piece = models.ForeignKey("jobs.Piece", models.PROTECT, null=True, blank=True, related_name="events")
    detail = models.JSONField(default=dict)                             # before and after, evidence
    request_id = models.UUIDField(null=True, blank=True, unique=True)   # the tap: a second sending finds this row
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar[list[str]] = ["sequence"]

    def __str__(self) -> str:
        return f"{self.sequence} {self.verb}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("Events are only added.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise TypeError("Events are only added.")


class ChainHead(models.Model):
    """The newest event's number and hash: one row, pk 1, locked by whoever adds the next event."""

    sequence = models.PositiveBigIntegerField(default=0)
    hash = models.CharField(max_length=64, default="0" * 64)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="one_chain_head", condition=models.Q(pk=1)),
        ]

    def __str__(self) -> str:
        return f"{self.sequence} {self.hash[:8]}"
