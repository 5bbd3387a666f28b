"""The table of `run.py` under pytest: `pytest tests/benchmarks -m benchmark -s`. What is asserted is that the timed
runs did the work and that the frame library solved the same beam; no time."""

import numpy as np
import pytest

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.checks.reading import Reading
from engineering.core.contract import parse
from engineering.core.figures import figures
from engineering.core.pipeline import findings
from tests.benchmarks.engine import (
    beside_a_frame_library,
    document,
    one_of_many,
    one_piece,
    scattered_counters,
    starting,
    table,
)
from tests.benchmarks.frame import beam_of, solve

pytestmark = pytest.mark.benchmark


def test_the_table() -> None:
    many, of_many = one_of_many()
    rows = [*one_piece(), *many, *beside_a_frame_library(of_many), *starting()]
    print(f"\n{table(rows)}")
    assert of_many > 0.0
    assert len(rows) > 15


def test_the_timed_runs_do_the_work() -> None:
    reading = Reading(analyse(Batch.check_run(parse(document()))))
    assert len(findings(reading)) > 40
    assert len(figures(reading)) > 100
    assert np.unique(analyse(scattered_counters(50)).time.final_lbf[:, 0]).size == 50


def test_the_frame_library_solves_the_same_beam() -> None:
    """Greatest moments of self weight and dead load to a thousandth, deflection of the live load to a hundredth."""
    pytest.importorskip("Pynite")
    piece = parse(document())
    found, frame = analyse(Batch.of(piece)), solve(beam_of(piece))
    own = float(found.loading.self_moment.max())
    assert frame["self"][0] == pytest.approx(own, rel=1e-3)
    assert frame["dead"][0] == pytest.approx(float(found.loading.dead_moment.max()) - own, rel=1e-3)
    assert frame["live"][1] == pytest.approx(float(found.deflections.live[0]), rel=0.05)
