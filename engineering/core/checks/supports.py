"""The supports: holding down, pressure, one of them off level; and loads off the middle, which this basis does not
cover."""

import numpy as np

from engineering.core.batching import zone_number
from engineering.core.checks.finding import Finding, Kind
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading
from engineering.core.checks.rod_stress import pick
from engineering.core.checks.service import SERVICE_TENSION, limit_lines, service_limit
from engineering.core.contract.piece import Load

OFF_IN = 0.01  # an `across` this near the centroid is the centroid's


def holding_down(reading: Reading) -> list[Finding]:
    """`uplift_factor` against the least (R_dead + R_rods)/(-R_live_min) of supports that cannot pull down."""
    name, clause = "holding down", "basis k (setting)"
    factor, wanted = reading.analysis.uplift_factor, reading.piece.criteria.uplift_factor
    if np.all(np.isnan(factor)):
        return [
            Finding(
                name,
                clause,
                Kind.FAILS,
                setting=True,
                not_applicable="live load lifts no support that cannot pull down",
            )
        ]

    factor = np.where(np.isnan(factor), np.inf, factor)

    def working(v: int, pen: Pen) -> list[str]:
        lines, analysis = [], reading.analysis
        for number, support in enumerate(reading.piece.supports):
            lift, dead, rods = (
                float(a[v, number])
                for a in (analysis.loading.live_reaction_min, analysis.loading.dead_reaction, analysis.reaction_rods)
            )
            if lift < 0 and not support.hold_down and dead + rods > 0:
                lines.append(
                    f"support {number + 1}: (R_dead + R_rods)/(-R_live_min) = ({pen(dead, 'force')} + "
                    f"({pen(rods, 'force')})) / "
                    f"{pen(-lift, 'force')} = {pen.number((dead + rods) / -lift)}"
                )
        return [*lines, f"wanted = {pen.number(wanted)}", ratio_line(wanted, factor[v], pen, "number")]

    return [
        Finding(
            name,
            clause,
            Kind.FAILS,
            "number",
            np.full(factor.shape, wanted),
            factor,
            setting=True,
            working=working,
            capacity_why="dead load and rods do not hold a support down that live load lifts",
        )
    ]


def bearing(reading: Reading) -> list[Finding]:
    """reaction.service_max/(bearing × contact width) against `support_pressure`, support by support."""
    name, clause, limit = (
        "bearing on the supports",
        "criteria.support_pressure",
        reading.piece.criteria.support_pressure_psi,
    )
    if limit is None:
        return [Finding(name, clause, Kind.FAILS, "stress", not_applicable="criteria.support_pressure is not given")]
    return [
        _bearing(reading, number, f"{name} {number + 1}", clause, limit)
        for number in range(len(reading.piece.supports))
    ]


def _bearing(reading: Reading, number: int, name: str, clause: str, limit: float) -> Finding:
    support, analysis = reading.piece.supports[number], reading.analysis
    reaction, width = analysis.reaction_service_max[:, number], analysis.contact_width_in[:, number]
    if np.any(width <= 0):
        return Finding(
            name,
            clause,
            Kind.FAILS,
            "stress",
            reaction,
            np.zeros_like(reaction),
            np.full(reaction.shape, support.at_in),
            capacity_why="the section has no flat foot there to stand on",
        )
    demand = reaction / (support.bearing_in * width)

    def working(v: int, pen: Pen) -> list[str]:
        return [
            f"pressure = R/(bearing × contact width) = {pen(reaction[v], 'force')} / "
            f"({pen(support.bearing_in, 'length')} × "
            f"{pen(width[v], 'length')}) = {pen(demand[v], 'stress')}",
            f"limit = criteria.support_pressure = {pen(limit, 'stress')}",
            ratio_line(demand[v], limit, pen, "stress"),
        ]

    return Finding(
        name,
        clause,
        Kind.FAILS,
        "stress",
        demand,
        np.full(demand.shape, limit),
        np.full(demand.shape, support.at_in),
        working=working,
    )


def uneven_supports(reading: Reading) -> list[Finding]:
    """Full-load tension with one of three or more supports off by `support_tolerance`."""
    name, clause = "uneven supports", "as tension under full load (basis k)"
    tolerance = reading.piece.criteria.support_tolerance_in
    if len(reading.piece.supports) < 3:
        return [
            Finding(
                name, clause, Kind.FAILS, "stress", setting=True, not_applicable="two supports settle without stress"
            )
        ]
    if tolerance <= 0:
        return [
            Finding(name, clause, Kind.FAILS, "stress", setting=True, not_applicable="criteria.support_tolerance is 0")
        ]
    stresses, rows = reading.analysis.stresses, np.arange(reading.variants)
    tension = np.maximum(stresses.uneven_early, stresses.uneven_final)
    case = tension.argmax(axis=1)
    demand, at, limit = tension[rows, case], stresses.uneven_at_in[rows, case], service_limit(reading)

    def working(v: int, pen: Pen) -> list[str]:
        return [
            f"support {int(case[v]) + 1} off level by {pen(tolerance, 'length')}, up or down, D + L, early or late: "
            f"largest tension "
            f"{pen.at(at[v])} = {pen(demand[v], 'stress')}",
            *limit_lines(
                reading, "service_tension", reading.piece.criteria.service_tension_psi, SERVICE_TENSION, v, pen
            ),
            ratio_line(demand[v], pick(limit, v), pen, "stress"),
        ]

    return [Finding(name, clause, Kind.FAILS, "stress", demand, limit, at, setting=True, working=working)]


def off_the_middle(reading: Reading) -> list[Finding]:
    """A load whose `across` is not the centroid's: torsion and tipping are not calculated here."""
    name, clause = "load off the middle", "torsion and tipping lie outside this basis"
    placed = [load for load in reading.piece.loads if load.across_in is not None]
    if not placed:
        return [Finding(name, clause, Kind.REVIEW, "length", not_applicable="every load acts through the centroid")]
    offsets = np.stack([_offset(reading, load) for load in placed])
    case = offsets.argmax(axis=0)
    demand = offsets.max(axis=0)

    def working(v: int, pen: Pen) -> list[str]:
        load = placed[int(case[v])]
        return [
            f"{load.label or 'load'}: {pen(demand[v], 'length')} off the centroid across (at z = "
            f"{pen(load.across_in or 0.0, 'length')})"
        ]

    return [
        Finding(
            name,
            clause,
            Kind.REVIEW,
            "length",
            demand,
            np.full(demand.shape, OFF_IN),
            met=demand <= OFF_IN,
            working=working,
            caution=lambda v, pen: (
                "A load off the middle twists and may tip the piece: this is not calculated."
                if demand[v] > OFF_IN
                else ""
            ),
            capacity_why="yes or no: an engineer judges the twist",
        )
    ]


def _offset(reading: Reading, load: Load) -> np.ndarray:
    """Greatest distance across from the load to the centroid of the zones it lies over (V,)."""
    piece, centre = reading.piece, reading.analysis.gross.across_in
    if load.at_in is not None:
        zones = [zone_number(piece, load.at_in)]
    else:
        zones = [
            k
            for k, zone in enumerate(piece.zones)
            if load.anywhere or (load.from_in < zone.end_in and load.to_in > zone.start_in)
        ]
    across = load.across_in if load.across_in is not None else 0.0
    return np.abs(centre[:, zones] - across).max(axis=1)
