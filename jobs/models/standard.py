"""The shop's standard pieces: a released drawing as a template, its limits, and the pieces made from it."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from engineering.models import Study
from jobs.models.order import Design, Revision


class StandardPiece(models.Model):
    """A template with limits. Never edited: other limits or another drawing are another row, the old one retired.

    `study` checked the limits; without the approval of an engineer nothing is made from it.
    """

    name = models.CharField(max_length=80)
    about = models.CharField(max_length=300, blank=True)
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="standard_pieces")
    limits = models.JSONField()                                         # [{measure, low, high}], engine's units
    study = models.ForeignKey(Study, models.PROTECT, related_name="+")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    approved_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    approved_at = models.DateTimeField(null=True, blank=True)
    licence_number = models.CharField(max_length=40, blank=True)        # as on record that day
    jurisdiction = models.CharField(max_length=80, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = "standard piece"
        ordering: ClassVar[list[str]] = ["name", "-pk"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["name"], condition=Q(retired_at=None), name="one_standard_piece_by_name",
                                    violation_error_message="There is a standard piece of that name already."),
            models.CheckConstraint(name="standard_piece_approved_with_a_licence",
                                   condition=Q(approved_at=None) | ~Q(licence_number="")),
        ]

    def __str__(self) -> str:
        return self.name


class StandardUse(models.Model):
    """A design that was made from a standard piece, with the measures asked for."""

    design = models.OneToOneField(Design, models.PROTECT, related_name="made_from")
    standard = models.ForeignKey(StandardPiece, models.PROTECT, related_name="uses")
    values = models.JSONField()                                         # by measure, engine's units
    made_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"{self.design} from {self.standard}"
