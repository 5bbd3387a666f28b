"""Two margins that no code asks for: the first crack, and one rod lost."""

import numpy as np

from engineering.core.batching import Array
from engineering.core.checks.finding import Finding, Kind
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading, Worst
from engineering.core.checks.rod_stress import NO_RODS, pick
from engineering.core.checks.service import characteristic_line

MARGIN = 1.5


def margin_parts(reading: Reading) -> tuple[Array, Array, Array]:
    """Load tension at each corner under D + L (C, V, S), and the rods' stress there: after transfer, at end of life."""
    analysis = reading.analysis
    stresses, loading = analysis.stresses, analysis.loading
    tension = np.maximum(stresses.per_moment * loading.service_max, stresses.per_moment * loading.service_min)
    return np.maximum(tension, 0.0), stresses.rods_transfer, stresses.rods_final


def first_crack_ratio(reading: Reading) -> Worst:
    """1.5 × load tension over (flexural_yield + compression from the rods), worst corner of every station. (V,)"""
    tension, early, final = margin_parts(reading)
    room = reading.batch.concrete.flexural_yield_psi[:, None] - np.maximum(early, final)
    ratio = np.where(tension <= 0, 0.0, np.where(room > 0, MARGIN * tension / np.where(room > 0, room, 1.0), 1e6))
    return reading.largest(ratio.max(axis=0), reading.tension_stations)


def first_crack_margin(reading: Reading) -> list[Finding]:
    """Cracking is kept half as far again away as the service load comes, pattern by pattern, `alone` loads too."""
    worst = first_crack_ratio(reading)
    tension, early, final = margin_parts(reading)
    rods = np.maximum(early, final)
    rows, lop = np.arange(reading.variants), reading.batch.concrete.flexural_yield_psi
    here_t, here_r = tension[:, rows, worst.station], rods[:, rows, worst.station]
    room = lop - here_r
    corner = np.argmax(
        np.where(here_t <= 0, 0.0, np.where(room > 0, here_t / np.where(room > 0, room, 1.0), 1e6)), axis=0
    )
    demand, capacity = MARGIN * here_t[corner, rows], room[corner, rows]

    def working(v: int, pen: Pen) -> list[str]:
        stress, held = float(here_t[corner[v], v]), float(-here_r[corner[v], v])
        return [
            f"worst section {pen.at(worst.at_in[v])}: tension from D + L = {pen(stress, 'stress')}",
            f"demand = 1.5 × tension = 1.5 × {pen(stress, 'stress')} = {pen(demand[v], 'stress')}",
            f"capacity = flexural_yield + compression from the rods = {pen(pick(lop, v), 'stress')} + "
            f"({pen(held, 'stress')})"
            f" = {pen(capacity[v], 'stress')}",
            ratio_line(demand[v], capacity[v], pen, "stress"),
        ]

    return [
        Finding(
            "first-crack margin",
            "judgement (basis m)",
            Kind.REVIEW,
            "stress",
            demand,
            capacity,
            worst.at_in,
            working=working,
            capacity_why="the rods alone bring the concrete to its limit there",
        )
    ]


def one_rod_lost(reading: Reading) -> list[Finding]:
    """D + 0.5 L with the worst rod gone: largest tension against LOP_k."""
    name, clause = "one rod lost", "judgement"
    if not reading.has_rods:
        return [Finding(name, clause, Kind.CAUTION, "stress", not_applicable=NO_RODS)]
    stresses, rows = reading.analysis.stresses, np.arange(reading.variants)
    gone = np.argmax(stresses.rod_lost, axis=1)
    demand, at = stresses.rod_lost[rows, gone], stresses.rod_lost_at_in[rows, gone]

    def working(v: int, pen: Pen) -> list[str]:
        return [
            f"worst rod to lose: {reading.piece.rods[int(gone[v])].mark}; D + 0.5 L, the other rods with their "
            f"forces at end of life",
            f"largest tension, {pen.at(at[v])}: {pen(demand[v], 'stress')}",
            characteristic_line(reading, v, pen),
            ratio_line(demand[v], pick(reading.yield_k_psi, v), pen, "stress"),
        ]

    def caution(v: int, pen: Pen) -> str:
        lost = demand[v] > pick(reading.yield_k_psi, v)
        return (
            f"With rod {reading.piece.rods[int(gone[v])].mark} gone the piece may crack under half its live load."
            if lost
            else ""
        )

    return [
        Finding(name, clause, Kind.CAUTION, "stress", demand, reading.yield_k_psi, at, working=working, caution=caution)
    ]
