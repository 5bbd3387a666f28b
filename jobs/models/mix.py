"""Recipes by version, and the batch ticket: what was to be weighed and what was."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from engineering.core.mix import Ingredient
from engineering.core.mix import Mix as Recipe
from jobs.models.production import Entry
from jobs.models.shop import Mix


class MixVersion(models.Model):
    """One state of a mix's recipe. Never edited: a change makes the next one."""

    class Cement(models.TextChoices):
        PORTLAND = "portland", "Portland"
        CSA = "csa", "Rapid-setting (CSA)"
        OTHER = "other", "Other"

    mix = models.ForeignKey(Mix, models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    cement = models.CharField(max_length=10, choices=Cement)
    ingredients = models.JSONField()  # [{name, kind, weight_lb, specific_gravity, …}]
    air = models.FloatField(default=0.0)  # share of the finished volume
    working_minutes = models.PositiveSmallIntegerField(default=20)  # from the water on
    note = models.CharField(max_length=200, blank=True)  # what changed and why
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["mix", "number"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["mix", "number"], name="mix_versions_are_numbered"),
            models.CheckConstraint(name="mix_air_range", condition=Q(air__gte=0) & Q(air__lt=0.5)),
        ]

    def __str__(self) -> str:
        return f"{self.mix.name} version {self.number}"

    @property
    def recipe(self) -> Recipe:
        return Recipe(tuple(Ingredient(**row) for row in self.ingredients), self.air)


class BatchTicket(Entry):
    """One batch as it was weighed, against its targets."""

    batch = models.CharField(max_length=40)
    mix_version = models.ForeignKey(MixVersion, models.PROTECT, related_name="tickets")
    volume_ft3 = models.FloatField()  # in the forms
    waste = models.FloatField()
    weighings = models.JSONField()  # [{name, kind, target_lb, …, weighed_lb, lot}]
    water_added_at = models.DateTimeField(null=True, blank=True)
    water_to_cementitious = models.FloatField(null=True, blank=True)  # of what was really weighed
    fibre_share = models.FloatField(null=True, blank=True)
    within_tolerance = models.BooleanField()
    findings = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"batch {self.batch}"

    @property
    def workable_until(self) -> datetime | None:
        minutes = timedelta(minutes=self.mix_version.working_minutes)
        return self.water_added_at + minutes if self.water_added_at else None
