"""How long the engine takes, as ratios to a floor measured in the same run: `pytest tests/benchmarks -m benchmark -s`.

The floor of a batch is the bare array work its stations cannot do without: for every stage, corner and variant one
product and one sum. Nothing here asserts a time; what is asserted is that the timed runs did the work.
"""

import importlib.util
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.checks.finding import check_results, judge
from engineering.core.checks.pen import Pen
from engineering.core.checks.reading import Reading
from engineering.core.contract import parse
from engineering.core.figures import figures
from engineering.core.load_to_failure import load_test
from engineering.core.pipeline import findings
from engineering.core.series import series
from engineering.core.studies import CHUNK, chunks

pytestmark = pytest.mark.benchmark
COUNTER = Path(__file__).parents[1] / "core" / "independent" / "data" / "01-counter-cored.json"
VARIANTS, STAGES, CORNERS = 2_000, 7, 4


def piece() -> Any:
    return parse(json.loads(COUNTER.read_text()))


def seconds(work: Callable[[], Any], times: int = 7) -> float:
    """The best of several runs, in processor time of this process."""
    best = np.inf
    for _ in range(times):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return float(best)


def report(rows: list[tuple[str, float, float]]) -> None:
    print(f"\n{'':48s}{'ms':>10s}{'× floor':>10s}")
    for name, took, floor in rows:
        print(f"{name:48s}{1000 * took:10.3f}{took / floor:10.1f}")


def scattered(size: int) -> Batch:
    """Forces, stiffness, shrinkage, thickness and rod places drawn at random."""
    batch = Batch.of(piece(), [str(k) for k in range(size)])
    spread = np.random.default_rng(7).normal(1.0, 0.02, (size, 8))
    rods = replace(
        batch.rods,
        jacking_lbf=batch.rods.jacking_lbf * spread[:, :2],
        across_in=batch.rods.across_in * spread[:, 2:4],
        y_in=tuple(y * spread[:, [4]] for y in batch.rods.y_in),
    )
    concrete = replace(
        batch.concrete,
        modulus_psi=batch.concrete.modulus_psi * spread[:, 5],
        shrinkage=batch.concrete.shrinkage * spread[:, 6],
    )
    thick = np.stack([np.ones(size), spread[:, 7]], -1)[:, None, :]
    rings = tuple(tuple(ring * thick for ring in zone) for zone in batch.rings)
    return replace(batch, rods=rods, concrete=concrete, rings=rings)


def floor_of(variants: int, stations: int) -> float:
    """Seconds for the products and sums of all stages, corners, variants and stations, and nothing else."""
    rods, moment = np.ones((variants, stations)), np.ones((variants, stations))
    out = np.empty_like(rods)

    def work() -> None:
        for _ in range(STAGES * CORNERS):
            np.multiply(moment, 0.5, out=out)
            np.add(out, rods, out=out)

    return seconds(work)


def test_one_piece() -> None:
    """A check run's five variants, part by part, and the load-to-failure analysis apart from it."""
    one = piece()
    batch = Batch.check_run(one)
    analysis = analyse(batch)
    reading = Reading(analysis)
    lines = findings(reading)

    def written() -> None:
        check_results(lines, batch.names, Pen(one.units))

    def whole() -> None:
        fresh = Reading(analyse(Batch.check_run(one)))
        check_results(findings(fresh), fresh.batch.names, Pen(one.units))

    floor = floor_of(batch.size, len(analysis.grid.x_in))
    rows = [
        ("elastic and in time, five variants", seconds(lambda: analyse(batch)), floor),
        ("every check", seconds(lambda: findings(Reading(analysis))), floor),
        ("their workings", seconds(written), floor),
        ("all three, from the piece", seconds(whole), floor),
        ("figures and curves", seconds(lambda: (figures(reading), series(analysis))), floor),
        ("load to failure", seconds(lambda: load_test(Reading(analysis)), 3), floor),
    ]
    report(rows)
    assert len(lines) > 40
    assert len(figures(reading)) > 100


def test_many_variants() -> None:
    """Thousands of variants in the chunks of a study, all geometry scattered: time and places for one variant."""
    batch = scattered(VARIANTS)
    parts = [batch.part(start, stop) for start, stop in chunks(VARIANTS)]
    stations = len(analyse(parts[0]).grid.x_in)
    floor = floor_of(CHUNK, stations) / CHUNK

    def analysed() -> None:
        for part in parts:
            analyse(part)

    def judged() -> None:
        for part in parts:
            judge(findings(Reading(analyse(part))), part.size)

    took, checked = seconds(analysed, 3) / VARIANTS, seconds(judged, 3) / VARIANTS
    report([("one variant of many, analysis", took, floor), ("one variant of many, with every check", checked, floor)])
    print(f"most memory of this process so far: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    final = np.concatenate([analyse(part).time.final_lbf for part in parts])
    assert np.unique(final[:, 0]).size == VARIANTS


def test_against_a_frame_library() -> None:
    """The elastic part of one piece with a general-purpose frame library (100 elements, four load cases), where it is
    installed; the row says so where it is not."""
    took = seconds(lambda: analyse(Batch.of(piece())))
    if importlib.util.find_spec("Pynite") is None:
        print("\nframe library: not installed, no comparison made")
    else:
        frame = seconds(frame_model, 3)
        report([("one piece, one variant, this engine", took, took), ("the same by a frame library", frame, took)])
    assert took > 0.0


def frame_model() -> None:
    """96 in counter on two supports, 100 elements, four load cases, moments and deflections read."""
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("gfrc", 2.5e6, 1e6, 0.2, 0.0)
    model.add_section("strip", 54.0, 3418.0, 50.43, 100.0)
    x = np.linspace(0, 96, 101)
    for k, at in enumerate(x):
        model.add_node(f"n{k}", float(at), 0, 0)
    for k in range(100):
        model.add_member(f"m{k}", f"n{k}", f"n{k + 1}", "gfrc", "strip")
        for case in ("self", "dead", "live", "point"):
            model.add_member_dist_load(f"m{k}", "FY", -1.0, -1.0, case=case)
    for k in (6, 94):
        model.def_support(f"n{k}", k == 6, True, True, True, False, False)
    for case in ("self", "dead", "live", "point"):
        model.add_load_combo(case, {case: 1.0})
    model.analyze_linear()
    for case in ("self", "dead", "live", "point"):
        for k in range(100):
            model.members[f"m{k}"].max_moment("Mz", case)
            model.members[f"m{k}"].min_deflection("dy", case)


def test_importing_the_engine() -> None:
    """Importing the core beside importing numpy alone, each in an interpreter of its own, compiled once before."""
    with tempfile.TemporaryDirectory() as compiled:
        plain = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        environment = {**plain, "PYTHONPYCACHEPREFIX": compiled}

        def importing(what: str) -> float:
            code = f"import time; t = time.process_time(); import {what}; print(time.process_time() - t)"
            command = [sys.executable, "-c", code]
            runs = [
                subprocess.run(command, capture_output=True, text=True, check=True, env=environment) for _ in range(4)
            ]
            return min(float(run.stdout) for run in runs)

        bare, whole = importing("numpy"), importing("engineering.core.pipeline")
    report([("import numpy", bare, bare), ("import the engine, numpy with it", whole, bare)])
    assert whole > 0.0
