"""The work of studies. Each part of a study is a row and a job of its own (`engineering.leases`): a message is only a
nudge, a lost worker's part is worked again, and what lands is the same whoever works it.

The worker that lands the last part joins them. A study waits until then; it is running only while it is joined.
"""

from __future__ import annotations

import logging
import time
from typing import Any

from billiard.exceptions import SoftTimeLimitExceeded
from celery import group, shared_task
from django.db.models import Count, F, Q, QuerySet, Sum
from kombu.exceptions import OperationalError

from engineering import job_log, leases
from engineering.core.version import ENGINE_VERSION
from engineering.models import JobStatus, Study, StudyPart

TELL_EVERY_S = 0.4
STOPPED = "Stopped, as was wished."
TOO_LONG = "A part of this study took too long and was stopped. Make the study smaller."
LOST = (
    f"The worker stopped {leases.ATTEMPTS} times before this study was finished. Start it again; if that happens once "
    f"more, tell whoever looks after the site."
)
log = logging.getLogger(__name__)


class Stopped(Exception):
    """The study is to stop, or has ended already."""


@shared_task(name="engineering.tasks.perform_study_part", acks_late=True)
def perform_study_part(part_id: int) -> None:
    """Work one part once and land its result; with the last one, join them all."""
    token = leases.take(StudyPart.objects.filter(pk=part_id, study__engine_version=ENGINE_VERSION))
    if token is None:
        return
    part = StudyPart.objects.select_related("study__specification").get(pk=part_id, claim=token)
    with job_log.working_on(part):
        _perform(part)


def _perform(part: StudyPart) -> None:
    try:
        with leases.held(part):
            result = _worked(part)
        landed = leases.land(part, status=JobStatus.DONE, result=result, done=part.total)
    except Stopped:
        landed = leases.land(part, status=JobStatus.BROKEN, problem=STOPPED)
    except SoftTimeLimitExceeded:
        landed = leases.land(part, status=JobStatus.BROKEN, problem=TOO_LONG)
    except Exception as exc:
        log.exception("Part %s of study %s broke off.", part.number, part.study_id)
        landed = leases.land(part, status=JobStatus.BROKEN, problem=_reason(exc))
    if landed:
        _tell(part.study_id)
        join_study(part.study_id)


def _worked(part: StudyPart) -> dict[str, Any]:
    from engineering import study_kinds  # the engine with numpy, only in the process that works

    told = [0.0]

    def tick(done: int) -> None:
        if time.monotonic() - told[0] < TELL_EVERY_S:
            return
        told[0] = time.monotonic()
        StudyPart.objects.filter(pk=part.pk, claim=part.claim).update(done=min(done, part.total))
        if not _tell(part.study_id):
            raise Stopped

    study = part.study
    cut = study_kinds.Cut(part.start, part.stop, part.total)
    return study_kinds.KINDS[study.kind].work(study.specification.document, study.settings, cut, tick)


def _tell(study_id: int) -> bool:
    """Write how far the study is. False where it is to stop or has ended."""
    sums = StudyPart.objects.filter(study_id=study_id).aggregate(done=Sum("done"), total=Sum("total"))
    progress = (sums["done"] or 0) / max(sums["total"] or 1, 1)
    going_on = Study.objects.filter(pk=study_id, status=JobStatus.WAITING, stop_wanted=False)
    return bool(going_on.update(progress=min(progress, 1.0)))


@shared_task(name="engineering.tasks.join_study", acks_late=True)
def join_study(study_id: int) -> None:
    """End a study whose parts have all ended, or one of which broke off; otherwise do nothing."""
    parts = StudyPart.objects.filter(study_id=study_id)
    waiting = Study.objects.filter(pk=study_id, engine_version=ENGINE_VERSION)
    broken = parts.filter(status=JobStatus.BROKEN).order_by("number").first()
    if broken is None and parts.exclude(status=JobStatus.DONE).exists():
        return
    token = leases.take(waiting)
    if token is None:
        return
    study = Study.objects.select_related("specification").get(pk=study_id, claim=token)
    with job_log.working_on(study):
        _join(study, broken)
    if not Study.objects.filter(pk=study_id, status__in=(JobStatus.WAITING, JobStatus.RUNNING)).exists():
        parts.exclude(status=JobStatus.RUNNING).delete()


def _join(study: Study, broken: StudyPart | None) -> None:
    try:
        if broken is not None or study.stop_wanted:
            leases.land(study, status=JobStatus.BROKEN, problem=broken.problem if broken else STOPPED)
        else:
            with leases.held(study):
                result = _joined(study)
            leases.land(study, status=JobStatus.DONE, result=result, progress=1.0, problem="")
    except SoftTimeLimitExceeded:
        leases.land(study, status=JobStatus.BROKEN, problem=TOO_LONG)
    except Exception as exc:
        log.exception("Study %s broke off.", study.pk)
        leases.land(study, status=JobStatus.BROKEN, problem=_reason(exc))


def _joined(study: Study) -> dict[str, Any]:
    from engineering import study_kinds  # the engine with numpy, only in the process that works

    results = [result or {} for result in study.parts.order_by("number").values_list("result", flat=True)]
    return study_kinds.KINDS[study.kind].join(study.specification.document, study.settings, results)


def _reason(exc: Exception) -> str:
    words = " ".join(str(exc).split()) or "no further words"
    return f"The engine stopped on this study ({type(exc).__name__}: {words})."[:500]


def send_parts(part_ids: list[int]) -> bool:
    """All parts as one group of messages, so that any number of workers share them; False if the queue is down."""
    try:
        group(perform_study_part.s(part_id) for part_id in part_ids).apply_async()
    except (OperationalError, ConnectionError) as exc:
        log.warning("The queue does not answer (%s). The parts of a study wait and are sent by the sweeper.", exc)
        return False
    return True


@shared_task(name="engineering.tasks.nudge_studies")
def nudge_studies() -> None:
    """The sweeper: put back what dead workers held, send waiting parts again, join what is ready to be joined."""
    leases.put_back_rows(StudyPart.objects.all(), lost=LOST)
    leases.put_back_rows(Study.objects.all(), lost=LOST)
    stranded = Study.objects.filter(status=JobStatus.WAITING).exclude(engine_version=ENGINE_VERSION)
    stranded.update(status=JobStatus.BROKEN, problem=leases.OTHER_ENGINE)
    for study_id in _ready().values_list("pk", flat=True):
        join_study(study_id)
    StudyPart.objects.filter(study__status__in=(JobStatus.DONE, JobStatus.BROKEN)).delete()
    part_ids = leases.waiting_ids(StudyPart.objects.filter(study__status=JobStatus.WAITING))
    if part_ids:
        send_parts(part_ids)


def _ready() -> QuerySet[Study]:
    return (
        Study.objects.filter(status=JobStatus.WAITING)
        .annotate(
            all_parts=Count("parts"),
            done_parts=Count("parts", filter=Q(parts__status=JobStatus.DONE)),
            broken_parts=Count("parts", filter=Q(parts__status=JobStatus.BROKEN)),
        )
        .filter(Q(broken_parts__gt=0) | Q(all_parts=F("done_parts")))
    )
