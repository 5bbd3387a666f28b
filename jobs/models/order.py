"""Order, design and its revisions, release, and the single physical piece."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from engineering.models import CheckRun, Specification, Verdict
from jobs.stages import BEFORE_POUR, Stage


class Order(models.Model):
    """What a client asked for, where it goes and by when."""

    number = models.CharField(max_length=20, unique=True)
    client = models.CharField(max_length=120)
    site = models.CharField(max_length=200, blank=True)
    due_date = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    archived_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=0)                    # rises with every edit: two people at once

    class Meta:
        ordering: ClassVar[list[str]] = ["due_date", "number"]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["due_date", "id"], name="order_by_due_date", condition=Q(archived_at=None)),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.client}"


class Design(models.Model):
    """One drawing of an order, known by its mark; its revisions hold the specifications."""

    order = models.ForeignKey(Order, models.PROTECT, related_name="designs")
    mark = models.CharField(max_length=40)
    title = models.CharField(max_length=200, blank=True)
    load_test_required = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["order", "mark"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["order", "mark"], name="one_design_per_mark_in_an_order",
                                    violation_error_message="This order has a design with that mark already."),
        ]

    def __str__(self) -> str:
        return self.mark


class Revision(models.Model):
    """A numbered state of a design. Never edited: a change makes the next one."""

    design = models.ForeignKey(Design, models.PROTECT, related_name="revisions")
    number = models.PositiveSmallIntegerField()                         # 1, 2, … shown as A, B, …
    specification = models.OneToOneField(Specification, models.PROTECT, related_name="revision")
    note = models.CharField(max_length=200, blank=True)                 # what changed and why
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    run: CheckRun | None                                                # only where `queries.design_page` has put it

    class Meta:
        ordering: ClassVar[list[str]] = ["design", "number"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["design", "number"], name="revision_numbers_are_unique"),
        ]

    def __str__(self) -> str:
        return f"{self.design.mark} revision {self.letter}"

    @property
    def letter(self) -> str:
        """1 is A, 26 is Z, 27 is AA: as drawings are lettered."""
        letters, left = "", self.number
        while left > 0:
            left, digit = divmod(left - 1, 26)
            letters = chr(ord("A") + digit) + letters
        return letters


class Release(models.Model):
    """This revision was accepted: by the manager on a pass, by an engineer on a pass or a review, by nobody on a
    fail.
    """

    revision = models.OneToOneField(Revision, models.PROTECT, related_name="release")
    check_run = models.ForeignKey(CheckRun, models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=10, choices=Verdict)
    accepted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    accepted_as = models.CharField(max_length=10)                       # role that day
    licence_number = models.CharField(max_length=40, blank=True)        # as on record that day
    jurisdiction = models.CharField(max_length=80, blank=True)
    note = models.TextField(blank=True)
    signed_copy = models.CharField(max_length=64, blank=True)           # SHA-256 of the signed PDF that made it, if one
    accepted_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="release_never_on_a_fail", condition=~Q(verdict=Verdict.FAIL),
                                   violation_error_message="A revision whose checks fail is released by nobody."),
            models.CheckConstraint(
                name="release_of_a_review_by_an_engineer",
                condition=Q(verdict=Verdict.PASS) | (Q(accepted_as="engineer") & ~Q(licence_number="")),
                violation_error_message="A review is accepted by an engineer with a licence number on record.",
            ),
        ]

    def __str__(self) -> str:
        return f"release of {self.revision}"


class Piece(models.Model):
    """One physical piece. Where it is now is `stage`; how it got there is in the event log."""

    design = models.ForeignKey(Design, models.PROTECT, related_name="pieces")
    serial = models.PositiveSmallIntegerField()
    stage = models.CharField(max_length=12, choices=Stage, default=Stage.ORDERED)
    stage_since = models.DateTimeField(auto_now_add=True)
    held_from = models.CharField(max_length=12, choices=Stage, blank=True)
    hold_reason = models.TextField(blank=True)                          # why held or rejected
    revision = models.ForeignKey(Revision, models.PROTECT, null=True, blank=True, related_name="pieces")
    pour = models.ForeignKey("jobs.Pour", models.PROTECT, null=True, blank=True, related_name="pieces")
    pour_planned = models.DateField(null=True, blank=True)              # on the schedule; the pour itself is `pour`
    bed = models.CharField(max_length=60, blank=True)                   # where it lies while it cures; one of Shop.beds
    remake_of = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="remakes")
    # Of its order, kept here by the actions in the transaction that changes them there: lists of pieces go by them.
    order_due = models.DateField(null=True, blank=True, editable=False)
    order_away = models.BooleanField(default=False, editable=False)

    class Meta:
        ordering: ClassVar[list[str]] = ["design", "serial"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["design", "serial"], name="piece_serials_are_unique"),
            models.UniqueConstraint(fields=["bed"], condition=~Q(bed=""), name="one_piece_on_a_bed",
                                    violation_error_message="Another piece lies on that bed."),
            models.CheckConstraint(name="piece_stage_is_known", condition=Q(stage__in=Stage.values),
                                   violation_error_message="That is not a stage of the shop."),
            models.CheckConstraint(name="held_piece_knows_where_from",
                                   condition=~Q(stage=Stage.HELD) | ~Q(held_from="")),
        ]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["stage"], name="piece_by_stage"),
            models.Index(fields=["stage", "order_due", "design", "serial"], name="piece_first_due",
                         condition=Q(order_away=False)),
            models.Index(fields=["stage", "-stage_since", "-id"], name="piece_installed_last",
                         condition=Q(order_away=False, stage=Stage.INSTALLED)),
            models.Index(fields=["pour", "stage"], name="piece_of_pour", condition=Q(order_away=False)),
            # The same once more for SQLite, which does not see that a list of stages is the condition above.
            models.Index(fields=["stage", "pour_planned", "id"], name="piece_stage_pour_planned",
                         condition=Q(order_away=False)),
            models.Index(fields=["pour_planned", "id"], name="piece_pour_planned",
                         condition=Q(order_away=False, stage__in=BEFORE_POUR)),
        ]

    def __str__(self) -> str:
        return f"{self.design.mark}/{self.serial}"
