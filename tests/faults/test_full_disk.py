"""A disk that is full: nothing half written, words instead of an error page, and on it goes once there is room."""

import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest

from tests.faults.caller import Browser
from tests.faults.conftest import Recovered
from tests.faults.inside import PASSWORD
from tests.faults.shop_day import Day
from tests.faults.sites import Embedded, nothing_lost_nothing_twice, verified
from tests.site.processes import until

pytestmark = pytest.mark.mount
SIZE_MB = 12


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "disk"
    folder.mkdir()
    options = f"size={SIZE_MB}m,mode=0700"
    subprocess.run(["mount", "-t", "tmpfs", "-o", options, "camberbook-test", str(folder)], check=True)
    yield folder
    subprocess.run(["umount", "--lazy", str(folder)], check=True)


def fill(disk: Path) -> Path:
    """To the last byte."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as out:
        for size in (65536, 4096, 512, 1):
            try:
                while True:
                    out.write(b"x" * size)
            except OSError:
                continue
    return filler


def newest_record(site: Embedded) -> str:
    records = site.inside("reckon")["records"]
    return records[-1][1] if records else ""


def test_a_disk_that_fills_up_while_a_record_is_written(
    tmp_path: Path, small_disk: Path, recovered: Recovered
) -> None:
    site = Embedded(tmp_path, small_disk)
    site.start()
    try:
        site.well()
        shop = site.inside("make_people")
        tablets = site.tablets(shop["keys"])
        day = Day(tablets, shop["wrench"], 7)
        revision = day.judged(day.ordered(1))
        browser = Browser(site.port)
        browser.sign_in("engineer", PASSWORD)
        ask = {"request_id": str(uuid4()), "kind": "design"}
        filler = fill(small_disk)
        status, _ = tablets["manager"].once("POST", "/api/orders/", {
            "number": "FULL-1", "client": "No room", "request_id": str(uuid4())})
        browser_status = browser.call("POST", f"/revisions/{revision}/record/", ask)[0]
        print(f"on a full disk an order is answered {status}, a record {browser_status}")
        records = small_disk / "records"
        assert not records.exists() or list(records.glob("*.pdf")) == []
        filler.unlink()
        since = time.monotonic()
        until(lambda: browser.call("POST", f"/revisions/{revision}/record/", ask)[0] == 302, "record asked for")
        until(lambda: newest_record(site) in ("done", "broken"), "end of the record", site.process)
        again = {"request_id": str(uuid4()), "kind": "design"}
        browser.call("POST", f"/revisions/{revision}/record/", again)
        until(lambda: newest_record(site) == "done", "record once there is room", site.process)
        recovered("disk full, from room again until the record is written", since)
        day.manager.post("/api/orders/", uuid4(), number="FULL-2", client="Room again")
        book = site.inside("reckon")
        nothing_lost_nothing_twice(list(tablets.values()), book)
        assert ("FULL-1" in book["orders"]) == (status == 201)
        files = {file for *_, file in book["records"] if file}
        assert {file.name for file in records.iterdir()} == files
        verified(tmp_path, site.environment)
        assert site.process.stop() == 0
    finally:
        site.kill()


def test_a_record_that_finds_no_room_says_so(
    tmp_path: Path, small_disk: Path, recovered: Recovered
) -> None:
    """Only the folder of the records is full: the row is broken with the reason, and no part of a file stays."""
    site = Embedded(tmp_path)
    records = site.data / "records"
    site.data.mkdir(mode=0o700)
    records.symlink_to(small_disk)
    site.start()
    try:
        site.well()
        shop = site.inside("make_people")
        day = Day(site.tablets(shop["keys"]), shop["wrench"], 8)
        revision = day.judged(day.ordered(1))
        browser = Browser(site.port)
        browser.sign_in("engineer", PASSWORD)
        filler = fill(small_disk)
        ask = {"request_id": str(uuid4()), "kind": "design"}
        assert browser.call("POST", f"/revisions/{revision}/record/", ask)[0] == 302
        until(lambda: newest_record(site) == "broken", "word of the full disk", site.process)
        (_, _, problem, _, file), = site.inside("reckon")["records"]
        assert "No space left on device" in problem
        assert not file
        assert [path.name for path in small_disk.iterdir()] == [filler.name]
        filler.unlink()
        since = time.monotonic()
        browser.call("POST", f"/revisions/{revision}/record/", {**ask, "request_id": str(uuid4())})
        until(lambda: newest_record(site) == "done", "record once there is room", site.process)
        recovered("records folder full, from room again until the record is written", since)
    finally:
        site.kill()
