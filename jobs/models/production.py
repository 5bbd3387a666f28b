"""What the crew records: form check, pour, strength tests, stressing, load test, install. Rows are added, not edited.

Amounts are kept in US units, named so; pages and records show them in the units of the piece's specification.
Every row carries the `request_id` the tablet made at the tap: the same tap sent twice is one row.
"""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.order import Piece, Revision
from jobs.models.shop import Mix, Wrench


class Entry(models.Model):
    """Common to everything written down on the floor: who, when it happened, when it reached us, which tap."""

    request_id = models.UUIDField(default=uuid.uuid4, unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()                                         # when it was done, by the tablet's clock
    recorded_at = models.DateTimeField(auto_now_add=True)
    note = models.TextField(blank=True)

    class Meta:
        abstract = True


class FormCheck(Entry):
    """Before the pour: core held down, sleeves straight and sealed, pockets set, rod heights measured on the form."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="form_checks")
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="+")
    core_held = models.BooleanField()
    sleeves_sealed = models.BooleanField()
    pockets_set = models.BooleanField()
    rod_heights = models.JSONField(default=list)                        # [{rod, x_in, drawn_in, measured_in}]

    def __str__(self) -> str:
        return f"form check of {self.piece}"


class Pour(Entry):
    """One batch into one or more forms."""

    batch = models.CharField(max_length=40)
    mix = models.ForeignKey(Mix, models.PROTECT, null=True, blank=True, related_name="pours")
    ticket = models.OneToOneField("jobs.BatchTicket", models.PROTECT, null=True, blank=True, related_name="pour")
    water_added_at = models.DateTimeField(null=True, blank=True)
    slump_in = models.FloatField(null=True, blank=True)
    unit_weight_pcf = models.FloatField(null=True, blank=True)
    mix_temperature_f = models.FloatField(null=True, blank=True)
    air_temperature_f = models.FloatField(null=True, blank=True)

    class Meta:
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["at"], name="pour_by_time")]

    def __str__(self) -> str:
        return f"pour {self.batch}"


class StrengthTest(Entry):
    """Specimens of one pour, broken together: cylinders, or cubes taken times the shop's factor."""

    class Kind(models.TextChoices):
        CYLINDER = "cylinder", "Cylinders"
        CUBE = "cube", "Cubes"

    pour = models.ForeignKey(Pour, models.PROTECT, related_name="strength_tests")
    kind = models.CharField(max_length=10, choices=Kind)
    factor = models.FloatField(default=1.0)                             # cylinder strength/this specimen's strength
    specimens_psi = models.JSONField()                                  # as broken, before the factor

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="strength_factor_range", condition=Q(factor__gt=0) & Q(factor__lte=1.2)),
        ]
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["at"], name="strength_test_by_time")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.pour}"

    @property
    def cylinder_psi(self) -> list[float]:
        """Each specimen as a cylinder would have shown it."""
        return [specimen * self.factor for specimen in self.specimens_psi]

    @property
    def mean_psi(self) -> float:
        return sum(self.cylinder_psi) / len(self.specimens_psi)


class Stressing(Entry):
    """One round of tightening of one piece, with the targets as they stood when it began."""

    class State(models.TextChoices):
        OPEN = "open", "Under way"
        COMPLETE = "complete", "Complete"
        STOPPED = "stopped", "Stopped"

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="stressings")
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="+")
    wrench = models.ForeignKey(Wrench, models.PROTECT, null=True, blank=True, related_name="stressings")
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    targets = models.JSONField()                                        # taken from the check result, see jobs.targets
    gauge_resolution_in = models.FloatField(null=True, blank=True)      # the least that the stretch gauge shows
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["piece"], condition=Q(state="open"), name="one_open_stressing_per_piece",
                                    violation_error_message="This piece is being stressed already."),
        ]

    def __str__(self) -> str:
        return f"stressing of {self.piece}"

    @property
    def newest_readings(self) -> dict[tuple[str, int], StressingReading]:
        """For each rod and step the reading that counts: the last one written down."""
        rows = list(self.readings.all())
        gone = {row.takes_back_id for row in rows if row.takes_back_id is not None}
        return {(row.rod, row.step): row for row in rows if row.takes_back_id is None and row.pk not in gone}


class StressingReading(Entry):
    """One rod at one step. A wrong one is never changed: a later reading of the same rod and step counts instead, and
    one that should not be there at all is taken back by a row of its own.
    """

    stressing = models.ForeignKey(Stressing, models.PROTECT, related_name="readings")
    rod = models.CharField(max_length=40)
    step = models.PositiveSmallIntegerField()                           # 0-based place in the specification's steps
    torque_lbf_ft = models.FloatField(null=True, blank=True)
    elongation_in = models.FloatField(null=True, blank=True)
    crown_in = models.FloatField(null=True, blank=True)
    lift_off_lbf = models.FloatField(null=True, blank=True)             # where a jack lifted the nut off its plate
    line_clear = models.BooleanField(default=False)                     # nobody stood in the rod's line
    within_tolerance = models.BooleanField()
    findings = models.JSONField(default=list)                           # in words: what is out, by how much, what to do
    takes_back = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="taken_back_by")

    class Meta:
        ordering: ClassVar[list[str]] = ["recorded_at", "pk"]

    def __str__(self) -> str:
        return f"{self.rod} step {self.step + 1}"


class LoadTest(Entry):
    piece = models.ForeignKey(Piece, models.PROTECT, related_name="load_tests")
    load_lbf = models.FloatField()
    deflection_in = models.FloatField()
    residual_in = models.FloatField(null=True, blank=True)              # 24 hours after unloading
    cracks_seen = models.BooleanField()
    accepted = models.BooleanField()

    def __str__(self) -> str:
        return f"load test of {self.piece}"


class Installation(Entry):
    piece = models.OneToOneField(Piece, models.PROTECT, related_name="installation")
    supports_in = models.JSONField()                                    # measured x of each support, in order
    cautions_confirmed = models.BooleanField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="installed_with_cautions_read", condition=Q(cautions_confirmed=True),
                                   violation_error_message="The cautions have to be read and confirmed."),
        ]

    def __str__(self) -> str:
        return f"install of {self.piece}"
