"""The one-process shop, killed again and again in the middle of its day."""

import random
import threading
import time
from pathlib import Path

import pytest

from engineering import leases
from jobs.site import settings
from tests.faults.conftest import Recovered
from tests.faults.shop_day import Day
from tests.faults.sites import Embedded, nothing_lost_nothing_twice, verified
from tests.site.processes import until


def ended(site: Embedded) -> bool:
    book = site.inside("reckon")
    jobs = [*book["runs"], *book["records"], *book["studies"]]
    return not any(status in ("waiting", "running") for _, status, *_ in jobs)


def killed_through_the_day(folder: Path, recovered: Recovered, *, kills: int, seed: int) -> None:
    """Days go on until the site was killed `kills` times, at moments of the seed; then everything is reckoned up."""
    site, chance, alive = Embedded(folder), random.Random(seed), threading.Event()
    site.start()
    try:
        site.well()
        shop = site.inside("make_people")
        tablets = site.tablets(shop["keys"])

        def killer() -> None:
            for _ in range(kills):
                if alive.wait(chance.uniform(0.3, 6)):
                    return
                since = time.monotonic()
                site.kill()
                site.start()
                site.well()
                recovered("embedded site killed at a random moment, until it is well", since)
            alive.set()

        death = threading.Thread(target=killer, name="killer")
        death.start()
        number = 0
        while number < 1 or not alive.is_set():
            number += 1
            Day(tablets, shop["wrench"], seed * 1000 + number).run()
        alive.set()
        death.join(300)
        site.well()
        until(lambda: ended(site), "end of every run", site.process)
        nothing_lost_nothing_twice(list(tablets.values()), site.inside("reckon"))
        verified(folder, site.environment)
        print(f"killed {site.starts - 1} times in {number} days, {sum(t.tries for t in tablets.values())} calls, "
              f"{sum(len(t.accepted) for t in tablets.values())} entries")
    finally:
        site.kill()


def test_killed_at_random_moments_of_its_day(tmp_path: Path, recovered: Recovered) -> None:
    killed_through_the_day(tmp_path, recovered, kills=5, seed=20)


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_killed_at_fifty_random_moments(tmp_path: Path, recovered: Recovered) -> None:
    killed_through_the_day(tmp_path, recovered, kills=50, seed=50)


def test_a_dead_workers_row_is_free_in_under_half_a_minute() -> None:
    """By the settings as they stand: the lease runs out, and two sweeps later the row is with somebody else."""
    assert leases.LEASE.total_seconds() + 2 * settings.SWEEP_EVERY_S < 30
    assert leases.LEASE.total_seconds() > leases.RENEW_EVERY_S * 3
