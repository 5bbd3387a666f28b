"""What is measured of the engine, as rows: one piece part by part, one variant of many, a frame library beside both.

Every row names its aim where there is one. Nothing is asserted about time; the tests assert that the work was done.
"""

import importlib.util
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.checks.finding import check_results, judge
from engineering.core.checks.pen import Pen
from engineering.core.checks.reading import Reading
from engineering.core.contract import parse
from engineering.core.figures import figures
from engineering.core.load_to_failure import load_test
from engineering.core.pipeline import findings, run_checks
from engineering.core.series import series
from engineering.core.studies import CHUNK
from tests.benchmarks.frame import beam_of, solve
from tests.benchmarks.measure import apart, floor_of, importing, seconds
from tests.core.pieces import scattered

COUNTER = Path(__file__).parents[1] / "core" / "independent" / "data" / "01-counter-cored.json"
STUDY = """
import json, resource, sys, time
from engineering.core.contract import parse
from engineering.core.studies import run_part
piece, size = parse(json.load(open(sys.argv[1]))), 10_000
run_part(piece, size, 1, 0, 100)
start = time.process_time()
part = run_part(piece, size, 1, 0, size)
took = time.process_time() - start
print(json.dumps([took / size, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, len(part.verdicts)]))
"""


@dataclass(frozen=True)
class Row:
    """took, floor: seconds; `note`: the aim, or what the row comes to in other words."""

    name: str
    took: float
    floor: float
    note: str = ""


def document() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(COUNTER.read_text())
    return found


def scattered_counters(size: int) -> Batch:
    return scattered(Batch.of(parse(document()), [str(k) for k in range(size)]), 7, 0.02)


def one_piece() -> list[Row]:
    """A check run's five variants, part by part, the load-to-failure analysis apart, and the whole document."""
    given = document()
    piece = parse(given)
    batch = Batch.check_run(piece)
    analysis = analyse(batch)
    reading = Reading(analysis)
    lines = findings(reading)
    floor = floor_of(batch.size, len(analysis.grid.x_in))

    def whole() -> None:
        fresh = Reading(analyse(Batch.check_run(parse(given))))
        check_results(findings(fresh), fresh.batch.names, Pen(piece.units))  # a pen keeps what it has written
        figures(fresh)
        series(fresh.analysis)

    return [
        Row("bare array operations of the same size", floor, floor, "the floor"),
        Row("  reading the specification", seconds(lambda: parse(given)), floor),
        Row("  elastic, losses, in time, stresses; five variants", seconds(lambda: analyse(batch)), floor),
        Row("  every check", seconds(lambda: findings(Reading(analysis))), floor),
        Row("  their workings", seconds(lambda: check_results(lines, batch.names, Pen(piece.units))), floor),
        Row("  figures and curves", seconds(lambda: (figures(reading), series(analysis))), floor),
        Row("a complete check run without load to failure", seconds(whole, 100), floor, "aim 8 ms"),
        Row("load to failure", seconds(lambda: load_test(reading), 5), floor, "aim 80 ms"),
        Row("document in, document out, load to failure in it", seconds(lambda: run_checks(given), 5), floor),
    ]


def one_of_many() -> tuple[list[Row], float]:
    """A variant of a study: in a chunk by itself, and 10,000 of them in a process of their own. Rows, and the seconds
    of one variant's analysis."""
    batch = scattered_counters(CHUNK)
    floor = floor_of(CHUNK, len(analyse(batch).grid.x_in)) / CHUNK
    analysed = seconds(lambda: analyse(batch), 5) / CHUNK
    judged = seconds(lambda: judge(findings(Reading(analyse(batch))), batch.size), 5) / CHUNK
    each, megabytes, done = json.loads(apart(STUDY, str(COUNTER))[0])
    if done != 10_000:
        raise ValueError(f"the study has {done} samples")
    rows = [
        Row("bare array operations of the same size, a variant", floor, floor, "the floor"),
        Row("one variant of many, analysis", analysed, floor),
        Row("one variant of many, with every check", judged, floor),
        Row("one sample of a tolerance study of 10,000", each, floor, f"{1 / each:.0f} a second; aim 10,000"),
        Row("  its most memory", float("nan"), floor, f"{megabytes:.0f} MB; aim 500 MB"),
    ]
    return rows, analysed


def beside_a_frame_library(of_many: float) -> list[Row]:
    """The elastic part of the counter by PyNite (about 100 elements, four load cases, results read) beside the whole
    analysis of one variant here, which has losses, time, stresses and deflections in it too."""
    piece = parse(document())
    batch = Batch.of(piece)
    here = seconds(lambda: analyse(batch), 20)
    rows = [Row("one piece, one variant, analysis", here, here)]
    if importlib.util.find_spec("Pynite") is None:
        return [*rows, Row("a frame library", float("nan"), here, "not installed: no comparison")]
    beam = beam_of(piece)
    solve(beam)
    frame = seconds(lambda: solve(beam), 3)
    return [
        *rows,
        Row("a frame library, the elastic part of the same piece", frame, here, f"{frame / here:.0f} times; aim 50"),
        Row("  beside one variant of many", frame, of_many, f"{frame / of_many:.0f} times; aim 5,000"),
    ]


def starting() -> list[Row]:
    bare, whole = importing("numpy"), importing("engineering.core.pipeline")
    return [
        Row("import numpy", bare, bare),
        Row("import the engine, numpy with it", whole, bare, f"{whole - bare:.2f} s over numpy; aim 0.25 s"),
    ]


def table(rows: list[Row]) -> str:
    """A line for every row: milliseconds, times the floor of its part, aim."""
    lines = [f"{'':54}{'ms':>10}{'× floor':>10}"]
    for row in rows:
        time = f"{1000 * row.took:10.3f}{row.took / row.floor:10.1f}" if row.took == row.took else " " * 20
        lines.append(f"{row.name:54}{time}  {row.note}".rstrip())
    return "\n".join(lines)
