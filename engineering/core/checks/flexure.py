"""Bending strength: by the rods in a cracked section or by uncracked fibre concrete; what holds after a crack."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engineering.core import concrete_limits
from engineering.core.batching import Array, first_of_equals, wide
from engineering.core.checks.finding import Finding, Kind, Verdict
from engineering.core.checks.margins import first_crack_ratio
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading, Worst, early_or_final
from engineering.core.checks.rod_stress import pick
from engineering.core.checks.skin_over_core import assumed_lines
from engineering.core.quantities import Analysis
from engineering.core.strength_along import StrengthAlong

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
    fibre_limit_psi: Array

    @property
    def either(self) -> Array:
        return np.minimum(self.rods, self.fibre)


def two_ways(reading: Reading) -> TwoWays:
    """M_u/(phi M_n) of the worse sign, and factored net tension/(phi s f'u), station by station."""
    analysis, (sagging, hogging) = reading.analysis, reading.strengths
    stresses = analysis.stresses
    tension = early_or_final(stresses.factored_early, stresses.factored_final, "any_max")
    shape = np.array([1.0 if zone.kind == "solid" else 0.5 for zone in reading.piece.zones])[analysis.grid.zone]
    limit = concrete_limits.PHI_FIBRE * shape * reading.assumed_psi[:, None]
    looked = np.where(reading.tension_stations, np.maximum(tension, 0.0) / limit, np.inf)
    return TwoWays(np.maximum(sagging.ratio, hogging.ratio), looked, tension, wide(limit, tension.shape))


def flexural_strength(reading: Reading) -> list[Finding]:
    """Everywhere one of the two ways must hold; the demand is the ratio itself, the capacity 1."""
    ways = two_ways(reading)
    ratio = ways.either
    worst = reading.largest(ratio, np.ones(ratio.shape[1], bool))
    over = ratio > 1.0
    uncracked = np.where(over, ways.tension_psi / (UNCRACKED_SHARE * reading.yield_k_psi[:, None]), 0.0)
    uncracked = np.where(over & ~reading.tension_stations, np.inf, uncracked).max(axis=1)
    left_to_engineer = (uncracked <= 1.0) & holds(hanging(reading)) & (reading.once(first_crack_ratio).value <= 1.0)
    by_fibre = np.asarray(((ways.rods > 1.0) & (ways.fibre <= 1.0) & ~analysis_bare(reading)).any(axis=1))

    def working(v: int, pen: Pen) -> list[str]:
        return _strength_lines(reading, ways, v, int(worst.station[v]), pen)

    def caution(v: int, pen: Pen) -> str:
        if bool(left_to_engineer[v]) and worst.value[v] > 1.0:
            return "Strength by uncracked concrete lies outside the published basis: an engineer must judge."
        return UNCRACKED_WORDS if bool(by_fibre[v]) else ""

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
            review_instead=left_to_engineer,
            working=working,
            caution=caution,
        )
    ]


def holds(findings: list[Finding]) -> NDArray[np.bool_]:
    """Variants in which every one of the findings passes. (V or 1,)"""
    passed = np.array([finding.verdicts() for finding in findings]) == int(Verdict.PASS)
    return np.asarray(passed.all(axis=0))


def _strength_lines(reading: Reading, ways: TwoWays, v: int, station: int, pen: Pen) -> list[str]:
    sagging, hogging = reading.strengths
    one, sign = (sagging, "sagging") if sagging.ratio[v, station] >= hogging.ratio[v, station] else (hogging, "hogging")
    lines = [
        f"governing section {pen.at(reading.analysis.grid.x_in[station])}, {sign}",
        *rod_strength_lines(reading, one, v, station, pen),
    ]
    demand, design = float(one.demand_lbf_in[v, station]), float(one.design_lbf_in[v, station])
    if design > 0:
        lines.append(
            f"by the rods: M_u/(φ M_n) = {pen(demand, 'moment')} / {pen(design, 'moment')} = "
            f"{pen.number(demand / design)}"
        )
    else:
        lines.append(f"by the rods: no strength against M_u = {pen(demand, 'moment')}")
    tension, limit = float(ways.tension_psi[v, station]), float(ways.fibre_limit_psi[v, station])
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


def rod_strength_lines(reading: Reading, one: StrengthAlong, v: int, station: int, pen: Pen) -> list[str]:
    """f_ps of every rod there, the block, M_n and phi."""
    analysis, f, at = reading.analysis, one.sections, (v, int(one.section[station]))
    lines, sums = [], []
    for number, rod in enumerate(reading.piece.rods):
        if not analysis.tendons.active[station, number]:
            continue
        stress, depth = float(f.rod_stress_psi[*at, number]), float(one.section_depth_in[*at, number])
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
    """Where the rods alone are nearest to not holding D + 0.5 L (V,). direction: 0 sagging, 1 hogging."""

    worst: Worst
    direction: NDArray[np.int64]
    demand_lbf_in: Array
    capacity_lbf_in: Array


def hanging_section(reading: Reading) -> HangingSection:
    both = reading.strengths
    ratios = np.array([_service_ratio(one) for one in both])
    worst = reading.largest(ratios.max(axis=0), ~analysis_bare(reading))
    rows = np.arange(reading.variants)
    at = (rows, worst.station)
    direction = ratios[:, *at].argmax(axis=0)
    demand, capacity = (
        np.array(pair) for pair in zip(*((x.service_lbf_in[at], x.nominal_lbf_in[at]) for x in both), strict=True)
    )
    return HangingSection(worst, direction, demand[direction, rows], capacity[direction, rows])


def hanging(reading: Reading) -> list[Finding]:
    """D + 0.5 L against M_n of the rods alone, no phi, no fibre: a cracked piece sags but does not drop."""
    name, clause = "hanging on its rods", "judgement (basis g.6)"
    sagging, hogging = reading.strengths
    if not reading.has_rods:
        demand = np.maximum(sagging.service_lbf_in, hogging.service_lbf_in).max(axis=1)
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
        one = (sagging, hogging)[int(direction[v])]
        return [
            f"worst section {pen.at(worst.at_in[v])}, {('sagging', 'hogging')[int(direction[v])]}; "
            f"M = D + 0.5 L with the secondary moment = {pen(demand[v], 'moment')}",
            *rod_strength_lines(reading, one, v, int(worst.station[v]), pen),
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


def _service_ratio(one: StrengthAlong) -> Array:
    nominal = one.nominal_lbf_in
    ratio = one.service_lbf_in / np.where(nominal > 0, nominal, 1.0)
    return np.where(one.service_lbf_in <= 0, 0.0, np.where(nominal > 0, ratio, np.inf))


def after_first_crack(reading: Reading) -> list[Finding]:
    """1.2 M_cr against M_n where the factored demand ratio is highest."""
    name, clause = "after the first crack", "judgement, after ACI 318-19 9.6.2 (basis g.6)"
    if not reading.has_rods:
        return [
            Finding(name, clause, Kind.CAUTION, "moment", not_applicable="without rods nothing follows the first crack")
        ]
    where = ~analysis_bare(reading)
    ratios = np.array([np.where(where, one.ratio, -1.0) for one in reading.strengths])
    direction, station = np.unravel_index(
        first_of_equals(ratios.transpose(1, 0, 2).reshape(reading.variants, -1)), ratios.shape[::2]
    )
    rows = np.arange(reading.variants)
    cracking, nominal = (
        np.array([pick_of(one) for one in reading.strengths])[direction, rows, station]
        for pick_of in (lambda one: one.cracking_lbf_in, lambda one: one.nominal_lbf_in)
    )

    def working(v: int, pen: Pen) -> list[str]:
        one = reading.strengths[int(direction[v])]
        return [
            f"section of the highest factored demand ratio {pen.at(reading.analysis.grid.x_in[station[v]])}",
            f"1.2 M_cr = 1.2 × {pen(cracking[v], 'moment')} = {pen(1.2 * cracking[v], 'moment')}",
            *rod_strength_lines(reading, one, v, int(station[v]), pen),
            ratio_line(1.2 * cracking[v], nominal[v], pen, "moment"),
        ]

    def caution(v: int, pen: Pen) -> str:
        if 1.2 * cracking[v] <= nominal[v]:
            return ""
        return "Brittle after the first crack: the rods carry less in a cracked section than the load that cracks it."

    return [
        Finding(
            name,
            clause,
            Kind.CAUTION,
            "moment",
            1.2 * cracking,
            nominal,
            reading.analysis.grid.x_in[station],
            working=working,
            caution=caution,
            capacity_why="the rods have no strength in that direction there",
        )
    ]
