"""Two margins that no code asks for: the first crack, and one rod lost."""

import numpy as np

from engineering.core.batching import Array
from engineering.core.checks.finding import Finding, Kind
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading, Worst
from engineering.core.checks.rod_stress import NO_RODS, pick
from engineering.core.checks.service import characteristic_line

MARGIN = 1.5


def load_tension(per_moment: Array, most: Array, least: Array) -> Array:
    """Tension at corners (C, ...) that moments from least to most bring (...), not under 0."""
    return np.maximum(np.maximum(per_moment * most, per_moment * least), 0.0)


def crack_share(tension: Array, room: Array) -> Array:
    """1.5 × load tension, not under 0, over what is left to the first crack; 1e6 where there is tension and nothing is
    left."""
    none_left = room <= 0.0
    if none_left.any():
        return np.where(none_left, np.where(tension > 0.0, 1e6, 0.0), MARGIN * tension / np.where(none_left, 1.0, room))
    return MARGIN * tension / room


def first_crack_ratio(reading: Reading) -> Worst:
    """1.5 × load tension over (flexural_yield + compression from the rods), worst corner of every station. (V,)"""
    stresses, loading = reading.analysis.stresses, reading.analysis.loading
    tension = load_tension(stresses.per_moment, loading.service_max, loading.service_min)
    rods = np.maximum(stresses.rods_transfer, stresses.rods_final)
    room = reading.batch.concrete.flexural_yield_psi[:, None] - rods
    return reading.largest(crack_share(tension, room).max(axis=0), reading.tension_stations)


def first_crack_margin(reading: Reading) -> list[Finding]:
    """Cracking is kept half as far again away as the service load comes, pattern by pattern, `alone` loads too."""
    worst, stresses = reading.once(first_crack_ratio), reading.analysis.stresses
    rows, lop = np.arange(reading.variants), reading.batch.concrete.flexural_yield_psi
    here = (slice(None), rows, worst.station)
    loading = reading.analysis.loading
    moments = (moment[rows, worst.station] for moment in (loading.service_max, loading.service_min))
    here_t = load_tension(stresses.per_moment[here], *moments)
    here_r = np.maximum(stresses.rods_transfer[here], stresses.rods_final[here])
    room = lop - here_r
    corner = np.argmax(crack_share(here_t, room), axis=0)
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
