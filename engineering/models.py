"""Specifications, their check runs and studies: what the engine was given, and what it answered.

A specification is never edited. A check run is a job whose row is the truth: waiting, running under a lease, done or
broken; the queue's message is only a nudge (see `engineering.tasks`).
"""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from engineering.core.version import ENGINE_VERSION


class Specification(models.Model):
    """One accepted specification document. Rows are written once; a change of the piece makes a new row."""

    document = models.JSONField()
    sha256 = models.CharField(max_length=71, db_index=True)          # sha256:… of the canonical document
    mark = models.CharField(max_length=40)
    title = models.CharField(max_length=200, blank=True)
    units = models.CharField(max_length=2)
    created_at = models.DateTimeField(auto_now_add=True)
    # Read out of the document when it is taken in, so that lists of dates need not read documents.
    stressing_age_days = models.FloatField(null=True, editable=False)    # null: nothing is stressed
    stressing_psi = models.FloatField(null=True, editable=False)         # strength that stressing waits for
    restress_days = models.CharField(max_length=400, blank=True, editable=False)  # ages, "28,90"; "" for none

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["stressing_age_days", "restress_days"], name="specification_ages"),
        ]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="specification_units_known", condition=Q(units__in=("us", "si"))),
            models.CheckConstraint(name="specification_hash_form", condition=Q(sha256__startswith="sha256:")),
        ]

    def __str__(self) -> str:
        return f"{self.mark} {self.sha256[7:15]}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("A specification is never edited: a change makes a new one.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise TypeError("A specification is never deleted: releases and records rest on it.")


class JobStatus(models.TextChoices):
    """Where a job's row stands. Only `engineering.actions` and the tasks move it."""

    WAITING = "waiting", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    BROKEN = "broken", "Broken off"


class Verdict(models.TextChoices):
    PASS = "pass", "Pass"
    REVIEW = "review", "Review"
    FAIL = "fail", "Fail"


class CheckRun(models.Model):
    """One run of all checks on one specification by one version of the engine."""

    specification = models.ForeignKey(Specification, models.PROTECT, related_name="check_runs")
    engine_version = models.CharField(max_length=20)
    status = models.CharField(max_length=10, choices=JobStatus, default=JobStatus.WAITING)
    verdict = models.CharField(max_length=10, choices=Verdict, blank=True)
    result = models.JSONField(null=True, blank=True)                 # the result document, whole, or nothing
    problem = models.TextField(blank=True)                           # why it broke off, in words for the page
    attempts = models.PositiveSmallIntegerField(default=0)
    created_at = models.DateTimeField(auto_now_add=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    claim = models.CharField(max_length=36, blank=True)              # whose claim it is; a late worker cannot write
    lease_until = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(
                fields=["specification", "engine_version"], name="one_check_run_per_engine_version"
            ),
            models.CheckConstraint(name="check_run_status_known", condition=Q(status__in=JobStatus.values)),
            models.CheckConstraint(
                name="check_run_done_has_result",
                condition=~Q(status=JobStatus.DONE) | (Q(verdict__in=Verdict.values) & Q(result__isnull=False)),
            ),
        ]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["status", "lease_until"], name="check_run_waiting")
        ]

    def __str__(self) -> str:
        return f"checks of {self.specification} by engine {self.engine_version}: {self.status}"

    @property
    def is_current(self) -> bool:
        """Done, and by the engine that runs now. Whether its specification is the design's newest is jobs' to say."""
        return self.status == JobStatus.DONE and self.engine_version == ENGINE_VERSION


class Study(models.Model):
    """Many variants of one piece: a job like a check run, with progress and a wish to stop."""

    specification = models.ForeignKey(Specification, models.PROTECT, related_name="studies")
    kind = models.CharField(max_length=20)
    settings = models.JSONField(default=dict)
    engine_version = models.CharField(max_length=20)
    status = models.CharField(max_length=10, choices=JobStatus, default=JobStatus.WAITING)
    progress = models.FloatField(default=0)
    stop_wanted = models.BooleanField(default=False)
    result = models.JSONField(null=True, blank=True)
    problem = models.TextField(blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    created_at = models.DateTimeField(auto_now_add=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    claim = models.CharField(max_length=36, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "studies"
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="study_status_known", condition=Q(status__in=JobStatus.values)),
            models.CheckConstraint(name="study_progress_range", condition=Q(progress__gte=0) & Q(progress__lte=1)),
        ]

    def __str__(self) -> str:
        return f"{self.kind} study of {self.specification}: {self.status}"


class StudyPart(models.Model):
    """A share of a study that one worker works for itself: a job like any other. Gone once its study has ended."""

    study = models.ForeignKey(Study, models.CASCADE, related_name="parts")
    number = models.PositiveIntegerField()
    start = models.PositiveIntegerField()
    stop = models.PositiveIntegerField()
    total = models.PositiveIntegerField()  # how much there is to do, in the kind's own measure
    done = models.PositiveIntegerField(default=0)
    status = models.CharField(max_length=10, choices=JobStatus, default=JobStatus.WAITING)
    result = models.JSONField(null=True, blank=True)
    problem = models.TextField(blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    created_at = models.DateTimeField(auto_now_add=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    claim = models.CharField(max_length=36, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["study", "number"], name="one_part_per_number"),
            models.CheckConstraint(name="study_part_status_known", condition=Q(status__in=JobStatus.values)),
        ]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["status", "lease_until"], name="study_part_waiting")
        ]

    def __str__(self) -> str:
        return f"part {self.number} of {self.study}"
