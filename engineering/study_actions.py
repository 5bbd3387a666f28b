"""Writes about studies: one is started with its parts, one is wished to stop."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils import timezone

from engineering.core.version import ENGINE_VERSION
from engineering.models import JobStatus, Specification, Study, StudyPart
from engineering.study_tasks import STOPPED, join_study, send_parts

UNDER_WAY = (JobStatus.WAITING, JobStatus.RUNNING)


class StudyRefused(ValueError):
    """The study cannot be made; the message says why, in words for the page."""


def start_study(specification: Specification, kind: str, asked: dict[str, Any] | None = None) -> Study:
    """A study with parts that wait; the one that is under way already where the same was asked. StudyRefused."""
    from engineering import study_kinds  # the engine with numpy: only where a study is asked for

    if kind not in study_kinds.KINDS:
        raise StudyRefused(f"There is no study called {kind}.")
    try:
        settings = study_kinds.KINDS[kind].settings_of(specification.document, asked or {})
        cuts = study_kinds.KINDS[kind].cut(specification.document, settings)
    except (ValueError, TypeError, KeyError) as refusal:
        raise StudyRefused(f"{refusal}") from refusal
    with transaction.atomic():
        rows = Study.objects.filter(specification=specification, kind=kind, engine_version=ENGINE_VERSION)
        for row in rows.filter(status__in=UNDER_WAY, stop_wanted=False):
            if row.settings == settings:
                return row
        study = Study.objects.create(
            specification=specification, kind=kind, settings=settings, engine_version=ENGINE_VERSION
        )
        parts = StudyPart.objects.bulk_create(
            StudyPart(study=study, number=k, start=cut.start, stop=cut.stop, total=cut.total)
            for k, cut in enumerate(cuts)
        )
        transaction.on_commit(lambda: send_parts([part.pk for part in parts]))
    return study


def stop_study(study: Study) -> None:
    """Wish it to stop: parts that wait end at once, those that run within about a second."""
    Study.objects.filter(pk=study.pk, status__in=UNDER_WAY).update(stop_wanted=True)
    waiting = StudyPart.objects.filter(study=study, status=JobStatus.WAITING)
    waiting.update(status=JobStatus.BROKEN, problem=STOPPED, finished_at=timezone.now())
    join_study(study.pk)


def latest_study(specification: Specification, kind: str) -> Study | None:
    return Study.objects.filter(specification=specification, kind=kind).order_by("-pk").first()
