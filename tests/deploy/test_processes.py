"""Full mode as it runs: gunicorn, a Celery worker and beat as processes of their own, on PostgreSQL and Redis."""

import http.client
import os
import signal
import socket
import ssl
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest

from tests.site.processes import Process, ask, manage, until

pytestmark = [pytest.mark.postgres, pytest.mark.redis]
ROOT = Path(__file__).resolve().parents[2]
SITE = "shop.internal"
BIN = Path(sys.executable).parent
HTTPS = {"X-Forwarded-Proto": "https"}      # what the proxy says
WORKER = [str(BIN / "celery"), "-A", "jobs.site", "worker", "--queues", "checks,records,studies,sweeps",
          "--concurrency", "1", "--loglevel", "WARNING",
          "--without-gossip", "--without-mingle", "--hostname", "tested@localhost"]
ACCEPT = """
import json, pathlib
from engineering import actions
document = json.loads(pathlib.Path("jobs/starters/foam-core-counter.json").read_text())
print("run", actions.accept(document).check_runs.get().pk)
"""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Full:
    """A site in full mode with a database of its own."""

    def __init__(self, folder: Path, database_url: str) -> None:
        self.folder, self.port, self.database_url = folder, free_port(), database_url
        self.worker: Process | None = None
        self.environment = {
            "DATABASE_URL": database_url, "REDIS_URL": os.environ.get("REDIS_URL", ""),
            "SECRET_KEY": "of these tests only " * 4,
            "ALLOWED_HOSTS": SITE, "CSRF_TRUSTED_ORIGINS": f"https://{SITE}", "CAMBERBOOK_TLS": "1",
            "CAMBERBOOK_BEHIND_PROXY": "1", "CAMBERBOOK_DATA": str(folder / "data"), "CAMBERBOOK_SWEEP_EVERY_S": "1",
        }

    def start(self, name: str, command: list[str]) -> Process:
        return Process(command, log=self.folder / f"{name}.log", **self.environment)

    def run(self, *arguments: str) -> tuple[int, str]:
        with self.start("command-" + arguments[0], manage(*arguments)) as process:
            code = process.child.wait(120)
        return code, process.said()

    def with_worker(self) -> Process:
        """The worker, started if there is none, and the site well."""
        if self.worker is None:
            self.worker = self.start("worker", WORKER)
            until(lambda: self.ask()[0] == 200, "healthy site", self.worker)
        return self.worker

    def without_worker(self) -> None:
        """No worker, and the site knows it. A worker that is told to stop stops cleanly."""
        if self.worker is not None:
            assert self.worker.stop(signal.SIGTERM) == 0, self.worker.said()
            self.worker = None
        until(lambda: self.ask()[0] == 503, "site that misses its worker")

    def ask(self, path: str = "/health/", **headers: str) -> tuple[int, object]:
        return ask(self.port, path, host=SITE, **headers)

    def parts(self) -> dict[str, str]:
        answer = self.ask()[1]
        assert isinstance(answer, dict)
        return answer["parts"]

    def status_of(self, run: int) -> str:
        with psycopg.connect(self.database_url) as database:
            row = database.execute("SELECT status FROM engineering_checkrun WHERE id = %s", [run]).fetchone()
        return row[0] if row else ""

    def new_run(self) -> int:
        code, said = self.run("shell", "-v", "0", "-c", ACCEPT)
        assert code == 0, said
        return int(said.rsplit("run ", 1)[1])


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Full]:
    server = os.environ["DATABASE_URL"]
    name = f"camberbook_processes_{os.getpid()}"
    with psycopg.connect(server, autocommit=True) as admin:
        admin.execute(f"CREATE DATABASE {name}")
        try:
            site = Full(tmp_path_factory.mktemp("full"), urlsplit(server)._replace(path="/" + name).geturl())
            code, said = site.run("migrate", "--no-input")
            assert code == 0, said
            gunicorn = [str(BIN / "gunicorn"), "--config", "python:jobs.site.gunicorn",
                        "--bind", f"127.0.0.1:{site.port}", "jobs.site.wsgi:application"]
            beat = [str(BIN / "celery"), "-A", "jobs.site", "beat", "--loglevel", "WARNING", "--pidfile", ""]
            with site.start("web", gunicorn) as web, site.start("beat", beat) as beating:
                until(lambda: site.ask()[0], "answer from gunicorn", web)
                until(lambda: site.parts()["beat"] == "ok", "beat", beating)
                yield site
                site.without_worker()
        finally:
            admin.execute(f"DROP DATABASE {name} WITH (FORCE)")


def test_what_waits_without_a_worker_is_done_when_one_comes(full: Full) -> None:
    full.without_worker()
    assert full.parts()["worker"] == "none answers"
    assert full.run("healthcheck", "worker", "--name", "tested@localhost")[0] == 1
    run = full.new_run()
    assert full.status_of(run) == "waiting"
    until(lambda: full.status_of(run) == "done", "finished check run", full.with_worker())


def test_every_part_is_well_and_says_so(full: Full) -> None:
    full.with_worker()
    assert full.ask()[1] == {"status": "ok", "parts": dict.fromkeys(("database", "queue", "worker", "beat"), "ok")}
    for part in (["web", "--port", str(full.port)], ["worker", "--name", "tested@localhost"], ["beat"]):
        code, said = full.run("healthcheck", *part)
        assert code == 0, said


def test_a_lost_message_is_sent_again(full: Full) -> None:
    """The row alone counts: here it waits with no message at all, as after a restart of the queue."""
    worker = full.with_worker()
    run = full.new_run()
    until(lambda: full.status_of(run) == "done", "finished check run", worker)
    with psycopg.connect(full.database_url, autocommit=True) as database:
        database.execute("UPDATE engineering_checkrun SET status = 'waiting', result = NULL, verdict = '', "
                         "attempts = 0, finished_at = NULL WHERE id = %s", [run])
    until(lambda: full.status_of(run) == "done", "check run done again", worker)


def test_a_killed_worker_is_missed_and_replaced(full: Full) -> None:
    full.with_worker().kill()
    full.worker = None
    until(lambda: full.ask()[0] == 503, "site that misses its worker")
    run = full.new_run()
    until(lambda: full.status_of(run) == "done", "finished check run", full.with_worker())


def test_plain_http_is_sent_to_https_and_https_is_kept(full: Full) -> None:
    assert full.ask("/")[0] == 301
    assert full.ask("/", **HTTPS)[0] in (200, 302)
    assert ask(full.port, "/", host="evil.example", **HTTPS)[0] == 400


def test_a_redis_that_is_gone_stops_no_page(full: Full, tmp_path: Path) -> None:
    """A specification is taken in with nobody at the queue; the sweeper brings its check run to the worker."""
    environment = {**full.environment, "REDIS_URL": f"redis://127.0.0.1:{free_port()}/0"}
    with Process(manage("shell", "-v", "0", "-c", ACCEPT), log=tmp_path / "log", **environment) as process:
        assert process.child.wait(120) == 0, process.said()
    assert "waits in the database and is sent again by the sweeper" in process.said()
    run = int(process.said().rsplit("run ", 1)[1].split()[0])
    until(lambda: full.status_of(run) == "done", "check run done by the sweeper's message", full.with_worker())


def through(proxy_port: int, root: Path, path: str, **headers: str) -> http.client.HTTPResponse:
    """The answer to a GET over TLS to the site's name, trusting the proxy's own authority and nobody else."""
    context = ssl.create_default_context(cafile=str(root))
    with (socket.create_connection(("127.0.0.1", proxy_port), 20) as plain,
          context.wrap_socket(plain, server_hostname=SITE) as line):
        call = http.client.HTTPConnection(SITE)
        call.sock = line
        call.request("GET", path, headers=headers)
        answer = call.getresponse()
        answer.read()
        return answer


@pytest.mark.proxy
def test_the_proxy_ends_tls_and_says_so_whatever_the_visitor_claims(full: Full, tmp_path: Path) -> None:
    port, plain_port = free_port(), free_port()
    environment = {
        "SITE_NAME": SITE, "CERTIFICATES": "internal", "LISTEN_HTTPS": str(port), "LISTEN_HTTP": str(plain_port),
        "UPSTREAM": f"127.0.0.1:{full.port}", "XDG_DATA_HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path),
    }
    root = tmp_path / "caddy" / "pki" / "authorities" / "local" / "root.crt"
    command = [os.environ["CADDY"], "run", "--config", str(ROOT / ".deploy" / "Caddyfile"), "--adapter", "caddyfile"]

    def answers() -> bool:
        try:
            return root.exists() and through(port, root, "/").status in (200, 302)
        except OSError:
            return False

    with Process(command, log=tmp_path / "log", **environment) as proxy:
        until(answers, "answer over TLS", proxy)
        page = through(port, root, "/", **{"X-Forwarded-Proto": "http", "X-Forwarded-For": "8.8.8.8"})
        assert page.status in (200, 302)                    # not sent round to https again
        assert page.getheader("Strict-Transport-Security") == "max-age=31536000"
        assert page.getheader("Server") is None
        assert through(port, root, "/health/").status == 404
        status, _ = ask(plain_port, "/", host=SITE)
        assert status in (301, 308)
