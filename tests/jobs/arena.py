"""Where people meet at once, for real: threads on a database that both can write to.

With DATABASE_URL that is PostgreSQL. Otherwise it is an SQLite file with the settings that `serve` uses (the tests' own
SQLite is in memory, where threads meet table locks that no shop ever sees).
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection, connections

from jobs.errors import ShopError


def in_thread(act: Callable[[], Any]) -> Any:
    """The act's answer, or the exception it raised, from a thread with a connection of its own."""
    box: list[Any] = []

    def run() -> None:
        try:
            box.append(act())
        except Exception as exc:
            box.append(exc)
        finally:
            connections.close_all()

    thread = threading.Thread(target=run)
    thread.start()
    thread.join(120)
    assert box, "the thread did not come back"
    return box[0]


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """All acts in threads that start together; answers and exceptions in the order of the acts."""
    start_line, answers = threading.Barrier(len(acts)), [None] * len(acts)

    def run(n: int) -> None:
        try:
            connection.ensure_connection()
            start_line.wait(30)
            answers[n] = acts[n]()
        except Exception as exc:
            answers[n] = exc
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(n,)) for n in range(len(acts))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)
    return answers


@pytest.fixture(scope="module")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file with the schema and nothing else, to be copied."""
    settings = connections.settings["default"]
    name, made = settings["NAME"], tmp_path_factory.mktemp("races") / "empty.sqlite3"
    settings["NAME"] = str(made)
    try:
        prepared = in_thread(lambda: call_command("migrate", verbosity=0, interactive=False))
    finally:
        settings["NAME"] = name
    assert not isinstance(prepared, Exception), prepared
    return made


@pytest.fixture
def arena(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Callable[[Callable[[], Any]], None]]:
    """Runs a test's body in a thread: on SQLite against a file of its own."""
    settings = connections.settings["default"]
    name = settings["NAME"]
    if connection.vendor == "sqlite":
        settings["NAME"] = shutil.copy(request.getfixturevalue("empty_file"), tmp_path / "race.sqlite3")

    def run(body: Callable[[], Any], rounds: int = 1) -> None:
        for _ in range(rounds):
            outcome = in_thread(body)
            if isinstance(outcome, BaseException):
                raise outcome

    yield run
    settings["NAME"] = name


def sorted_out(answers: list[Any]) -> tuple[list[Any], list[ShopError]]:
    """(answers, refusals); anything else that was raised is a failure of the test."""
    strange = [answer for answer in answers if isinstance(answer, BaseException) and not isinstance(answer, ShopError)]
    assert strange == []
    return (
        [answer for answer in answers if not isinstance(answer, ShopError)],
        [answer for answer in answers if isinstance(answer, ShopError)],
    )
