"""The queue may be down: what was saved stays saved, and the page goes on."""

import logging

import pytest
from django.db import transaction
from kombu.exceptions import OperationalError

from engineering.tasks import perform_check_run
from jobs.site.celery import app
from jobs.site.nudge import NudgeTask


def refuse(*args: object, **kwargs: object) -> None:
    raise OperationalError("Error 111 connecting to queue:6379")


def test_every_task_is_of_the_forgiving_kind() -> None:
    app.loader.import_default_modules()
    ours = [task for name, task in app.tasks.items() if not name.startswith("celery.")]
    assert ours
    assert all(isinstance(task, NudgeTask) for task in ours)


@pytest.mark.django_db(transaction=True)
def test_a_commit_stands_when_the_queue_is_down(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(perform_check_run._get_current_object(), "delay", refuse)
    with caplog.at_level(logging.WARNING), transaction.atomic():
        perform_check_run.delay_on_commit(7)
        assert not caplog.records  # nothing is sent before the commit
    assert "engineering.tasks.perform_check_run(7,) waits in the database" in caplog.text


def test_a_nudge_says_whether_it_was_sent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(perform_check_run._get_current_object(), "delay", refuse)
    assert perform_check_run.nudge(7) is False
    monkeypatch.setattr(perform_check_run._get_current_object(), "delay", lambda *args: None)
    assert perform_check_run.nudge(7) is True


def test_publishing_is_not_tried_again_while_a_page_waits() -> None:
    assert app.conf.task_publish_retry is False


def test_the_sweepers_are_tasks_that_exist() -> None:
    app.loader.import_default_modules()
    for entry in app.conf.beat_schedule.values():
        assert entry["task"] in app.tasks


def test_every_task_goes_to_a_queue_that_the_worker_takes_from(settings) -> None:
    app.loader.import_default_modules()
    for name in [name for name in app.tasks if not name.startswith("celery.")]:
        queue = app.amqp.router.route({}, name)["queue"].name
        assert queue in settings.QUEUES, name
