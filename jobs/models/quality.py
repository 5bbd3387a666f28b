"""What went wrong with a piece, what the engineer decided, and which gate was passed over by whom."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.order import Piece
from jobs.models.production import Entry
from jobs.stages import Stage


class NonConformance(Entry):
    """Something about a piece is not as drawn or not as it should be. Forward moves wait until it is settled."""

    class Decision(models.TextChoices):
        REPAIR = "repair", "Repair"
        USE_AS_IS = "use-as-is", "Use as is"
        REMAKE = "remake", "Remake"

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="non_conformances")
    stage = models.CharField(max_length=12, choices=Stage)              # where the piece stood that day
    what = models.TextField()
    place = models.CharField(max_length=200, blank=True)                # where on the piece
    decision = models.CharField(max_length=10, choices=Decision, blank=True)
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    decided_at = models.DateTimeField(null=True, blank=True)
    decision_note = models.TextField(blank=True)                        # why, and how to repair
    licence_number = models.CharField(max_length=40, blank=True)        # as on record that day
    jurisdiction = models.CharField(max_length=80, blank=True)
    repaired_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    repaired_at = models.DateTimeField(null=True, blank=True)
    repair_note = models.TextField(blank=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                name="decided_by_an_engineer_with_a_licence",
                condition=Q(decision="") | (Q(decided_by__isnull=False) & ~Q(licence_number="")),
                violation_error_message="An engineer with a licence number on record decides this.",
            ),
        ]
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["decision"], name="non_conformance_by_decision")]

    def __str__(self) -> str:
        return f"non-conformance {self.pk} of {self.piece}"

    @property
    def is_settled(self) -> bool:
        """Nothing waits for it any more."""
        if self.decision == self.Decision.REPAIR:
            return self.repaired_at is not None
        return self.decision != ""


class GatePass(Entry):
    """A gate was passed over, with a reason. It counts until the piece leaves the stage it stood at."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="gate_passes")
    from_stage = models.CharField(max_length=12, choices=Stage)
    to_stage = models.CharField(max_length=12, choices=Stage)
    codes = models.JSONField()                                          # of the blockers that were passed over
    texts = models.JSONField()                                          # what they said that day
    reason = models.TextField()

    def __str__(self) -> str:
        return f"{self.piece} to {self.to_stage}: gate passed over"


class Photo(Entry):
    """A picture from the floor. The file lies in the data folder and is shown only to those signed in."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="photos")
    non_conformance = models.ForeignKey(
        NonConformance, models.PROTECT, null=True, blank=True, related_name="photos"
    )
    file = models.FileField(upload_to="photos/%Y/%m", max_length=200)
    sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    about = models.CharField(max_length=40, blank=True)                 # pour, form, stressing, …
    removed_at = models.DateTimeField(null=True, blank=True)            # the file is gone (jobs.actions.keeping)

    def __str__(self) -> str:
        return f"photo {self.pk} of {self.piece}"


class KeptFact(Entry):
    """Something was done on the floor that the book would not have let be done, and had waited on a tablet meanwhile.

    What was typed is kept as it was, beside the refusal; the non-conformance raised with it waits for the engineer.
    """

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="kept_facts")
    kind = models.CharField(max_length=40)                              # the entry's page: reading, pour, …
    typed = models.JSONField()                                          # [[label, what was typed], …]
    refusal_code = models.CharField(max_length=40)
    refusal = models.TextField()
    non_conformance = models.OneToOneField(NonConformance, models.PROTECT, related_name="kept_fact")

    def __str__(self) -> str:
        return f"{self.kind} of {self.piece}, kept as a fact"
