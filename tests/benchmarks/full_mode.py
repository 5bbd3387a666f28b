"""What full mode takes, on servers of its own on this machine: a changed specification until its verdict, beside a bare
message on the same queue; and studies with one worker process and with two.

`python -m tests.benchmarks.full_mode` alone, or the last part of `run.py`, which starts it as a process of its own: the
site's settings are those of the servers here.
"""

import argparse
import dataclasses
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Any
from uuid import uuid4

from tests.benchmarks.engine import Row, table
from tests.faults.servers import OwnPostgres, OwnRedis
from tests.faults.sites import OwnFull
from tests.site.processes import until

ROOT = Path(__file__).resolve().parents[2]
STUDIES, SAMPLES, VERDICTS = 6, 20_000, 20


def full_mode() -> list[Row]:
    command = [sys.executable, "-m", "tests.benchmarks.full_mode", "--json"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"full mode could not be measured:\n{done.stderr[-3000:]}")
    return [Row(**row) for row in json.loads(done.stdout.splitlines()[-1])]


def measured(studies: int = STUDIES, samples: int = SAMPLES, verdicts: int = VERDICTS) -> list[Row]:
    postgres, queue = OwnPostgres(), OwnRedis()
    with tempfile.TemporaryDirectory(prefix="camberbook-benchmark-") as folder:
        try:
            postgres.start()
            queue.start()
            return _measured(OwnFull(Path(folder), postgres, queue), studies, samples, verdicts)
        finally:
            queue.end()
            postgres.end()


def _measured(site: OwnFull, studies: int, samples: int, verdicts: int) -> list[Row]:
    os.environ |= site.environment | {"DJANGO_SETTINGS_MODULE": "jobs.site.settings"}
    import django

    django.setup()
    from tests.load import floor as floors
    from tests.load.run import verdict_times

    code, said = site.run("migrate", "--no-input")
    assert code == 0, said
    floor = floors.make(1)
    site.start_web()
    site.start_beat()
    try:
        one = _studies(site, floor, 1, studies, samples)
        two = _studies(site, floor, 2, studies, samples)
        with site.start_worker() as worker:
            until(lambda: site.ask()[0] == 200, "healthy site", worker)
            judged, bare = verdict_times(site, floor, verdicts)
    finally:
        site.end()
    message = statistics.median(bare)
    each, done = studies * samples, f"{studies} studies of {samples} samples"
    return [
        Row("a bare message on the queue, there and back", message, message, "the floor"),
        Row("a changed specification until its verdict", statistics.median(judged), message, f"median of {verdicts}"),
        Row("a sample of a study, one worker process", one / each, one / each, done),
        Row("a sample of a study, two worker processes", two / each, one / each,
            f"{one / two:.2f} times as many a second; aim 1.7 or more"),
    ]


def _studies(site: OwnFull, floor: dict[str, Any], workers: int, studies: int, samples: int) -> float:
    """Seconds from asking for the studies until the last has its answer, the workers being warm."""
    manager = site.tablets({"manager": floor["manager_key"]})["manager"]
    revision = manager.ask(f"/api/specifications/?design={floor['design']}")["results"][0]["id"]

    def ask(count: int, size: int, seed: int) -> None:
        for number in range(count):
            manager.post("/api/studies/", uuid4(), revision=revision, kind="tolerance",
                         settings={"samples": size, "seed": seed + number})

    def ended() -> bool:
        return not site.studies("waiting") and not site.studies("running")

    with ExitStack() as running:
        processes = [running.enter_context(site.start_worker(f"worker-{workers}-{k}")) for k in range(workers)]
        until(lambda: site.ask()[0] == 200, "healthy site", *processes)
        ask(2 * workers, samples // 4, 1_000 * workers)
        until(ended, "warm workers", *processes)
        since = time.perf_counter()
        ask(studies, samples, 10_000 * workers)
        while not ended():
            time.sleep(0.1)
        return time.perf_counter() - since


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--studies", type=int, default=STUDIES)
    parser.add_argument("--samples", type=int, default=SAMPLES)
    parser.add_argument("--verdicts", type=int, default=VERDICTS)
    parser.add_argument("--json", action="store_true", help="the rows for a program, on the last line")
    wanted = parser.parse_args()
    rows = measured(wanted.studies, wanted.samples, wanted.verdicts)
    print(json.dumps([dataclasses.asdict(row) for row in rows]) if wanted.json else table(rows))


if __name__ == "__main__":
    main()
