"""Threads that rods are stocked in: UNC 1/4 to 1-1/2, UNF 1/4 to 1, ISO coarse M6 to M36.

Sizes and pitches: ASME B1.1-2003 table 1 (UNC, UNF) and ISO 261 / ISO 262 (coarse), from memory.
Tensile stress area: ASME B1.1 appendix B, 0.7854 (d - 0.9743/n)^2; ISO 898-1 9.1.6.1, pi/4 ((d2 + d3)/2)^2, which is
0.7854 (d - 0.9382 P)^2. Unrounded.
"""

import math
import re
from fractions import Fraction

from engineering.core.contract.piece import Thread

MM_PER_IN = 25.4

UNC_THREADS_PER_INCH = {
    "1/4": 20,
    "5/16": 18,
    "3/8": 16,
    "7/16": 14,
    "1/2": 13,
    "9/16": 12,
    "5/8": 11,
    "3/4": 10,
    "7/8": 9,
    "1": 8,
    "1-1/8": 7,
    "1-1/4": 7,
    "1-3/8": 6,
    "1-1/2": 6,
}
UNF_THREADS_PER_INCH = {
    "1/4": 28,
    "5/16": 24,
    "3/8": 24,
    "7/16": 20,
    "1/2": 20,
    "9/16": 18,
    "5/8": 18,
    "3/4": 16,
    "7/8": 14,
    "1": 12,
}
ISO_COARSE_PITCH_MM = {
    6: 1.0,
    7: 1.0,
    8: 1.25,
    10: 1.5,
    12: 1.75,
    14: 2.0,
    16: 2.0,
    18: 2.5,
    20: 2.5,
    22: 2.5,
    24: 3.0,
    27: 3.0,
    30: 3.5,
    33: 3.5,
    36: 4.0,
}


def tensile_area_unified(diameter_in: float, threads_per_inch: float) -> float:
    """0.7854 (d - 0.9743/n)^2 [in2], ASME B1.1."""
    return math.pi / 4 * (diameter_in - 0.9743 / threads_per_inch) ** 2


def tensile_area_metric(diameter_mm: float, pitch_mm: float) -> float:
    """0.7854 (d - 0.9382 P)^2 [mm2], ISO 898-1."""
    return math.pi / 4 * (diameter_mm - 0.9382 * pitch_mm) ** 2


def _unified(size: str, threads_per_inch: int, series: str) -> Thread:
    diameter = float(sum(Fraction(part) for part in size.split("-")))
    return Thread(
        f"{size}-{threads_per_inch} {series}",
        diameter,
        1 / threads_per_inch,
        tensile_area_unified(diameter, threads_per_inch),
        False,
    )


def _metric(diameter_mm: int, pitch_mm: float) -> Thread:
    return Thread(
        f"M{diameter_mm}x{pitch_mm:g}",
        diameter_mm / MM_PER_IN,
        pitch_mm / MM_PER_IN,
        tensile_area_metric(diameter_mm, pitch_mm) / MM_PER_IN**2,
        True,
    )


THREADS: dict[str, Thread] = {
    thread.name: thread
    for thread in (
        *(_unified(size, n, "UNC") for size, n in UNC_THREADS_PER_INCH.items()),
        *(_unified(size, n, "UNF") for size, n in UNF_THREADS_PER_INCH.items()),
        *(_metric(size, pitch) for size, pitch in ISO_COARSE_PITCH_MM.items()),
    )
}

_METRIC = re.compile(r"M\s*(\d+)(?:\s*[x×X*]\s*(\d+(?:\.\d+)?))?")
_UNIFIED = re.compile(r'(\d+(?:[- ]\d+/\d+)?|\d+/\d+)\s*(?:in\b\.?|")?(?:\s*-\s*(\d+)(?![/\d]))?\s*(UNC|UNF)?', re.I)


def find_thread(name: str) -> Thread | None:
    """The thread a name means: `1/2-13 UNC`, `1/2-13`, `1/2`, `1/2 UNF`, `M12x1.75`, `M12`. None: not here."""
    text = name.strip()
    if text in THREADS:
        return THREADS[text]
    if metric := _METRIC.fullmatch(text):
        pitch = ISO_COARSE_PITCH_MM.get(int(metric[1][:4]))
        fits = pitch is not None and (metric[2] is None or float(metric[2]) == pitch)
        return THREADS[f"M{int(metric[1])}x{pitch:g}"] if fits else None
    if unified := _UNIFIED.fullmatch(text):
        return _find_unified(unified[1].replace(" ", "-"), unified[2], (unified[3] or "").upper())
    return None


def _find_unified(size: str, threads_per_inch: str | None, series: str) -> Thread | None:
    for name, table in (("UNC", UNC_THREADS_PER_INCH), ("UNF", UNF_THREADS_PER_INCH)):
        per_inch = table.get(size)
        if per_inch and series in ("", name) and threads_per_inch in (None, str(per_inch)):
            return THREADS[f"{size}-{per_inch} {name}"]
    return None
