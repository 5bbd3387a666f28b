"""How long design help takes, printed beside the work of one check run: `pytest tests/benchmarks -m benchmark -s`.

Nothing here asserts a time; what is asserted is that the timed runs did the work.
"""

import itertools
import json
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from engineering.core.advice import advise
from engineering.core.contract import parse
from engineering.core.finder import search
from engineering.core.region import region_of
from engineering.core.retightening import plan_of
from engineering.core.rod_space import usual_space
from engineering.core.variants import Numbers, judge

pytestmark = pytest.mark.benchmark
COUNTER = Path(__file__).parents[1] / "core" / "independent" / "data" / "01-counter-cored.json"


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def test_design_help() -> None:
    """Seconds of processor time on one worker."""
    document = json.loads(COUNTER.read_text())
    piece = parse(document)
    judge(piece, Numbers(1))
    one, _ = timed(lambda: judge(piece, Numbers(1)))
    space = usual_space(piece)
    shares = tuple(0.2 + 0.04 * k for k in range(17))
    space = replace(space, shares=shares[: max(1, round(20_000 / space.size * len(space.shares)))])
    told: list[float] = []
    took, found = timed(lambda: search(document, space, progress=lambda _: told.append(time.perf_counter())))
    gaps = [b - a for a, b in itertools.pairwise(told)]
    rows = [
        ("one design, its whole check run", one),
        (f"find rods, {space.size} designs ({found.looked_at} with a place for every rod)", took),
        ("  longest wait between two reports of progress (wall)", max(gaps)),
        ("allowable region", timed(lambda: region_of(piece))[0]),
        ("re-tightening plan", timed(lambda: plan_of(document))[0]),
        ("advice, numbers only", timed(lambda: advise(document, quick=True))[0]),
        ("advice, whole", timed(lambda: advise(document))[0]),
    ]
    print()
    for name, seconds in rows:
        print(f"{name:72s}{seconds:9.3f} s{seconds / one:10.1f} × one design")
    assert found.looked_at > 5_000
    assert found.passing + found.for_review > 0
