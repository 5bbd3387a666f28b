"""Every ratio in one table: `python tests/benchmarks/run.py`. Some minutes; on an idle machine the figures mean most.

Full mode starts a PostgreSQL and a Redis of its own, which must be installed; `--without-servers` leaves it out. Times
differ from machine to machine, ratios less so. Nothing is asserted. What pages cost as the book grows:
`python3 manage.py test -m benchmark -s tests/benchmarks/test_page_cost.py`; a day under load: see `tests/load/run.py`.
"""

import argparse
import os
import platform
import sys
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: one core is what is measured
sys.path.insert(0, str(Path(__file__).parents[2]))


def main() -> None:
    from tests.benchmarks.engine import beside_a_frame_library, one_of_many, one_piece, starting, table
    from tests.benchmarks.records import signed_record

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--without-servers", action="store_true")
    wanted = parser.parse_args()
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    many, of_many = one_of_many()
    parts = [one_piece(), many, beside_a_frame_library(of_many), starting(), signed_record()]
    if wanted.without_servers:
        print("Left out: full mode (verdicts, studies by one and two workers).")
    else:
        from tests.benchmarks.full_mode import full_mode

        parts.append(full_mode())
    print(table([row for part in parts for row in part]))


if __name__ == "__main__":
    main()
