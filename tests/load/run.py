"""A shop day from many clients at once, in full mode on servers of its own, on this machine alone.

    python -m tests.load.run --tablets 100 --office 20 --seconds 120
    python -m tests.load.run --tablets 10 --office 2 --seconds 60      # a small shop's minute

Each tablet writes down a reading every five seconds, each office user opens a page every three. Prints calls, errors,
median and 95th percentile; then how long a changed specification waits for its verdict, against the bare round trip of
a message on the same queue. Exit status 1 if any call failed or an accepted entry is not in the book.
"""

import argparse
import asyncio
import json
import os
import random
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any
from uuid import uuid4

from tests.faults.servers import OwnPostgres, OwnRedis
from tests.faults.sites import HTTPS, SITE, OwnFull, verified
from tests.load.floor import counter_document
from tests.site.processes import until

ENTRY_EVERY_S, PAGE_EVERY_S = 5.0, 3.0
MOST_TABLETS, MOST_OFFICE, MOST_SECONDS = 500, 100, 900
PAGES = ("/board/", "/orders/", "/pieces/{piece}/", "/designs/{design}/", "/api/pieces/", "/api/events/")


class Times:
    """What one kind of call took, and what went wrong."""

    def __init__(self) -> None:
        self.took_s: list[float] = []
        self.wrong: list[str] = []

    def line(self, name: str) -> str:
        if len(self.took_s) < 2:
            return f"{name:28} {len(self.took_s):6} calls, {len(self.wrong)} errors"
        cuts = statistics.quantiles(self.took_s, n=20)
        return (f"{name:28} {len(self.took_s):6} calls, {len(self.wrong)} errors, median {cuts[9] * 1000:6.0f} ms, "
                f"p95 {cuts[18] * 1000:6.0f} ms, worst {max(self.took_s) * 1000:6.0f} ms")


async def call(port: int, method: str, path: str, headers: dict[str, str], sent: Any = None) -> int:
    """One call on a line of its own; its status, 0 where the line broke."""
    body = b"" if sent is None else json.dumps(sent).encode()
    lines = {"Host": SITE, "Connection": "close", "Content-Length": str(len(body)),
             "Content-Type": "application/json", **HTTPS, **headers}
    head = f"{method} {path} HTTP/1.1\r\n" + "".join(f"{name}: {value}\r\n" for name, value in lines.items()) + "\r\n"
    try:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        try:
            writer.write(head.encode() + body)
            answer = await asyncio.wait_for(reader.read(), 60)
        finally:
            writer.close()
        return int(answer[9:12])
    except (OSError, ValueError, TimeoutError):
        return 0


async def timed(times: Times, port: int, method: str, path: str, headers: dict[str, str], sent: Any = None) -> bool:
    since = time.perf_counter()
    status = await call(port, method, path, headers, sent)
    times.took_s.append(time.perf_counter() - since)
    if status not in (200, 201):
        times.wrong.append(f"{method} {path}: {status}")
    return status in (200, 201)


async def tablet(port: int, key: str, place: dict[str, Any], end: float, times: Times, book: list[str]) -> None:
    headers = {"Authorization": f"Token {key}"}
    await asyncio.sleep(random.uniform(0, ENTRY_EVERY_S))
    while time.monotonic() < end:
        since, tap = time.monotonic(), str(uuid4())
        if await timed(times, port, "POST", f"/api/stressings/{place['stressing']}/readings/", headers,
                       {**place["reading"], "request_id": tap}):
            book.append(tap)
        await asyncio.sleep(max(0.0, ENTRY_EVERY_S - (time.monotonic() - since)))


async def office(port: int, cookie: str, floor: dict[str, Any], end: float, times: dict[str, Times]) -> None:
    await asyncio.sleep(random.uniform(0, PAGE_EVERY_S))
    while time.monotonic() < end:
        since, page = time.monotonic(), random.choice(PAGES)
        path = page.format(piece=random.choice(floor["places"])["piece"], design=floor["design"])
        await timed(times[page], port, "GET", path, {"Cookie": f"sessionid={cookie}"})
        await asyncio.sleep(max(0.0, PAGE_EVERY_S - (time.monotonic() - since)))


async def day(site: OwnFull, floor: dict[str, Any], wanted: argparse.Namespace) -> tuple[dict[str, Times], list[str]]:
    times, book = {name: Times() for name in ("entries", *PAGES)}, []
    end = time.monotonic() + wanted.seconds
    await asyncio.gather(
        *(tablet(site.port, floor["key"], place, end, times["entries"], book)
          for place in floor["places"][: wanted.tablets]),
        *(office(site.port, floor["cookie"], floor, end, times) for _ in range(wanted.office)),
    )
    return times, book


def verdict_times(site: OwnFull, floor: dict[str, Any], count: int) -> tuple[list[float], list[float]]:
    """(a change sent to its verdict in the database, a bare message to its end) [s], turn about."""
    client, design = site.queue.client(), floor["design"]
    verdicts, bare = [], []
    manager = site.tablets({"manager": floor["manager_key"]})["manager"]
    for number in range(count):
        document = counter_document(floor["document"], number + 1)
        since = time.perf_counter()
        revision = manager.post(f"/api/designs/{design}/revise/", uuid4(), document=document, base_revision=number + 1)
        query = ("SELECT 1 FROM engineering_checkrun r JOIN jobs_revision v ON v.specification_id = r.specification_id "
                 "WHERE v.id = %s AND r.status = 'done'")
        while not site.postgres.ask(query, revision["id"]):
            time.sleep(0.001)
        verdicts.append(time.perf_counter() - since)
        bare.append(bare_round_trip(client))
    return verdicts, bare


def bare_round_trip(client: Any) -> float:
    """A message for a row that is not there, from sending until it is acknowledged."""
    from engineering.tasks import perform_check_run
    since = time.perf_counter()
    perform_check_run.delay(0)
    while client.llen("checks") or client.hlen("unacked"):
        time.sleep(0.001)
    return time.perf_counter() - since


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tablets", type=int, default=100)
    parser.add_argument("--office", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=120)
    parser.add_argument("--verdicts", type=int, default=20)
    wanted = parser.parse_args()
    if not (0 < wanted.tablets <= MOST_TABLETS and 0 <= wanted.office <= MOST_OFFICE
            and 0 < wanted.seconds <= MOST_SECONDS):
        parser.error(f"at most {MOST_TABLETS} tablets, {MOST_OFFICE} office users, {MOST_SECONDS} seconds")
    postgres, queue = OwnPostgres(), OwnRedis()
    with tempfile.TemporaryDirectory(prefix="camberbook-load-") as folder:
        try:
            postgres.start()
            queue.start()
            return run(OwnFull(Path(folder), postgres, queue), wanted)
        finally:
            queue.end()
            postgres.end()


def run(site: OwnFull, wanted: argparse.Namespace) -> int:
    os.environ |= site.environment | {"DJANGO_SETTINGS_MODULE": "jobs.site.settings"}
    import django
    django.setup()
    from tests.load import floor as floors
    code, said = site.run("migrate", "--no-input")
    assert code == 0, said
    floor = floors.make(wanted.tablets)
    site.start_web()
    site.start_beat()
    try:
        with site.start_worker() as worker:
            until(lambda: site.ask()[0] == 200, "healthy site", worker)
            times, book = asyncio.run(day(site, floor, wanted))
            verdicts, bare = verdict_times(site, floor, wanted.verdicts)
            lost = set(book) - {str(row[0]) for row in site.postgres.ask("SELECT request_id FROM jobs_event")}
            verified(site.folder, site.environment)
    finally:
        site.end()
    return told(times, verdicts, bare, lost, wanted)


def told(times: dict[str, Times], verdicts: list[float], bare: list[float], lost: set[str],
         wanted: argparse.Namespace) -> int:
    print(f"{wanted.tablets} tablets, {wanted.office} office users, {wanted.seconds:g} s; two web, one worker process")
    for name, kind in times.items():
        print(kind.line(name))
    if verdicts:
        middle, floor = statistics.median(verdicts), statistics.median(bare)
        print(f"a change to its verdict: median {middle * 1000:.0f} ms; a bare message: {floor * 1000:.1f} ms; "
              f"{middle / floor:.0f} times")
    wrong = [line for kind in times.values() for line in kind.wrong]
    entered = len(times["entries"].took_s)
    print(f"{len(wrong)} errors; of {entered} entries {entered - len(times['entries'].wrong)} accepted, {len(lost)} of "
          "them not in the book")
    for line in wrong[:20]:
        print("   ", line)
    return 1 if wrong or lost else 0


if __name__ == "__main__":
    sys.exit(main())
