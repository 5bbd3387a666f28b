"""`serve` as a process: it starts on nothing, answers, says how to go on, and stops when told."""

import re
import signal
import socket
import sqlite3
import stat
from pathlib import Path

import pytest

from tests.site.processes import PATIENCE_S, Process, ask, manage, until


def served(folder: Path, *arguments: str, name: str = "log", **environment: str) -> Process:
    return Process(manage("serve", *arguments), log=folder / name, CAMBERBOOK_DATA=str(folder / "data"), **environment)


def port_of(process: Process) -> int:
    found = until(lambda: re.search(r"http://127\.0\.0\.1:(\d+)/\n", process.said()), "printed address", process)
    return int(found[1])


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_it_starts_on_nothing_answers_and_stops(tmp_path: Path, number: int) -> None:
    with served(tmp_path, "--port", "0") as process:
        port = port_of(process)
        until(lambda: ask(port)[0] == 200, "healthy answer", process)
        assert ask(port)[1]["parts"] == {"database": "ok", "queue": "ok", "worker": "ok", "beat": "ok"}
        set_up = re.compile(r"set-up code: ([A-Z0-9]{4}-[A-Z0-9]{4}-[A-Z0-9]{4})\n")
        code = until(lambda: set_up.search(process.said()), "set-up code", process)
        assert (tmp_path / "data" / "setup-code").read_text() == code[1]
        assert ask(port, host="evil.example")[0] == 400
        assert process.stop(number) == 0, process.said()
    assert process.said().rstrip().endswith("Stopped.")
    assert stat.S_IMODE((tmp_path / "data").stat().st_mode) == 0o700
    assert "Traceback" not in process.said()
    with sqlite3.connect(tmp_path / "data" / "camberbook.sqlite3") as database:
        assert database.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_taken_port_is_told_before_anything_is_made(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with served(tmp_path, "--port", str(port)) as process:
            assert process.child.wait(PATIENCE_S) == 1
    assert f"Port {port} is in use" in process.said()
    assert f"--port {port + 1}" in process.said()
    assert "Traceback" not in process.said()
    assert not (tmp_path / "data" / "camberbook.sqlite3").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--port", "70000"], "70000 is not a port; choose one from 1 to 65535"),
        (["--port", "0", "--host", "no.such.host.invalid"], "is not an address of this machine"),
        (["--port", "0", "--certificate", "a.pem"], "--certificate and --key go together"),
    ],
)
def test_what_cannot_be_is_told_plainly(tmp_path: Path, arguments: list[str], said: str) -> None:
    with served(tmp_path, *arguments) as process:
        assert process.child.wait(PATIENCE_S) == 1
    assert said in process.said()
    assert "Traceback" not in process.said()


def test_a_wrong_setting_is_told(tmp_path: Path) -> None:
    with served(tmp_path, DATABASE_URL="mysql://x") as process:
        assert process.child.wait(PATIENCE_S) != 0
    assert "ImproperlyConfigured: DATABASE_URL begins with 'mysql'" in process.said()


def test_killed_outright_it_starts_again(tmp_path: Path) -> None:
    with served(tmp_path, "--port", "0") as first:
        port_of(first)
        first.kill()
    with served(tmp_path, "--port", "0", name="second") as second:
        port = port_of(second)
        until(lambda: ask(port)[0] == 200, "healthy answer", second)


def test_a_second_one_on_the_same_folder_is_refused_and_the_first_goes_on(tmp_path: Path) -> None:
    with served(tmp_path, "--port", "0") as first:
        port = port_of(first)
        with served(tmp_path, "--port", "0", name="second") as second:
            assert second.child.wait(PATIENCE_S) == 1
        assert f"is in use by another process of Camberbook (number {first.child.pid})" in second.said()
        assert "Traceback" not in second.said()
        until(lambda: ask(port)[0] == 200, "healthy answer", first)
