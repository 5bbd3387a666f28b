"""The concrete while it is stressed: its strength, compression and tension just after, turn by turn, and with uneven
rods."""

import numpy as np

from engineering.core.batching import Array
from engineering.core.checks.finding import Finding, Kind
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading, Worst
from engineering.core.checks.rod_stress import NO_RODS, pick

LEAST_STRENGTH_PSI = 2500.0  # ACI 318-19 26.10.2, single bar tendons
COMPRESSION_SHARE = 0.60  # ACI 318-19 Table 24.5.3.1
TENSION_SHARE = 0.50  # judgement, basis f
TENSION_CLAUSE = "half of the characteristic limit of proportionality at stressing (basis f, judgement)"


def strength_at_stressing(reading: Reading) -> list[Finding]:
    """2,500 psi against the strength at stressing."""
    name, clause = "strength at stressing", "ACI 318-19 26.10.2 (basis i)"
    if not reading.has_rods:
        return [Finding(name, clause, Kind.FAILS, "stress", not_applicable=NO_RODS)]
    strength = reading.batch.concrete.strength_at_stressing_psi

    def working(v: int, pen: Pen) -> list[str]:
        return [
            f"least strength for stressing a bar = {pen.both(LEAST_STRENGTH_PSI, 'stress')}",
            f"strength at stressing f'ci = {pen(pick(strength, v), 'stress')}",
            ratio_line(LEAST_STRENGTH_PSI, pick(strength, v), pen, "stress"),
        ]

    return [
        Finding(
            name, clause, Kind.FAILS, "stress", np.full(reading.variants, LEAST_STRENGTH_PSI), strength, working=working
        )
    ]


def compression(reading: Reading) -> list[Finding]:
    """Largest compression just after stressing against 0.60 f'ci."""
    name, clause = "transfer compression", "ACI 318-19 24.5.3.1"
    if not reading.has_rods:
        return [Finding(name, clause, Kind.FAILS, "stress", not_applicable=NO_RODS)]
    worst = reading.largest(-reading.analysis.stresses.transfer.any_min, reading.analysis.grid.in_figures)
    strength = reading.batch.concrete.strength_at_stressing_psi

    def working(v: int, pen: Pen) -> list[str]:
        f_ci = pick(strength, v)
        return [
            *transfer_lines(reading, worst, -worst.value, v, pen),
            f"limit = 0.60 f'ci = 0.60 × {pen(f_ci, 'stress')} = {pen(0.60 * f_ci, 'stress')}",
            ratio_line(worst.value[v], 0.60 * f_ci, pen, "stress"),
        ]

    return [
        Finding(
            name, clause, Kind.FAILS, "stress", worst.value, COMPRESSION_SHARE * strength, worst.at_in, working=working
        )
    ]


def transfer_lines(reading: Reading, worst: Worst, stress: Array, v: int, pen: Pen) -> list[str]:
    """Self weight and rods at the worst corner; `stress` (V,) signed."""
    analysis = reading.analysis
    trace = reading.trace(
        v,
        int(worst.station[v]),
        analysis.stresses.rods_transfer,
        {"M of self weight": float(analysis.loading.self_moment[v, worst.station[v]])},
        float(stress[v]),
    )
    return [f"worst section {pen.at(worst.at_in[v])}, tension +, compression -", *trace.lines(pen)]


def tension_limit(reading: Reading) -> Array:
    """`criteria.transfer_tension`, else 0.5 flexural_yield_at_stressing (1 - 2.539 V). [psi], (V or 1,)"""
    given = reading.piece.criteria.transfer_tension_psi
    return np.array([given]) if given is not None else TENSION_SHARE * reading.yield_k_at_stressing_psi


def tension_limit_line(reading: Reading, v: int, pen: Pen) -> str:
    limit = pick(tension_limit(reading), v)
    if reading.piece.criteria.transfer_tension_psi is not None:
        return f"limit = criteria.transfer_tension = {pen(limit, 'stress')}"
    concrete = reading.batch.concrete
    mean, spread = pick(concrete.flexural_yield_at_stressing_psi, v), pick(concrete.variation_yield, v)
    return (
        f"limit = 0.5 LOP (1 - 2.539 V) at stressing = 0.5 × {pen(mean, 'stress')} × (1 - 2.539 × {pen.number(spread)})"
        f" = {pen(limit, 'stress')}"
    )


def tension(reading: Reading) -> list[Finding]:
    """Largest tension just after stressing; the uneven variants have a check of their own."""
    return _tension(reading, "transfer tension", ~reading.uneven)


def uneven(reading: Reading) -> list[Finding]:
    """Largest tension just after stressing where the rods on one side are high and on the other low."""
    if reading.has_rods and len(reading.piece.rods) < 2:
        return [
            Finding(
                "uneven rods",
                TENSION_CLAUSE,
                Kind.FAILS,
                "stress",
                setting=True,
                not_applicable="there is only one rod",
            )
        ]
    return _tension(reading, "uneven rods", reading.uneven if reading.uneven.any() else ~reading.uneven)


def worst_tension(reading: Reading) -> Worst:
    return reading.largest(reading.analysis.stresses.transfer.any_max, reading.tension_stations)


def _tension(reading: Reading, name: str, among: np.ndarray) -> list[Finding]:
    if not reading.has_rods:
        return [Finding(name, TENSION_CLAUSE, Kind.FAILS, "stress", setting=True, not_applicable=NO_RODS)]
    worst = reading.once(worst_tension)

    def working(v: int, pen: Pen) -> list[str]:
        return [
            *transfer_lines(reading, worst, worst.value, v, pen),
            tension_limit_line(reading, v, pen),
            ratio_line(worst.value[v], pick(tension_limit(reading), v), pen, "stress"),
        ]

    return [
        Finding(
            name,
            TENSION_CLAUSE,
            Kind.FAILS,
            "stress",
            worst.value,
            tension_limit(reading),
            worst.at_in,
            setting=True,
            among=among,
            working=working,
        )
    ]


def tightening(reading: Reading) -> list[Finding]:
    """Largest tension after any turn of the order, biaxial, self weight acting."""
    name = "tightening one after another"
    if not reading.has_rods:
        return [Finding(name, TENSION_CLAUSE, Kind.FAILS, "stress", setting=True, not_applicable=NO_RODS)]
    analysis = reading.analysis
    turn = np.argmax(analysis.stresses.tightening_max, axis=1)
    rows = np.arange(reading.variants)
    stress, at = analysis.stresses.tightening_max[rows, turn], analysis.stresses.tightening_at_in[rows, turn]

    def working(v: int, pen: Pen) -> list[str]:
        step, rod = analysis.tendons.turns[int(turn[v])]
        forces = ", ".join(
            f"{one.mark} {pen(force, 'force')}"
            for one, force in zip(reading.piece.rods, analysis.tendons.turn_lbf[v, int(turn[v])], strict=True)
        )
        return [
            f"worst turn: {reading.piece.rods[rod].mark} brought to {pen.number(step)} of its force; the rods then "
            f"hold {forces}",
            f"largest tension, self weight and these forces, {pen.at(at[v])}: {pen(stress[v], 'stress')}",
            tension_limit_line(reading, v, pen),
            ratio_line(stress[v], pick(tension_limit(reading), v), pen, "stress"),
        ]

    return [
        Finding(
            name,
            TENSION_CLAUSE,
            Kind.FAILS,
            "stress",
            stress,
            tension_limit(reading),
            at,
            setting=True,
            working=working,
        )
    ]
