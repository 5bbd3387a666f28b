"""Full mode with its parts killed under it, on a PostgreSQL and a Redis of the tests' own."""

import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest

from tests.faults.caller import Browser, Tablet
from tests.faults.conftest import Recovered
from tests.faults.inside import PASSWORD
from tests.faults.servers import OwnPostgres, OwnRedis
from tests.faults.shop_day import Day, counter
from tests.faults.sites import IN_FULL_MODE, OwnFull, nothing_lost_nothing_twice
from tests.site.processes import Process, until

pytestmark = [pytest.mark.postgres, pytest.mark.redis]


class Shop:
    """The running site, its people's tablets, and the crew of processes that a test may kill."""

    def __init__(self, site: OwnFull, people: dict) -> None:
        self.site, self.keys, self.wrench = site, people["keys"], people["wrench"]
        self.all_tablets: list[Tablet] = []
        self.seed = 100

    def tablets(self) -> dict[str, Tablet]:
        made = self.site.tablets(self.keys)
        self.all_tablets += made.values()
        return made

    def day(self) -> Day:
        self.seed += 1
        return Day(self.tablets(), self.wrench, self.seed)

    def ask_for_checks(self, count: int) -> None:
        """Many designs at once, so that a run is under way whenever one looks."""
        day = self.day()
        order = day.manager.post("/api/orders/", day.tap(), number=f"M-{self.seed}", client="Many")["id"]
        for _ in range(count):
            day.manager.post("/api/designs/", day.tap(), order=order, document=counter(day.chance), pieces=1)

    def ended(self) -> bool:
        jobs = (self.site.runs, self.site.records, self.site.studies)
        return not any(ask(status) for ask in jobs for status in ("waiting", "running"))

    def reckoned(self, *processes: Process) -> dict[str, Any]:
        """The end of every test: all runs have ended, nothing is lost, nothing is twice, the chain holds."""
        until(self.ended, "end of every run, record and study", *processes)
        book = self.site.inside("reckon")
        nothing_lost_nothing_twice(self.all_tablets, book)
        return book


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    postgres, queue = OwnPostgres(), OwnRedis()
    try:
        postgres.start()
        queue.start()
        site = OwnFull(tmp_path_factory.mktemp("full"), postgres, queue)
        code, said = site.run("migrate", "--no-input")
        assert code == 0, said
        site.start_web()
        site.start_beat()
        try:
            yield Shop(site, site.inside("make_people"))
        finally:
            site.end()
    finally:
        queue.end()
        postgres.end()


def frozen_in(rows: Callable[[str], list[int]], worker: Process) -> int:
    """A row that the worker, stopped in its tracks, holds."""
    give_up = time.monotonic() + 60
    while time.monotonic() < give_up:
        if rows("running"):
            worker.child.send_signal(signal.SIGSTOP)
            for pid in children(worker.child.pid):      # the pool's processes
                os.kill(pid, signal.SIGSTOP)
            time.sleep(0.1)
            if held := rows("running"):
                return held[0]
            for pid in [*children(worker.child.pid), worker.child.pid]:
                os.kill(pid, signal.SIGCONT)
        time.sleep(0.002)
    raise AssertionError("no row was ever seen running")


def children(pid: int) -> list[int]:
    return [int(text) for text in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def test_a_worker_killed_in_the_middle_of_a_check(shop: Shop, recovered: Recovered) -> None:
    shop.ask_for_checks(6)
    with shop.site.start_worker("killed") as worker:
        row = frozen_in(shop.site.runs, worker)
        worker.kill()
    since = time.monotonic()
    assert row in shop.site.runs("running")             # nobody said goodbye
    with shop.site.start_worker("second") as second:
        until(lambda: row in shop.site.runs("done"), "check run taken up by the other worker", second)
        recovered("worker killed in a check, until another has done it", since)
        book = shop.reckoned(second)
    attempts = {run: tries for run, _, _, _, tries in book["runs"]}
    assert attempts[row] == 2


def test_a_worker_killed_in_the_middle_of_a_record(shop: Shop, recovered: Recovered) -> None:
    day = shop.day()
    with shop.site.start_worker("first") as worker:
        revisions = [day.judged(day.ordered(1))]
        browser = Browser(shop.site.port, host=IN_FULL_MODE["host"], **IN_FULL_MODE["headers"])
        browser.sign_in("engineer", PASSWORD)
    for kind in ("design", "form"):
        status, where, page = browser.call("POST", f"/revisions/{revisions[0]}/record/",
                                           {"request_id": str(uuid4()), "kind": kind})
        assert (status, "/records/" in where) == (302, True), page
    assert len(shop.site.records("waiting")) == 2
    with shop.site.start_worker("killed") as worker:
        row = frozen_in(shop.site.records, worker)
        worker.kill()
    since = time.monotonic()
    with shop.site.start_worker("second") as second:
        until(lambda: row in shop.site.records("done"), "record taken up by another worker", second)
        recovered("worker killed in a record, until another has made it", since)
        book = shop.reckoned(second)
    files = {file for *_, file in book["records"]}
    kept = {file.name for file in (Path(shop.site.environment["CAMBERBOOK_DATA"]) / "records").iterdir()}
    assert {name for name in kept if not name.startswith(".")} == files     # no file without a row


def test_a_worker_killed_in_the_middle_of_a_study(shop: Shop, recovered: Recovered) -> None:
    """Its parts are the other worker's within a lease, and the answer is that of a study nobody disturbed."""
    day = shop.day()
    with shop.site.start_worker("first") as worker:
        revision = day.judged(day.ordered(1))
        wanted = {"revision": revision, "kind": "tolerance", "settings": {"samples": 8_000, "seed": 3}}
        quiet = day.engineer.post("/api/studies/", uuid4(), **wanted)["id"]
        until(lambda: quiet in shop.site.studies("done"), "study that nobody disturbs", worker)
    study = day.engineer.post("/api/studies/", uuid4(), **wanted)["id"]
    assert study != quiet
    with shop.site.start_worker("killed") as worker:
        part = frozen_in(shop.site.study_parts, worker)
        worker.kill()
    since = time.monotonic()
    assert part in shop.site.study_parts("running")
    assert study in shop.site.studies("waiting")
    with shop.site.start_worker("second") as second:
        until(lambda: study in shop.site.studies("done"), "study ended by another worker", second)
        recovered("worker killed in a study, until another has ended it", since)
        shop.reckoned(second)
    answers = [day.engineer.ask(f"/api/studies/{number}/")["result"] for number in (quiet, study)]
    assert answers[0] == answers[1]
    assert shop.site.postgres.ask("SELECT count(*) FROM engineering_studypart") == [(0,)]


def test_a_queue_that_is_killed_and_comes_back_empty(shop: Shop, recovered: Recovered) -> None:
    shop.ask_for_checks(4)
    assert shop.site.queue.client().llen("checks") > 0
    shop.site.queue.kill()
    tablet = shop.tablets()["manager"]
    tablet.post("/api/orders/", uuid4(), number="Q-1", client="Written down with no queue")
    shop.site.queue.start()
    since = time.monotonic()
    assert shop.site.queue.client().llen("checks") == 0
    with shop.site.start_worker() as worker:
        shop.reckoned(worker)
        recovered("queue emptied with messages waiting, until all is judged", since)


def test_the_queue_is_killed_under_a_worker_at_work(shop: Shop, recovered: Recovered) -> None:
    with shop.site.start_worker() as worker:
        shop.ask_for_checks(3)
        shop.site.queue.kill()
        shop.ask_for_checks(2)
        shop.site.queue.start()
        since = time.monotonic()
        shop.reckoned(worker)
        recovered("queue killed under a worker, from its start until all is judged", since)


def at_once(days: list[Day]) -> list[threading.Thread]:
    threads = [threading.Thread(target=day.run, kwargs={"pieces": 1}) for day in days]
    for thread in threads:
        thread.start()
    return threads


def all_done(days: list[Day], threads: list[threading.Thread]) -> None:
    for thread in threads:
        thread.join(300)
    assert all(len(day.crew.accepted) >= 8 for day in days), "a day did not come to its end"


def test_a_database_that_crashes_under_load(shop: Shop, recovered: Recovered) -> None:
    with shop.site.start_worker() as worker:
        days = [shop.day() for _ in range(3)]
        threads = at_once(days)
        for _ in range(2):
            time.sleep(2)
            since = time.monotonic()
            shop.site.postgres.crash_and_restart()
            until(lambda: shop.site.ask()[0] == 200, "healthy site after the crash", worker)
            recovered("database crashed under load, until the site is well", since)
        all_done(days, threads)
        shop.reckoned(worker)


def test_web_killed_in_the_middle_of_entries(shop: Shop, recovered: Recovered) -> None:
    with shop.site.start_worker() as worker:
        days = [shop.day() for _ in range(3)]
        threads = at_once(days)
        for _ in range(3):
            time.sleep(1.5)
            since = time.monotonic()
            shop.site.web.kill()
            shop.site.start_web()
            until(lambda: shop.site.ask()[0] == 200, "healthy site after the kill", worker)
            recovered("web killed among entries, until the site is well", since)
        all_done(days, threads)
        shop.reckoned(worker)


def test_web_killed_inside_one_entry(shop: Shop, recovered: Recovered) -> None:
    """Its order is written and the event not yet, when the process dies: nothing is left of it until the tablet sends
    it again, and then it is there once."""
    manager = shop.tablets()["manager"]
    manager.post("/api/orders/", uuid4(), number="W-0", client="Before")
    answers: list[Any] = []
    sending = threading.Thread(target=lambda: answers.append(
        manager.post("/api/orders/", uuid4(), number="W-1", client="Cut off")))
    with psycopg.connect(shop.site.postgres.url) as lock:
        lock.execute("SELECT * FROM jobs_chainhead FOR UPDATE")     # no event can be added while it is held
        sending.start()
        until(shop.site.waits_for_a_lock, "entry that waits in the middle")
        shop.site.web.kill()
        since = time.monotonic()
        lock.rollback()
    until(lambda: not shop.site.waits_for_a_lock(), "end of the dead process's transaction")
    assert shop.site.postgres.ask("SELECT count(*) FROM jobs_order WHERE number = 'W-1'") == [(0,)]
    shop.site.start_web()
    sending.join(150)
    recovered("web killed inside an entry, until the tablet has it written", since)
    assert answers
    assert answers[0]["number"] == "W-1"
    assert shop.site.postgres.ask("SELECT count(*) FROM jobs_order WHERE number = 'W-1'") == [(1,)]
    with shop.site.start_worker() as worker:
        shop.reckoned(worker)


def test_the_same_row_given_to_two_workers_many_times(shop: Shop) -> None:
    shop.ask_for_checks(3)
    rows = shop.site.runs("waiting")
    send = ("from engineering.tasks import perform_check_run as task; "
            f"[task.delay(row) for _ in range(10) for row in {rows}]")
    code, said = shop.site.run("shell", "-v", "0", "-c", send)
    assert code == 0, said
    with shop.site.start_worker("one") as one, shop.site.start_worker("two") as two:
        book = shop.reckoned(one, two)
        until(lambda: shop.site.queue.client().llen("checks") == 0, "empty queue", one, two)
    attempts = {run: tries for run, _, _, _, tries in book["runs"]}
    assert [attempts[row] for row in rows] == [1] * len(rows)


@pytest.mark.faketime
@pytest.mark.parametrize("jump", ["+3600", "-3600"])
def test_a_workers_clock_is_moved_by_an_hour(shop: Shop, tmp_path: Path, jump: str, recovered: Recovered) -> None:
    """The clock of one worker jumps while it works, then it is killed; the next one lives by that clock. Database,
    queue, web and beat stay on theirs. (Beat's own clock: `tests/site/test_heartbeat.py`, since the library that moves
    clocks breaks `time.sleep` in a process whose clock it moves.)
    """
    clock = tmp_path / "clock"
    clock.write_text("+0\n")
    moved = {"LD_PRELOAD": os.environ["LIBFAKETIME"], "FAKETIME_TIMESTAMP_FILE": str(clock), "FAKETIME_NO_CACHE": "1",
             "FAKETIME_DONT_FAKE_MONOTONIC": "1"}
    with shop.site.start_worker("killed", **moved) as worker:
        shop.ask_for_checks(3)
        clock.write_text(jump + "\n")
        worker.kill()
    since = time.monotonic()
    with shop.site.start_worker("second", **moved) as second:
        shop.reckoned(second)
        recovered(f"clock moved by {jump} s and worker killed, until all is judged", since)
