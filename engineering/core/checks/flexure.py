"""Bending strength: by the rods in a cracked section or by uncracked fibre concrete; what holds after a crack."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engineering.core import concrete_limits
from engineering.core.batching import Array
from engineering.core.checks.finding import Finding, Kind, Verdict
from engineering.core.checks.margins import first_crack_ratio
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading, Worst, early_or_final
from engineering.core.checks.rod_stress import pick
from engineering.core.checks.skin_over_core import assumed_lines
from engineering.core.quantities import Analysis
from engineering.core.strength_along import DIRECTIONS

CLAUSE = "ACI 318-19 22.3 and 21.2; PCI MNL-128 (from memory, basis a.3 and g)"
UNCRACKED_SHARE = 0.60  # of LOP_k, up to which an engineer may judge (plain concrete's phi, ACI 318-19 Table 21.2.1)
UNCRACKED_WORDS = (
    "Strength rests on uncracked fibre concrete: the rods alone do not carry the factored load in a cracked section."
)


@dataclass(frozen=True)
class TwoWays:
    """Both ways to strength at every station (V, S): ratio by the rods, by the fibres (inf where not looked at), the
    smaller."""

    rods: Array
    fibre: Array
    tension_psi: Array
    fibre_limit_psi: Array  # (V or 1, S)

    @property
    def either(self) -> Array:
        return np.minimum(self.rods, self.fibre)


def two_ways(reading: Reading) -> TwoWays:
    """M_u/(phi M_n) of the worse sign, and factored net tension/(phi s f'u), station by station."""
    analysis, stresses = reading.analysis, reading.analysis.stresses
    tension = early_or_final(stresses.factored_early, stresses.factored_final, "any_max")
    shape = np.array([1.0 if zone.kind == "solid" else 0.5 for zone in reading.piece.zones])[analysis.grid.zone]
    limit = concrete_limits.PHI_FIBRE * shape * reading.assumed_psi[:, None]
    looked = np.where(reading.tension_stations, np.maximum(tension, 0.0) / limit, np.inf)
    return TwoWays(np.maximum(*reading.strengths.ratio), looked, tension, limit)


def flexural_strength(reading: Reading) -> list[Finding]:
    """Everywhere one of the two ways must hold; the demand is the ratio itself, the capacity 1."""
    ways = two_ways(reading)
    worst = reading.largest(ways.either, np.ones(len(reading.analysis.grid.x_in), bool))
    judged = left_to_engineer(reading, ways)

    def working(v: int, pen: Pen) -> list[str]:
        return _strength_lines(reading, ways, v, int(worst.station[v]), pen)

    def caution(v: int, pen: Pen) -> str:
        if bool(judged[v]) and worst.value[v] > 1.0:
            return "Strength by uncracked concrete lies outside the published basis: an engineer must judge."
        by_fibre = (ways.rods[v] > 1.0) & (ways.fibre[v] <= 1.0) & ~analysis_bare(reading)
        return UNCRACKED_WORDS if bool(by_fibre.any()) else ""

    finite = np.where(np.isfinite(worst.value), worst.value, 1e6)
    return [
        Finding(
            "flexural strength",
            CLAUSE,
            Kind.FAILS,
            "number",
            finite,
            np.ones_like(finite),
            worst.at_in,
            review_instead=judged,
            working=working,
            caution=caution,
        )
    ]


def left_to_engineer(reading: Reading, ways: TwoWays) -> NDArray[np.bool_]:
    """Variants that fail both ways somewhere, but stay uncracked there with room to spare, hang on their rods if they
    do crack, and keep the margin of the first crack. (V,)"""
    over = ways.either > 1.0
    if not over.any():
        return np.zeros(reading.variants, bool)
    uncracked = np.where(over, ways.tension_psi / (UNCRACKED_SHARE * reading.yield_k_psi[:, None]), 0.0)
    uncracked = np.where(over & ~reading.tension_stations, np.inf, uncracked).max(axis=1)
    return (uncracked <= 1.0) & holds(hanging(reading)) & (reading.once(first_crack_ratio).value <= 1.0)


def holds(findings: list[Finding]) -> NDArray[np.bool_]:
    """Variants in which every one of the findings passes. (V or 1,)"""
    passed = np.array([finding.verdicts() for finding in findings]) == int(Verdict.PASS)
    return np.asarray(passed.all(axis=0))


def _strength_lines(reading: Reading, ways: TwoWays, v: int, station: int, pen: Pen) -> list[str]:
    along = reading.strengths
    direction = int(along.ratio[:, v, station].argmax())
    lines = [
        f"governing section {pen.at(reading.analysis.grid.x_in[station])}, {DIRECTIONS[direction]}",
        *rod_strength_lines(reading, direction, v, station, pen),
    ]
    demand = float(along.demand_lbf_in[direction, v, station])
    design = float(along.sections.design_lbf_in[direction, v, along.section[station]])
    if design > 0:
        lines.append(
            f"by the rods: M_u/(φ M_n) = {pen(demand, 'moment')} / {pen(design, 'moment')} = "
            f"{pen.number(demand / design)}"
        )
    else:
        lines.append(f"by the rods: no strength against M_u = {pen(demand, 'moment')}")
    tension, limit = float(ways.tension_psi[v, station]), pick(ways.fibre_limit_psi[:, station], v)
    if not np.isfinite(ways.fibre[v, station]):
        return [*lines, "by the fibres: not counted within one depth of the anchors"]
    s = limit / (concrete_limits.PHI_FIBRE * pick(reading.assumed_psi, v))
    lines += [
        *assumed_lines(reading, v, pen),
        f"φ s f'u = 0.75 × {pen.number(s)} × {pen(pick(reading.assumed_psi, v), 'stress')} = {pen(limit, 'stress')}",
    ]
    if tension <= 0:
        return [*lines, f"by the fibres: factored net stress {pen(tension, 'stress')} is no tension: ratio 0"]
    return [
        *lines,
        f"by the fibres: net tension/(φ s f'u) = {pen(tension, 'stress')} / {pen(limit, 'stress')}"
        f" = {pen.number(tension / limit)}",
        "the smaller of the two counts",
    ]


def rod_strength_lines(reading: Reading, direction: int, v: int, station: int, pen: Pen) -> list[str]:
    """f_ps of every rod there, the block, M_n and phi."""
    analysis, along = reading.analysis, reading.strengths
    f, at = along.sections, (direction, v, int(along.section[station]))
    lines, sums = [], []
    for number, rod in enumerate(reading.piece.rods):
        if not analysis.tendons.active[station, number]:
            continue
        stress, depth = float(f.rod_stress_psi[number, *at]), float(along.rods.depth_in[number, *at])
        area = pick(reading.batch.rods.area_in2[:, number], v)
        effective = float(analysis.time.final_lbf[v, number]) / area
        lines.append(_rod_line(analysis, number, rod.mark, effective, depth, float(f.neutral_in[at]), stress, pen))
        sums.append(
            f"{pen(area, 'area')} × {pen(stress, 'stress')} × ({pen(depth, 'length')} - "
            f"{pen(f.centre_in[at], 'length')})"
        )
    if not sums:
        return [*lines, "no rod at this section: M_n = 0"]
    return [
        *lines,
        f"c = {pen(f.neutral_in[at], 'length')}, block a = β1 c = {pen(f.block_in[at], 'length')} in the real "
        f"section, its centre "
        f"{pen(f.centre_in[at], 'length')} from the face",
        f"M_n = Σ A f_ps (d_p - y) = {' + '.join(sums)} = {pen(f.nominal_lbf_in[at], 'moment')}",
        f"strain at the extreme rod {pen.number(min(f.tension_strain[at], 1.0))}: φ M_n = {pen.number(f.phi[at])} × "
        f"{pen(f.nominal_lbf_in[at], 'moment')} = {pen(f.design_lbf_in[at], 'moment')}",
    ]


def _rod_line(
    analysis: Analysis, number: int, mark: str, effective: float, depth: float, neutral: float, stress: float, pen: Pen
) -> str:
    length = float(analysis.tendons.face_span_in[number])
    hinge = effective + 900e3 * (depth - neutral) / length
    text = (
        f"{mark}: f_se + 900 ksi (d_p - c)/l = {pen(effective, 'stress')} + {pen(900e3, 'stress')} × "
        f"({pen(depth, 'length')}"
        f" - {pen(neutral, 'length')}) / {pen(length, 'length')} = {pen(hinge, 'stress')}"
    )
    if abs(hinge - stress) <= 1e-6 * max(stress, 1.0):
        return text + "; f_ps is this"
    return text + f"; f_ps held to {pen(stress, 'stress')} by yield or ACI 318-19 Table 20.3.2.4.1"


@dataclass(frozen=True)
class HangingSection:
    """Where the rods alone are nearest to not holding D + 0.5 L (V,). direction: of bending."""

    worst: Worst
    direction: NDArray[np.int64]
    demand_lbf_in: Array
    capacity_lbf_in: Array


def hanging_section(reading: Reading) -> HangingSection:
    along = reading.strengths
    worst = reading.largest(np.maximum(*along.service_ratio), ~analysis_bare(reading))
    rows = np.arange(reading.variants)
    direction = along.service_ratio[:, rows, worst.station].argmax(axis=0)
    at = (direction, rows, worst.station)
    return HangingSection(worst, direction, along.service_lbf_in[at], along.nominal_lbf_in[at])


def hanging(reading: Reading) -> list[Finding]:
    """D + 0.5 L against M_n of the rods alone, no phi, no fibre: a cracked piece sags but does not drop."""
    name, clause = "hanging on its rods", "judgement (basis g.6)"
    if not reading.has_rods:
        demand = reading.strengths.service_lbf_in.max(axis=(0, 2))
        return [
            Finding(
                name,
                clause,
                Kind.REVIEW,
                "moment",
                demand,
                np.zeros_like(demand),
                met=np.zeros(demand.shape, bool),
                capacity_why="a piece without rods has nothing to hang on once it is cracked",
            )
        ]
    section = reading.once(hanging_section)
    worst, direction = section.worst, section.direction
    demand, capacity = section.demand_lbf_in, section.capacity_lbf_in

    def working(v: int, pen: Pen) -> list[str]:
        way = int(direction[v])
        return [
            f"worst section {pen.at(worst.at_in[v])}, {DIRECTIONS[way]}; "
            f"M = D + 0.5 L with the secondary moment = {pen(demand[v], 'moment')}",
            *rod_strength_lines(reading, way, v, int(worst.station[v]), pen),
            ratio_line(demand[v], capacity[v], pen, "moment"),
        ]

    return [
        Finding(
            name,
            clause,
            Kind.REVIEW,
            "moment",
            demand,
            capacity,
            worst.at_in,
            working=working,
            capacity_why="the rods have no strength in that direction there",
        )
    ]


def analysis_bare(reading: Reading) -> NDArray[np.bool_]:
    return np.asarray(reading.analysis.grid.bare)


def after_first_crack(reading: Reading) -> list[Finding]:
    """1.2 M_cr against M_n where the factored demand ratio is highest."""
    name, clause = "after the first crack", "judgement, after ACI 318-19 9.6.2 (basis g.6)"
    if not reading.has_rods:
        return [
            Finding(name, clause, Kind.CAUTION, "moment", not_applicable="without rods nothing follows the first crack")
        ]
    along, (direction, station) = reading.strengths, reading.governing
    at = (direction, np.arange(reading.variants), station)
    demand, nominal = 1.2 * along.cracking_lbf_in[at], along.nominal_lbf_in[at]

    def working(v: int, pen: Pen) -> list[str]:
        cracking = along.cracking_lbf_in[direction[v], v, station[v]]
        return [
            f"section of the highest factored demand ratio {pen.at(reading.analysis.grid.x_in[station[v]])}",
            f"1.2 M_cr = 1.2 × {pen(cracking, 'moment')} = {pen(demand[v], 'moment')}",
            *rod_strength_lines(reading, int(direction[v]), v, int(station[v]), pen),
            ratio_line(demand[v], nominal[v], pen, "moment"),
        ]

    def caution(v: int, pen: Pen) -> str:
        if demand[v] <= nominal[v]:
            return ""
        return "Brittle after the first crack: the rods carry less in a cracked section than the load that cracks it."

    return [
        Finding(
            name,
            clause,
            Kind.CAUTION,
            "moment",
            demand,
            nominal,
            reading.analysis.grid.x_in[station],
            working=working,
            caution=caution,
            capacity_why="the rods have no strength in that direction there",
        )
    ]
