"""/health/ says which part is down, to anyone, without saying why."""

import pytest
import redis
from django.db import OperationalError, connection
from django.test import Client

from jobs.site import embedded, health, heartbeat


@pytest.fixture
def _in_memory(settings, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.REDIS_URL = ""
    monkeypatch.setattr(health, "in_memory", lambda: True)
    monkeypatch.setattr(embedded, "running", lambda: True)
    heartbeat.mark()


@pytest.mark.django_db
@pytest.mark.usefixtures("_in_memory")
def test_all_is_well(client: Client) -> None:
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()["status"]) == (200, "ok")
    assert answer.json()["parts"] == {"database": "ok", "queue": "ok", "worker": "ok", "beat": "ok"}
    assert "no-store" in answer["Cache-Control"]


@pytest.mark.django_db
@pytest.mark.usefixtures("_in_memory")
def test_a_stopped_worker_is_named(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(embedded, "running", lambda: False)
    answer = client.get("/health/")
    assert answer.status_code == 503
    assert answer.json()["parts"]["worker"] == "stopped"
    assert answer.json()["parts"]["database"] == "ok"


@pytest.mark.usefixtures("_in_memory")
def test_a_database_that_does_not_answer_is_named_and_its_words_are_not(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse() -> None:
        raise OperationalError("password of camberbook@10.1.2.3 is wrong")

    monkeypatch.setattr(connection, "cursor", refuse)
    answer = client.get("/health/")
    assert answer.status_code == 503
    assert answer.json()["parts"]["database"] == "does not answer"
    assert b"10.1.2.3" not in answer.content


@pytest.mark.django_db
def test_a_queue_that_does_not_answer_is_asked_once(client: Client, settings, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    monkeypatch.setattr(health, "in_memory", lambda: False)
    with pytest.raises(redis.ConnectionError, match=r"127\.0\.0\.1:1"):
        heartbeat.client().ping()
    parts = client.get("/health/").json()["parts"]
    assert parts["queue"] == "does not answer"
    assert parts["worker"] == parts["beat"] == "unknown: it is asked through the queue"


def test_only_reading_is_allowed(client: Client) -> None:
    assert client.post("/health/").status_code == 405
