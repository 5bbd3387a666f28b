"""The rod itself: stress at jacking and after transfer, twist while the nut turns, the grip of the thread."""

import numpy as np

from engineering.core import thread_grip, tightening
from engineering.core.batching import Array
from engineering.core.checks.finding import Finding, Kind, Verdict
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading

NO_RODS = "there are no rods"
TABLE = "ACI 318-19 Table 20.3.2.5.1, by analogy for rod that is no prestressing steel"
TWIST_REVIEW = 0.94


def at_jacking(reading: Reading) -> list[Finding]:
    """Stress under the nut at jacking against min(0.94 f_y, 0.80 f_u). Every rod, every variant."""
    if not reading.has_rods:
        return [Finding("rod stress at jacking", TABLE, Kind.FAILS, "stress", not_applicable=NO_RODS)]
    rods = reading.batch.rods
    return [
        _at_jacking(reading, number, rods.jacking_lbf[:, number] / rods.area_in2[:, number])
        for number in range(len(reading.piece.rods))
    ]


def _at_jacking(reading: Reading, number: int, stress: Array) -> Finding:
    rod, batch = reading.piece.rods[number], reading.batch.rods
    yields, ultimate = batch.yield_psi[:, number], batch.ultimate_psi[:, number]

    def working(v: int, pen: Pen) -> list[str]:
        force, area = pick(batch.jacking_lbf[:, number], v), pick(batch.area_in2[:, number], v)
        f_y, f_u = pick(yields, v), pick(ultimate, v)
        limit = min(0.94 * f_y, 0.80 * f_u)
        return [
            f"stress = P/A_t = {pen(force, 'force')} / {pen(area, 'area')} = {pen(force / area, 'stress')}",
            f"limit = min(0.94 f_y, 0.80 f_u) = min(0.94 × {pen(f_y, 'stress')}, 0.80 × {pen(f_u, 'stress')})"
            f" = {pen(limit, 'stress')}",
            ratio_line(force / area, limit, pen, "stress"),
        ]

    custom = (
        f"{rod.grade.name}: the standard gives no yield strength; the figure used is custom."
        if rod.grade.yield_by_custom
        else ""
    )
    return Finding(
        f"rod stress at jacking {rod.mark}",
        TABLE,
        Kind.FAILS,
        "stress",
        stress,
        np.minimum(0.94 * yields, 0.80 * ultimate),
        working=working,
        caution=lambda v, pen: custom,
    )


def after_transfer(reading: Reading) -> list[Finding]:
    """Largest stress along the rod after seating and the tightening of the others against 0.70 f_u."""
    if not reading.has_rods:
        return [Finding("rod stress after transfer", TABLE, Kind.FAILS, "stress", not_applicable=NO_RODS)]
    return [_after_transfer(reading, number) for number in range(len(reading.piece.rods))]


def _after_transfer(reading: Reading, number: int) -> Finding:
    analysis, batch = reading.analysis, reading.batch.rods
    largest = reading.largest(analysis.tendons.transfer_profile_lbf[:, :, number], analysis.tendons.active[:, number])
    area, ultimate = batch.area_in2[:, number], batch.ultimate_psi[:, number]

    def working(v: int, pen: Pen) -> list[str]:
        force, a_t, f_u = largest.value[v], pick(area, v), pick(ultimate, v)
        return [
            f"largest force along the rod after seating and the tightening of the others = {pen(force, 'force')}",
            f"stress = P/A_t = {pen(force, 'force')} / {pen(a_t, 'area')} = {pen(force / a_t, 'stress')}",
            f"limit = 0.70 f_u = 0.70 × {pen(f_u, 'stress')} = {pen(0.70 * f_u, 'stress')}",
            ratio_line(force / a_t, 0.70 * f_u, pen, "stress"),
        ]

    return Finding(
        f"rod stress after transfer {reading.piece.rods[number].mark}",
        TABLE,
        Kind.FAILS,
        "stress",
        largest.value / area,
        0.70 * ultimate,
        largest.at_in,
        working=working,
    )


def while_tightening(reading: Reading) -> list[Finding]:
    """sqrt(sigma² + 3 tau²) with half the torque in the thread against f_y; an engineer looks from 0.94 f_y on."""
    stressing, clause = reading.piece.stressing, "von Mises; half the torque goes through the thread (basis j)"
    none = NO_RODS if not reading.has_rods or stressing is None else "a jack pulls straight: nothing twists the rod"
    if not reading.has_rods or stressing is None or stressing.method == "jack":
        return [Finding("rod twist while tightening", clause, Kind.FAILS, "stress", not_applicable=none)]
    return [_twist(reading, number, stressing.nut_factor, clause) for number in range(len(reading.piece.rods))]


def _twist(reading: Reading, number: int, nut_factor: float, clause: str) -> Finding:
    rod, batch = reading.piece.rods[number], reading.batch.rods
    force, area, yields = (a[:, number] for a in (batch.jacking_lbf, batch.area_in2, batch.yield_psi))
    torque = tightening.torque(nut_factor, rod.thread.diameter_in, force)
    twist = tightening.twist_stress(0.5 * torque, area)
    both = tightening.equivalent_stress(force / area, twist)

    def working(v: int, pen: Pen) -> list[str]:
        p, a, t = pick(force, v), pick(area, v), pick(torque, v)
        d, sigma, tau = float(tightening.stress_diameter(a)), p / a, pick(twist, v)
        return [
            f"T = K D P = {pen.number(nut_factor)} × {pen(rod.thread.diameter_in, 'length')} × {pen(p, 'force')} = "
            f"{pen(t, 'moment')}",
            f"d = √(4 A_t/π) = √(4 × {pen(a, 'area')} / π) = {pen(d, 'length')}",
            f"τ = 16 (T/2)/(π d³) = 16 × {pen(0.5 * t, 'moment')} / (π × ({pen(d, 'length')})³) = {pen(tau, 'stress')}",
            f"√(σ² + 3 τ²) = √(({pen(sigma, 'stress')})² + 3 × ({pen(tau, 'stress')})²) = "
            f"{pen(pick(both, v), 'stress')}",
            f"limit = f_y = {pen(pick(yields, v), 'stress')}; an engineer looks from 0.94 f_y on",
            ratio_line(pick(both, v), pick(yields, v), pen, "stress"),
        ]

    floor = np.where(both > TWIST_REVIEW * yields, int(Verdict.REVIEW), int(Verdict.PASS))
    return Finding(
        f"rod twist while tightening {rod.mark}",
        clause,
        Kind.FAILS,
        "stress",
        both,
        yields,
        floor=floor,
        working=working,
    )


def grip(reading: Reading) -> list[Finding]:
    """The rod breaks before a thread strips in a full nut."""
    clause = "FED-STD-H28 shear areas at least material, heavy hex nut of full height (ASTM A563, basis b.3)"
    if not reading.has_rods:
        return [Finding("thread grip", clause, Kind.REVIEW, "force", not_applicable=NO_RODS)]
    return [_grip(reading, number, clause) for number in range(len(reading.piece.rods))]


def _grip(reading: Reading, number: int, clause: str) -> Finding:
    rod, batch = reading.piece.rods[number], reading.batch.rods
    thread, height = rod.thread, thread_grip.nut_height(rod.thread)
    rod_area, nut_area = thread_grip.rod_shear_area(thread, height), thread_grip.nut_shear_area(thread, height)
    area, ultimate = batch.area_in2[:, number], batch.ultimate_psi[:, number]
    share = thread_grip.SHEAR_SHARE * min(rod_area, nut_area)

    def working(v: int, pen: Pen) -> list[str]:
        f_u, a = pick(ultimate, v), pick(area, v)
        return [
            f"rod breaks at A_t f_u = {pen(a, 'area')} × {pen(f_u, 'stress')} = {pen(a * f_u, 'force')}",
            f"nut {pen(height, 'length')} high: shear area of the rod's thread {pen(rod_area, 'area')}, of the nut's "
            f"{pen(nut_area, 'area')}",
            f"thread strips at 0.577 f_u A_s = 0.577 × {pen(f_u, 'stress')} × {pen(min(rod_area, nut_area), 'area')}"
            f" = {pen(share * f_u, 'force')}",
            ratio_line(a * f_u, share * f_u, pen, "force"),
        ]

    return Finding(
        f"thread grip {rod.mark}", clause, Kind.REVIEW, "force", area * ultimate, share * ultimate, working=working
    )


def pick(values: Array, variant: int) -> float:
    """The value of a variant where an array may hold one for all. (V or 1,)"""
    return float(values[variant if len(values) > 1 else 0])
