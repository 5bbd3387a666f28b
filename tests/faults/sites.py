"""The two ways to run the site, as processes that can be killed, and the reckoning after it."""

import json
import os
import sys
from pathlib import Path
from typing import Any

from tests.deploy.test_processes import HTTPS, SITE, WORKER, Full
from tests.faults.caller import Tablet
from tests.faults.servers import OwnPostgres, OwnRedis, free_port
from tests.site.processes import Process, ask, manage, until

BIN = Path(sys.executable).parent
IN_FULL_MODE = {"host": SITE, "headers": HTTPS}


def inside(folder: Path, what: str, environment: dict[str, str]) -> Any:
    """What a function of `tests.faults.inside` prints in a process of the site's own."""
    log = folder / f"inside-{what}-{os.urandom(3).hex()}.log"
    command = manage("shell", "-v", "0", "-c", f"from tests.faults import inside; inside.{what}()")
    with Process(command, log=log, **environment) as process:
        assert process.child.wait(150) == 0, process.said()
    return json.loads([line for line in process.said().splitlines() if line.startswith("{")][-1])


def verified(folder: Path, environment: dict[str, str]) -> None:
    with Process(manage("verify_events"), log=folder / f"verify-{os.urandom(3).hex()}.log", **environment) as process:
        assert process.child.wait(150) == 0, process.said()


def nothing_lost_nothing_twice(tablets: list[Tablet], book: dict[str, Any]) -> None:
    """Every entry that was answered with "written down" is there, once; no run, record or study is without an end."""
    sent = [tap for tablet in tablets for tap in tablet.accepted]
    assert sent
    assert book["faults"] == []
    assert {tap: book["taps"].get(tap, 0) for tap in sent} == dict.fromkeys(sent, 1)
    assert len(set(book["orders"])) == len(book["orders"])
    for _, status, verdict, problem, _ in book["runs"]:
        assert (status == "done" and verdict) or (status == "broken" and problem), book["runs"]
    for _, status, problem, _, file in book["records"]:
        assert (status == "done" and file) or (status == "broken" and problem), book["records"]
    for _, status, problem, whole in book["studies"]:
        assert (status == "done" and whole) or (status == "broken" and problem), book["studies"]


class Embedded:
    """`serve` on a folder and a port that stay the same from start to start."""

    def __init__(self, folder: Path, data: Path | None = None) -> None:
        self.folder, self.port, self.starts = folder, free_port(), 0
        self.data = data or folder / "data"
        self.environment = {"CAMBERBOOK_DATA": str(self.data), "CAMBERBOOK_SWEEP_EVERY_S": "1"}
        self.process: Process | None = None

    def start(self) -> None:
        self.starts += 1
        command = manage("serve", "--port", str(self.port))
        self.process = Process(command, log=self.folder / f"serve-{self.starts}.log", **self.environment)

    def well(self) -> None:
        until(lambda: ask(self.port)[0] == 200, "healthy site", *([self.process] if self.process else []))

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()

    def inside(self, what: str) -> Any:
        return inside(self.folder, what, self.environment)

    def tablets(self, keys: dict[str, str]) -> dict[str, Tablet]:
        return {role: Tablet(self.port, key) for role, key in keys.items()}


class OwnFull(Full):
    """Full mode on servers of its own; every part can be started, killed and started again."""

    def __init__(self, folder: Path, postgres: OwnPostgres, queue: OwnRedis) -> None:
        super().__init__(folder, postgres.url)
        self.postgres, self.queue = postgres, queue
        self.environment |= {"REDIS_URL": queue.url, "WEB_CONCURRENCY": "2"}
        self.web = self.beat = None

    def start_web(self, **environment: str) -> None:
        command = [str(BIN / "gunicorn"), "--config", "python:jobs.site.gunicorn", "--bind", f"127.0.0.1:{self.port}",
                   "--no-control-socket", "jobs.site.wsgi:application"]
        self.web = Process(command, log=self.folder / "web.log", **{**self.environment, **environment})
        until(lambda: self.ask()[0], "answer from gunicorn", self.web)

    def start_beat(self, **environment: str) -> None:
        command = [str(BIN / "celery"), "-A", "jobs.site", "beat", "--loglevel", "WARNING", "--pidfile", ""]
        self.beat = Process(command, log=self.folder / "beat.log", **{**self.environment, **environment})

    def start_worker(self, name: str = "worker", **environment: str) -> Process:
        command = [*WORKER[:-1], f"{name}@localhost"]
        return Process(command, log=self.folder / f"{name}.log", **{**self.environment, **environment})

    def end(self) -> None:
        for process in (self.web, self.beat):
            if process is not None:
                process.kill()

    def inside(self, what: str) -> Any:
        return inside(self.folder, what, self.environment)

    def tablets(self, keys: dict[str, str]) -> dict[str, Tablet]:
        return {role: Tablet(self.port, key, **IN_FULL_MODE) for role, key in keys.items()}

    def runs(self, status: str) -> list[int]:
        return self._rows("engineering_checkrun", status)

    def records(self, status: str) -> list[int]:
        return self._rows("reports_issuedrecord", status)

    def studies(self, status: str) -> list[int]:
        return self._rows("engineering_study", status)

    def study_parts(self, status: str) -> list[int]:
        return self._rows("engineering_studypart", status)

    def _rows(self, table: str, status: str) -> list[int]:
        return [row[0] for row in self.postgres.ask(f"SELECT id FROM {table} WHERE status = %s ORDER BY id", status)]

    def waits_for_a_lock(self) -> bool:
        """Somebody's statement stands still for a row or transaction of another's."""
        return bool(self.postgres.ask("SELECT 1 FROM pg_stat_activity WHERE wait_event_type = 'Lock'"))
