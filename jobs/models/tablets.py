"""The shop's own tablets, and the tries at a personal PIN on them."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models


class ShopTablet(models.Model):
    """A device the manager has named: crew change over on it by PIN, and every entry carries its name."""

    key = models.UUIDField(default=uuid.uuid4, unique=True)             # in a signed cookie of the device
    name = models.CharField(max_length=60)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name


class PinTry(models.Model):
    """One PIN typed in; wrong ones are counted against the person and against the tablet (`jobs.pins`)."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    tablet = models.ForeignKey(ShopTablet, models.CASCADE, related_name="+")
    at = models.DateTimeField()
    right = models.BooleanField()

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["person", "at"], name="pin_tries_of_a_person"),
            models.Index(fields=["tablet", "at"], name="pin_tries_on_a_tablet"),
        ]

    def __str__(self) -> str:
        return f"{'right' if self.right else 'wrong'} PIN of {self.person} on {self.tablet}"
