"""What a person waits for: a whole check run, its load test, a study of thousands; with ratios to a floor of the same
run and to a general-purpose frame library. `pytest tests/benchmarks -m benchmark -s`. No time is asserted."""

import json
import subprocess
import sys

import pytest

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.checks.reading import Reading
from engineering.core.contract import parse
from engineering.core.figures import figures
from engineering.core.load_to_failure import load_test
from engineering.core.pipeline import findings
from engineering.core.series import series
from engineering.core.studies import run_part
from tests.benchmarks.test_speed import COUNTER, floor_of, frame_model, piece, report, seconds

pytestmark = pytest.mark.benchmark
STUDY = """
import json, resource, sys, time
from engineering.core.contract import parse
from engineering.core.studies import run_part
found = parse(json.load(open(sys.argv[1])))
size, upto = 10_000, int(sys.argv[2])
run_part(found, size, 1, 0, 100)
start = time.process_time()
run_part(found, size, 1, 0, upto)
print(json.dumps([(time.process_time() - start) / upto, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))
"""


def test_a_whole_check_run() -> None:
    """Specification in, checks, figures and curves out; the load-to-failure analysis apart."""
    document = json.loads(COUNTER.read_text())
    reading = Reading(analyse(Batch.check_run(piece())))
    floor = floor_of(5, len(reading.analysis.grid.x_in))

    def run() -> None:
        fresh = Reading(analyse(Batch.check_run(parse(document))))
        findings(fresh)
        figures(fresh)
        series(fresh.analysis)

    whole, broken, frame = seconds(run), seconds(lambda: load_test(reading), 3), seconds(frame_model, 2)
    report(
        [
            ("a whole check run, five variants", whole, floor),
            ("its load-to-failure analysis", broken, floor),
            ("a frame library, the elastic part of one variant", frame, floor),
        ]
    )
    print(f"the frame library takes {frame / whole:.0f} times as long as the whole check run of five variants")
    assert load_test(reading).first_crack_lbf


@pytest.mark.parametrize("upto", [1_000, 5_000])
def test_a_study(upto: int) -> None:
    """Samples of 10,000 through every check, in a process of its own: time for one, and the most memory."""
    done = subprocess.run(
        [sys.executable, "-c", STUDY, str(COUNTER), str(upto)], capture_output=True, text=True, check=True
    )
    each, megabytes = json.loads(done.stdout)
    frame = seconds(frame_model, 2)
    floor = floor_of(100, len(analyse(Batch.of(piece())).grid.x_in)) / 100
    report([(f"one sample of {upto}, every check", each, floor)])
    print(f"{1 / each:.0f} samples a second, {megabytes:.0f} MB at most")
    print(f"the frame library takes {frame / each:.0f} times as long for the elastic part of one")
    assert run_part(piece(), 100, 1, 0, 10).ratios.shape[0] == 10
