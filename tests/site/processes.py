"""Starting our own commands as real processes, and asking them over HTTP."""

import http.client
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
OURS = (
    "CAMBERBOOK",
    "DATABASE_URL",
    "REDIS_URL",
    "SECRET_KEY",
    "ALLOWED_HOSTS",
    "CSRF_TRUSTED",
    "DJANGO_",
    "DEBUG",
)
PATIENCE_S = 150  # how long until something that never comes counts as a failure; a slow machine is not one


class Process:
    """A child in its own group, its output in a file, ended when the `with` block ends."""

    def __init__(self, command: list[str], *, log: Path, **environment: str) -> None:
        kept = {name: value for name, value in os.environ.items() if not name.startswith(OURS)}
        self.log = log
        with log.open("ab") as out:
            self.child = subprocess.Popen(
                command,
                cwd=ROOT,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=out,
                start_new_session=True,
                env={**kept, "PYTHONUNBUFFERED": "1", "CAMBERBOOK_SETUP": "0", **environment},
            )

    def said(self) -> str:
        return self.log.read_text(errors="replace")

    def stop(self, number: int = signal.SIGTERM) -> int:
        if self.child.poll() is None:
            self.child.send_signal(number)
        return self.child.wait(PATIENCE_S)

    def kill(self) -> None:
        if self.child.poll() is None:
            os.killpg(self.child.pid, signal.SIGKILL)
        self.child.wait(PATIENCE_S)

    def __enter__(self) -> "Process":
        return self

    def __exit__(self, *exc: object) -> None:
        try:
            self.stop()
        except subprocess.TimeoutExpired:
            self.kill()


def manage(*arguments: str) -> list[str]:
    return [sys.executable, "manage.py", *arguments]


def until(look: Callable[[], Any], what: str, *processes: Process) -> Any:
    """What `look` gives, once it gives something; fails, showing the output, if that takes too long or one ends."""
    give_up = time.monotonic() + PATIENCE_S
    while time.monotonic() < give_up:
        if found := look():
            return found
        if any(process.child.poll() is not None for process in processes):
            break
        time.sleep(0.1)
    raise AssertionError(f"no {what}:\n" + "\n----\n".join(process.said() for process in processes))


def ask(port: int, path: str = "/health/", *, host: str = "localhost", **headers: str) -> tuple[int, Any]:
    """Status and body (JSON taken apart) of a GET; (0, None) when nobody answers."""
    call = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        call.request("GET", path, headers={"Host": host, **headers})
        answer = call.getresponse()
        body = answer.read()
        return answer.status, json.loads(body) if "json" in answer.getheader("Content-Type", "") else body
    except OSError:
        return 0, None
    finally:
        call.close()
