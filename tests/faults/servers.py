"""A PostgreSQL and a Redis of the tests' own, on ports of their own, to be killed without harm to anybody's."""

import glob
import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from pathlib import Path

import psycopg
import redis


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class OwnPostgres:
    """A cluster in a folder of its own. PostgreSQL refuses to run as root, so root lends it to `postgres`."""

    def __init__(self) -> None:
        found = sorted(glob.glob("/usr/lib/postgresql/*/bin/initdb"))
        assert found, "These tests start a PostgreSQL of their own: initdb is not installed (package postgresql)."
        self.bin = Path(found[-1]).parent
        self.folder = Path(tempfile.mkdtemp(prefix="camberbook-faults-"))
        self.as_owner: list[str] = []
        if os.geteuid() == 0:
            owner = pwd.getpwnam("postgres")
            os.chown(self.folder, owner.pw_uid, owner.pw_gid)
            self.as_owner = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"]
        self.port = free_port()
        self.url = f"postgres://shop@127.0.0.1:{self.port}/postgres"
        self._run("initdb", "-D", self.data, "-U", "shop", "--auth=trust", "-E", "UTF8", "--no-sync")

    @property
    def data(self) -> str:
        return str(self.folder / "cluster")

    def _run(self, name: str, *arguments: str) -> None:
        command = [*self.as_owner, str(self.bin / name), *arguments]
        done = subprocess.run(command, cwd="/", stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, timeout=120)
        assert done.returncode == 0, done.stderr.decode()

    def start(self) -> None:
        options = f"-p {self.port} -k {self.folder} -c listen_addresses=127.0.0.1"
        self._run("pg_ctl", "-D", self.data, "-o", options, "-l", str(self.folder / "log"), "-w", "start")

    def crash_and_restart(self) -> None:
        """As after a power cut: no goodbye to anybody, then recovery from the write-ahead log."""
        self._run("pg_ctl", "-D", self.data, "-m", "immediate", "-w", "stop")
        self.start()

    def end(self) -> None:
        try:
            self._run("pg_ctl", "-D", self.data, "-m", "immediate", "-w", "stop")
        finally:
            shutil.rmtree(self.folder, ignore_errors=True)

    def ask(self, query: str, *values: object) -> list[tuple]:
        with psycopg.connect(self.url, autocommit=True) as line:
            cursor = line.execute(query, values)
            return cursor.fetchall() if cursor.description else []


class OwnRedis:
    """A Redis that keeps nothing: killed, it comes back empty."""

    def __init__(self) -> None:
        program = shutil.which("redis-server")
        assert program, "These tests start a Redis of their own: redis-server is not installed."
        self.program, self.port = program, free_port()
        self.folder = Path(tempfile.mkdtemp(prefix="camberbook-faults-"))
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.child: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self.child = subprocess.Popen(
            [self.program, "--bind", "127.0.0.1", "--port", str(self.port), "--save", "", "--appendonly", "no",
             "--dir", str(self.folder)],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )
        give_up = time.monotonic() + 60
        while time.monotonic() < give_up:
            try:
                if self.client().ping():
                    return
            except redis.RedisError:
                time.sleep(0.05)
        raise AssertionError("the tests' own Redis did not start")

    def client(self) -> redis.Redis:
        return redis.Redis.from_url(self.url, socket_timeout=5)

    def kill(self) -> None:
        if self.child is not None:
            self.child.send_signal(signal.SIGKILL)
            self.child.wait(60)

    def end(self) -> None:
        self.kill()
        shutil.rmtree(self.folder, ignore_errors=True)
