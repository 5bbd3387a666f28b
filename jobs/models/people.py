"""People of the shop, and the keys their programs sign in with."""

from __future__ import annotations

from typing import ClassVar

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import Q


class Role(models.TextChoices):
    MANAGER = "manager", "Shop manager"
    CREW = "crew", "Crew"
    ENGINEER = "engineer", "Engineer"
    VIEWER = "viewer", "Viewer"


class Language(models.TextChoices):
    """In which the crew's pages speak to a person."""

    ENGLISH = "en", "English"
    SPANISH = "es-mx", "Español"


class Person(AbstractUser):
    """Somebody who signs in. What they may do follows from `role` alone (`jobs.access`)."""

    role = models.CharField(max_length=10, choices=Role, default=Role.VIEWER)
    licence_number = models.CharField(max_length=40, blank=True)        # engineers: on every review and release
    jurisdiction = models.CharField(max_length=80, blank=True)
    language = models.CharField(max_length=7, choices=Language, default=Language.ENGLISH)
    pin_hash = models.CharField(max_length=128, blank=True)             # for changing over on a shop tablet
    pin_set_at = models.DateTimeField(null=True, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True)             # their data are removed; the number stays

    class Meta:
        verbose_name_plural = "people"
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="person_role_known", condition=Q(role__in=Role.values)),
            models.CheckConstraint(name="person_language_known", condition=Q(language__in=Language.values)),
        ]

    def __str__(self) -> str:
        return self.display_name

    @property
    def display_name(self) -> str:
        if self.erased_at is not None:
            return f"a former person {self.pk}"
        return self.get_full_name() or self.get_username()

    @property
    def is_licensed(self) -> bool:
        """Name, licence number and jurisdiction on record: what a release by an engineer needs."""
        return bool(self.get_full_name() and self.licence_number and self.jurisdiction)


class ApiToken(models.Model):
    """A key for a program. Only its SHA-256 is kept; the key itself is shown once."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="api_tokens")
    label = models.CharField(max_length=80)
    digest = models.CharField(max_length=64, unique=True)
    read_only = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.label} of {self.person}"
