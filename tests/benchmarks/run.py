"""How fast the engine and the records are, in one table: `python tests/benchmarks/run.py`. A minute or so; one core.

Times differ from machine to machine, ratios less so. Nothing is asserted.
"""

import os
import platform
import sys
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: one core is what is measured
sys.path.insert(0, str(Path(__file__).parents[2]))


def main() -> None:
    from tests.benchmarks.engine import beside_a_frame_library, one_of_many, one_piece, starting, table

    print(f"Python {platform.python_version()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    from tests.benchmarks.records import signed_record

    many, of_many = one_of_many()
    for part in (one_piece(), many, beside_a_frame_library(of_many), starting(), signed_record()):
        print(table(part), end="\n\n")


if __name__ == "__main__":
    main()
