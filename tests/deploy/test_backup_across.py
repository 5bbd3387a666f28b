"""A shop moves from one PC to full mode and back, by backup and restore, as processes."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest

from tests.faults.sites import inside, verified
from tests.site.processes import Process, manage

pytestmark = pytest.mark.postgres
KEY = "the key of this test's backups"


@pytest.fixture
def empty_database() -> Iterator[str]:
    server, name = os.environ["DATABASE_URL"], f"camberbook_backup_{os.getpid()}"
    with psycopg.connect(server, autocommit=True) as admin:
        admin.execute(f"CREATE DATABASE {name}")
        try:
            yield urlsplit(server)._replace(path="/" + name).geturl()
        finally:
            admin.execute(f"DROP DATABASE {name} WITH (FORCE)")


def run(folder: Path, environment: dict[str, str], *arguments: str) -> str:
    log = folder / f"{arguments[0]}-{os.urandom(3).hex()}.log"
    with Process(manage(*arguments), log=log, **environment) as process:
        assert process.child.wait(240) == 0, process.said()
    return process.said()


def test_from_one_pc_to_full_mode_and_back(tmp_path: Path, empty_database: str) -> None:
    def place(name: str, **more: str) -> dict[str, str]:
        return {"CAMBERBOOK_DATA": str(tmp_path / name), "CAMBERBOOK_BACKUP_KEY": KEY, **more}

    one_pc, full, back = place("pc"), place("full", DATABASE_URL=empty_database), place("back")
    run(tmp_path, one_pc, "migrate", "--no-input")
    run(tmp_path, one_pc, "shell", "-v", "0", "-c", "from jobs import demo; demo.load()")
    records = tmp_path / "pc" / "records"
    records.mkdir(exist_ok=True)
    (records / "kept.pdf").write_bytes(b"%PDF of this test")
    before: Any = inside(tmp_path, "reckon", one_pc)
    assert len(before["orders"]) > 1
    run(tmp_path, one_pc, "backup", str(tmp_path / "first"))
    run(tmp_path, full, "restore", str(tmp_path / "first"))
    assert inside(tmp_path, "reckon", full) == before
    verified(tmp_path, full)
    run(tmp_path, full, "backup", str(tmp_path / "second"))
    run(tmp_path, back, "restore", str(tmp_path / "second"))
    assert inside(tmp_path, "reckon", back) == before
    verified(tmp_path, back)
    assert (tmp_path / "back" / "records" / "kept.pdf").read_bytes() == b"%PDF of this test"
    for file in ("first", "second"):
        assert b"Camber" not in (tmp_path / file).read_bytes()[30:]
