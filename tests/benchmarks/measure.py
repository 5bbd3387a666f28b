"""Processor time of this process, best of several, and the floor under it: bare array operations of the same size."""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from typing import Any

import numpy as np

STAGES, CORNERS = 7, 4  # stress stages and corners of a plain section: what any such analysis has to work out


def seconds(work: Callable[[], Any], times: int = 7) -> float:
    """The best of several runs."""
    best = np.inf
    for _ in range(times):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return float(best)


def floor_of(variants: int, stations: int) -> float:
    """Seconds for one product and one sum of every stage, corner, variant and station, and nothing else."""
    rods, moment = np.ones((variants, stations)), np.ones((variants, stations))
    out = np.empty_like(rods)

    def work() -> None:
        for _ in range(STAGES * CORNERS):
            np.multiply(moment, 0.5, out=out)
            np.add(out, rods, out=out)

    return seconds(work, 50)


def apart(code: str, *arguments: str, times: int = 1) -> list[str]:
    """What the code prints in an interpreter of its own, once for each time; compiled once before."""
    with tempfile.TemporaryDirectory() as compiled:
        plain = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        environment = {**plain, "PYTHONPYCACHEPREFIX": compiled, "PYTHONPATH": os.pathsep.join(sys.path)}
        command = [sys.executable, "-c", code, *arguments]
        return [
            subprocess.run(command, capture_output=True, text=True, check=True, env=environment).stdout
            for _ in range(times)
        ]


def importing(what: str) -> float:
    """Seconds to import a module, the best of four interpreters."""
    code = f"import time; t = time.process_time(); import {what}; print(time.process_time() - t)"
    return min(float(text) for text in apart(code, times=5)[1:])
