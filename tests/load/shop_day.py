"""A shop day as its clients see it, for locust: `run.py` starts the site, writes down the floor and names both in the
environment. Each tablet writes down a reading every five seconds, each office user opens a page every three.
"""

import itertools
import json
import os
import random
import time
from pathlib import Path
from typing import Any
from uuid import uuid4

import gevent
from locust import FastHttpUser, events, task

from tests.faults.sites import HTTPS, SITE

ENTRY_EVERY_S, PAGE_EVERY_S = 5.0, 3.0
PAGES = ("/board/", "/orders/", "/pieces/{piece}/", "/designs/{design}/", "/api/pieces/", "/api/events/")
FLOOR: dict[str, Any] = json.loads(Path(os.environ["LOAD_FLOOR"]).read_text())
SEEN = Path(os.environ["LOAD_SEEN"])
HEADERS = {"Host": SITE, "Connection": "close", **HTTPS}  # a proxy's idle lines are not what is measured
_places = itertools.cycle(FLOOR["places"])
_accepted: list[str] = []


class Paced(FastHttpUser):
    """One call every so many seconds from a moment of its own on. Locust counts its pacing from when a user is made
    and makes them together: all would call at once, which no shop does."""

    abstract = True
    every_s: float

    def on_start(self) -> None:
        pause = random.uniform(0, self.every_s)
        self.due = time.monotonic() + pause
        gevent.sleep(pause)

    def wait_time(self) -> float:
        self.due += self.every_s
        return max(0.0, self.due - time.monotonic())


class Tablet(Paced):
    fixed_count = FLOOR["tablets"]
    every_s = ENTRY_EVERY_S

    def on_start(self) -> None:
        self.place = next(_places)
        super().on_start()

    @task
    def reading(self) -> None:
        tap = str(uuid4())
        answer = self.client.post(
            f"/api/stressings/{self.place['stressing']}/readings/",
            json={**self.place["reading"], "request_id": tap},
            headers={**HEADERS, "Authorization": f"Token {FLOOR['key']}"},
            name="entries",
        )
        if answer.status_code in (200, 201):
            _accepted.append(tap)


class Office(Paced):
    fixed_count = FLOOR["office"]
    every_s = PAGE_EVERY_S

    @task
    def page(self) -> None:
        page = random.choice(PAGES)
        path = page.format(piece=random.choice(FLOOR["places"])["piece"], design=FLOOR["design"])
        cookie = f"sessionid={FLOOR['cookie']}"
        self.client.get(path, headers={**HEADERS, "Cookie": cookie}, name=page, allow_redirects=False)


@events.quitting.add_listener
def _write_down(environment: Any, **_: Any) -> None:
    """Entries that were accepted, and what each kind of call took [ms]."""
    stats = environment.stats
    kinds = [
        {"name": kind.name, "calls": kind.num_requests, "errors": kind.num_failures, "worst": kind.max_response_time,
         "median": kind.get_response_time_percentile(0.5), "p95": kind.get_response_time_percentile(0.95)}
        for kind in sorted(stats.entries.values(), key=lambda kind: kind.name)
    ]
    wrong = [f"{row.method} {row.name}: {row.error} ({row.occurrences} times)" for row in stats.errors.values()]
    SEEN.write_text(json.dumps({"accepted": _accepted, "kinds": kinds, "wrong": wrong}))
