"""A scripted day: order, design, checks, release, form, pour, specimens, tightening, with numbers from a fixed seed."""

import json
import random
import time
from pathlib import Path
from typing import Any
from uuid import UUID

from tests.faults.caller import PATIENCE_S, Tablet

ROOT = Path(__file__).resolve().parents[2]
STARTER = ROOT / "jobs" / "starters" / "foam-core-counter.json"


def counter(chance: random.Random) -> dict[str, Any]:
    """The counter of the starters, its bearing never twice the same, so that each is a specification of its own."""
    document = json.loads(STARTER.read_text())
    document["mark"] = f"C-{chance.randrange(10**9)}"
    return document


class Day:
    """One order through the shop, on three tablets. `run` writes down everything it does under its own numbers."""

    def __init__(self, tablets: dict[str, Tablet], wrench: int, seed: int) -> None:
        self.manager, self.engineer, self.crew = tablets["manager"], tablets["engineer"], tablets["crew"]
        self.wrench, self.seed, self.chance = wrench, seed, random.Random(seed)

    def tap(self) -> UUID:
        return UUID(int=self.chance.getrandbits(128), version=4)

    def run(self, *, pieces: int = 2) -> None:
        design = self.ordered(pieces)
        revision = self.judged(design)
        self.engineer.post(f"/api/specifications/{revision}/release/", self.tap(), note="looked at")
        for piece in self.engineer.ask(f"/api/pieces/?design={design}")["results"]:
            self.made(piece["id"])

    def ordered(self, pieces: int) -> int:
        """An order with a design that was changed once; the design's number."""
        order = self.manager.post("/api/orders/", self.tap(), number=f"F-{self.seed}", client="Client of the day")
        document = counter(self.chance)
        design = self.manager.post("/api/designs/", self.tap(), order=order["id"], document=document, pieces=pieces)
        document["supports"][0]["at"] += 0.25
        self.engineer.post(f"/api/designs/{design['id']}/revise/", self.tap(), document=document, base_revision=1)
        return int(design["id"])

    def judged(self, design: int) -> int:
        """The newest revision, once its checks have ended."""
        revision = self.engineer.ask(f"/api/specifications/?design={design}")["results"][-1]["id"]
        give_up = time.monotonic() + PATIENCE_S
        while time.monotonic() < give_up:
            run = self.engineer.ask(f"/api/check-runs/?revision={revision}")["results"][0]
            if run["status"] == "broken":
                assert run["problem"], run
                self.engineer.post(f"/api/specifications/{revision}/rerun/", self.tap())
            if run["status"] == "done":
                return int(revision)
            time.sleep(0.1)
        raise AssertionError(f"the checks of revision {revision} did not end: {run}")

    def made(self, piece: int) -> None:
        """A released piece, formed, poured, stripped and tightened."""
        move, crew = f"/api/pieces/{piece}/move/", self.crew
        crew.post(move, self.tap(), to_stage="formed")
        crew.post("/api/form-checks/", self.tap(), piece=piece, core_held=True, sleeves_sealed=True, pockets_set=True)
        pour = crew.post("/api/pours/", self.tap(), pieces=[piece], batch=f"B-{self.chance.randrange(10**6)}")
        for stage in ("poured", "curing"):
            crew.post(move, self.tap(), to_stage=stage)
        crew.post("/api/strength-tests/", self.tap(), pour=pour["id"], kind="cylinder", specimens_psi=[9000, 9100])
        crew.post(move, self.tap(), to_stage="stripped")
        self.engineer.post(f"/api/pieces/{piece}/hold/", self.tap(), reason="a look at the nuts")
        self.engineer.post(f"/api/pieces/{piece}/resume/", self.tap())
        stressing = crew.post("/api/stressings/", self.tap(), piece=piece, wrench=self.wrench)["id"]
        crew.post(f"/api/stressings/{stressing}/stop/", self.tap(), reason="end of the shift")
