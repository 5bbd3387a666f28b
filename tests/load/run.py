"""A shop day from many clients at once, in full mode on servers of its own, on this machine alone.

    python -m tests.load.run --tablets 100 --office 20 --seconds 120
    python -m tests.load.run --tablets 10 --office 2 --seconds 60      # a small shop's minute

The clients are locust's (`shop_day.py`). Prints calls, errors, median and 95th percentile; then how long a changed
specification waits for its verdict, against the bare round trip of a message on the same queue. Exit status 1 if any
call failed or an accepted entry is not in the book.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any
from uuid import uuid4

from tests.faults.servers import OwnPostgres, OwnRedis
from tests.faults.sites import OwnFull, verified
from tests.load.floor import counter_document
from tests.site.processes import until

ROOT = Path(__file__).resolve().parents[2]
MOST_TABLETS, MOST_OFFICE, MOST_SECONDS = 500, 100, 900


def day(site: OwnFull, floor: dict[str, Any], wanted: argparse.Namespace) -> dict[str, Any]:
    """What `shop_day` saw: {accepted: numbers of entries, kinds: what each kind of call took, wrong: in words}."""
    given, seen = site.folder / "floor.json", site.folder / "seen.json"
    given.write_text(json.dumps({**floor, "tablets": wanted.tablets, "office": wanted.office}))
    users = str(wanted.tablets + wanted.office)
    command = [sys.executable, "-m", "locust", "-f", str(ROOT / "tests" / "load" / "shop_day.py"), "--headless",
               "--host", f"http://127.0.0.1:{site.port}", "--users", users, "--spawn-rate", users, "--run-time",
               f"{wanted.seconds:.0f}s", "--stop-timeout", "60", "--exit-code-on-error", "0"]
    places = {"LOAD_FLOOR": str(given), "LOAD_SEEN": str(seen), "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, env=os.environ | places, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"the load could not be made:\n{done.stderr[-3000:]}")
    return dict(json.loads(seen.read_text()))


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
            seen = day(site, floor, wanted)
            verdicts, bare = verdict_times(site, floor, wanted.verdicts)
            booked = {str(row[0]) for row in site.postgres.ask("SELECT request_id FROM jobs_event")}
            lost = set(seen["accepted"]) - booked
            verified(site.folder, site.environment)
    finally:
        site.end()
    told(seen, verdicts, bare, wanted)
    print(f"{len(seen['accepted'])} entries accepted, {len(lost)} of them not in the book")
    return 1 if seen["wrong"] or lost else 0


def told(seen: dict[str, Any], verdicts: list[float], bare: list[float], wanted: argparse.Namespace) -> None:
    print(f"{wanted.tablets} tablets, {wanted.office} office users, {wanted.seconds:g} s; two web, one worker process")
    for kind in seen["kinds"]:
        print("{name:28} {calls:6} calls, {errors} errors, median {median:6.0f} ms, p95 {p95:6.0f} ms, worst "
              "{worst:6.0f} ms".format(**kind))
    if verdicts:
        middle, floor = statistics.median(verdicts), statistics.median(bare)
        print(f"a change to its verdict: median {middle * 1000:.0f} ms; a bare message: {floor * 1000:.1f} ms; "
              f"{middle / floor:.0f} times")
    for line in seen["wrong"]:
        print("   ", line)


if __name__ == "__main__":
    sys.exit(main())
