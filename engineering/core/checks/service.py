"""Stress of the concrete in service: compression and tension under sustained and full load."""

import numpy as np

from engineering.core.batching import Array
from engineering.core.checks.finding import Finding, Kind, Verdict
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading, early_or_final
from engineering.core.checks.rod_stress import pick

SUSTAINED_SHARE, FULL_SHARE = 0.45, 0.60  # ACI 318-19 24.5.4.1
SUSTAINED_TENSION, SERVICE_TENSION = 0.25, 0.50  # shares of LOP_k, judgement, basis f
BARE_END_SHARE = 0.01  # of LOP_k: the own weight of a bare end is no tension to warn of
COMPRESSION_CLAUSE = "ACI 318-19 24.5.4.1"


def compression_sustained(reading: Reading) -> list[Finding]:
    """Dead and sustained live load, with the forces after transfer and at end of life, against 0.45 f'c."""
    stresses, loading = reading.analysis.stresses, reading.analysis.loading
    moment = loading.dead_moment + loading.sustained_moment + loading.drying_moment
    early = (stresses.rods_transfer + stresses.per_moment * moment).min(axis=0)
    stress = -np.minimum(early, stresses.sustained_final.any_min)
    return [_compression(reading, "compression under sustained load", stress, SUSTAINED_SHARE, sustained=True)]


def compression_full(reading: Reading) -> list[Finding]:
    """D + L over all patterns, early and at end of life, against 0.60 f'c."""
    stresses = reading.analysis.stresses
    stress = -early_or_final(stresses.service_early, stresses.service_final, "any_min")
    return [_compression(reading, "compression under full load", stress, FULL_SHARE, sustained=False)]


def _compression(reading: Reading, name: str, stress: Array, share: float, *, sustained: bool) -> Finding:
    worst = reading.largest(stress, reading.analysis.grid.in_figures)
    strength = reading.batch.concrete.strength_psi

    def working(v: int, pen: Pen) -> list[str]:
        f_c = pick(strength, v)
        return [
            *stress_lines(reading, v, int(worst.station[v]), -float(worst.value[v]), pen, sustained=sustained),
            f"limit = {share:.2f} f'c = {share:.2f} × {pen(f_c, 'stress')} = {pen(share * f_c, 'stress')}",
            ratio_line(worst.value[v], share * f_c, pen, "stress"),
        ]

    return Finding(
        name, COMPRESSION_CLAUSE, Kind.FAILS, "stress", worst.value, share * strength, worst.at_in, working=working
    )


def stress_lines(reading: Reading, v: int, station: int, stress: float, pen: Pen, *, sustained: bool) -> list[str]:
    """The corner, the moment and the rods (early or final, whichever gives this stress)."""
    analysis = reading.analysis
    loading, stresses = analysis.loading, analysis.stresses
    at = f"worst section {pen.at(analysis.grid.x_in[station])}, tension +, compression -"
    here = v, station
    if sustained:
        loads = {"M of dead and sustained live load": loading.dead_moment[here] + loading.sustained_moment[here]}
    else:
        loads = {"M of D + L, greatest": loading.service_max[here], "M of D + L, least": loading.service_min[here]}
    named = (
        ("with the forces at end of life", stresses.rods_final, stresses.drying_final),
        ("with the forces after transfer", stresses.rods_transfer, loading.drying_moment),
    )
    traces = []
    for words, rods, bow in named:
        moments = {label: float(moment + bow[here]) for label, moment in loads.items()}
        traces.append((words, reading.trace(v, station, rods, moments, stress)))
    words, trace = min(traces, key=lambda one: abs(one[1].rods_psi + one[1].moment_lbf_in * one[1].per_moment - stress))
    return [f"{at}, {words}", *trace.lines(pen)]


def sustained_limit(reading: Reading) -> Array:
    """`criteria.sustained_tension`, else 0.25 LOP_k. [psi], (V or 1,)"""
    given = reading.piece.criteria.sustained_tension_psi
    return np.array([given]) if given is not None else SUSTAINED_TENSION * reading.yield_k_psi


def service_limit(reading: Reading) -> Array:
    """`criteria.service_tension`, else 0.5 LOP_k. [psi], (V or 1,)"""
    given = reading.piece.criteria.service_tension_psi
    return np.array([given]) if given is not None else SERVICE_TENSION * reading.yield_k_psi


def characteristic_line(reading: Reading, v: int, pen: Pen) -> str:
    concrete = reading.batch.concrete
    mean, spread = pick(concrete.flexural_yield_psi, v), pick(concrete.variation_yield, v)
    return (
        f"LOP_k = LOP (1 - 2.539 V) = {pen(mean, 'stress')} × (1 - 2.539 × {pen.number(spread)})"
        f" = {pen(pick(reading.yield_k_psi, v), 'stress')}"
    )


def limit_lines(reading: Reading, name: str, given: float | None, share: float, v: int, pen: Pen) -> list[str]:
    if given is not None:
        return [f"limit = criteria.{name} = {pen(given, 'stress')}"]
    lop = pick(reading.yield_k_psi, v)
    return [
        characteristic_line(reading, v, pen),
        f"limit = {share:.2f} LOP_k = {share:.2f} × {pen(lop, 'stress')} = {pen(share * lop, 'stress')}",
    ]


def tension_sustained(reading: Reading) -> list[Finding]:
    """Dead and sustained live load at the end of life; any tension at all is a caution."""
    worst = reading.largest(reading.analysis.stresses.sustained_final.any_max, reading.tension_stations)
    given, limit = reading.piece.criteria.sustained_tension_psi, sustained_limit(reading)

    def working(v: int, pen: Pen) -> list[str]:
        return [
            *stress_lines(reading, v, int(worst.station[v]), float(worst.value[v]), pen, sustained=True),
            *limit_lines(reading, "sustained_tension", given, SUSTAINED_TENSION, v, pen),
            ratio_line(worst.value[v], pick(limit, v), pen, "stress"),
        ]

    def caution(v: int, pen: Pen) -> str:
        if not stays[v]:
            return ""
        stress = pen(worst.value[v], "stress")
        return f"Tension of {stress} stays on the concrete for good: aged fibres carry little of it."

    between = np.where(
        reading.analysis.grid.in_figures, reading.analysis.stresses.sustained_final.any_max, -np.inf
    ).max(axis=1)
    stays = (between > 0) | (worst.value > BARE_END_SHARE * reading.yield_k_psi)
    floor = np.where(stays, int(Verdict.CAUTION), int(Verdict.PASS))
    return [
        Finding(
            "tension under sustained load",
            "quarter of the characteristic limit of proportionality (basis f, judgement)",
            Kind.FAILS,
            "stress",
            worst.value,
            limit,
            worst.at_in,
            setting=True,
            floor=floor,
            working=working,
            caution=caution,
        )
    ]


def tension_full(reading: Reading) -> list[Finding]:
    """D + L over all patterns, early and at end of life."""
    stresses = reading.analysis.stresses
    worst = reading.largest(
        early_or_final(stresses.service_early, stresses.service_final, "any_max"), reading.tension_stations
    )
    given, limit = reading.piece.criteria.service_tension_psi, service_limit(reading)

    def working(v: int, pen: Pen) -> list[str]:
        return [
            *stress_lines(reading, v, int(worst.station[v]), float(worst.value[v]), pen, sustained=False),
            *limit_lines(reading, "service_tension", given, SERVICE_TENSION, v, pen),
            ratio_line(worst.value[v], pick(limit, v), pen, "stress"),
        ]

    return [
        Finding(
            "tension under full load",
            "half of the characteristic limit of proportionality (basis f, judgement)",
            Kind.FAILS,
            "stress",
            worst.value,
            limit,
            worst.at_in,
            setting=True,
            working=working,
        )
    ]
