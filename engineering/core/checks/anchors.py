"""The anchors: bearing at stressing and in service, bursting, thickness of the plate. The worse of both ends counts."""

from dataclasses import dataclass

import numpy as np

from engineering.core import anchorage
from engineering.core.anchor_faces import AnchorFaces, Bursting, bursting
from engineering.core.batching import Array
from engineering.core.checks.finding import Finding, Kind
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading
from engineering.core.checks.rod_stress import NO_RODS, pick
from engineering.core.contract.piece import Rod
from engineering.core.quantities import Whole

BEARING_CLAUSE = "permissible bearing of post-tensioning practice (older ACI 318 commentary, from memory, basis i)"
BURSTING_CLAUSE = "ACI 318-19 25.9.4.4 (basis i)"
BURSTING_SHARE = 0.4  # of LOP_k at stressing, judgement


def net_area(rod: Rod) -> float:
    return float(
        anchorage.net_plate_area(rod.anchor.width_in, rod.anchor.height_in, rod.anchor.hole_in, rod.sleeve.outside_in)
    )


def _net_line(rod: Rod, area_in2: float, pen: Pen) -> str:
    hole = max(rod.anchor.hole_in, rod.sleeve.outside_in)
    return (
        f"A_net = {pen(rod.anchor.width_in, 'length')} × {pen(rod.anchor.height_in, 'length')} - π × "
        f"({pen(hole, 'length')})² / 4"
        f" = {pen(area_in2, 'area')}"
    )


@dataclass(frozen=True)
class Bearing:
    """Under the plates (R, V or 1), worse end: P, pressure and limit; strength (V or 1,); how often the plate can grow
    before it meets a face or core, and which end that is: 0 left, 1 right (R, V)."""

    force_lbf: Array
    pressure_psi: Array
    limit_psi: Array
    strength_psi: Array
    least: Array
    end: Whole


def net_areas(reading: Reading) -> Array:
    """A_net of every rod's plate (R, 1)."""
    return np.array([[net_area(rod)] for rod in reading.piece.rods])


def bearing_at_stressing(reading: Reading) -> list[Finding]:
    """1.2 × jacking force/A_net against 0.8 f'ci √(A2/A1 - 0.2), not over 1.25 f'ci."""
    name = "bearing under the plate at stressing"
    if not reading.has_rods:
        return [Finding(name, BEARING_CLAUSE, Kind.FAILS, "stress", not_applicable=NO_RODS)]
    least, end = reading.once(room_to_grow)
    strength, force = reading.batch.concrete.strength_at_stressing_psi, reading.once(factored_jacking)
    limit = anchorage.bearing_at_stressing(strength, least**2)
    under = Bearing(force, force / reading.once(net_areas), limit, strength, least, end)
    return [_bearing(reading, number, name, under, at_stressing=True) for number in range(len(reading.piece.rods))]


def bearing_in_service(reading: Reading) -> list[Finding]:
    """Force after transfer/A_net against 0.6 f'c √(A2/A1), not over f'c."""
    name = "bearing under the plate in service"
    if not reading.has_rods:
        return [Finding(name, BEARING_CLAUSE, Kind.FAILS, "stress", not_applicable=NO_RODS)]
    least, end = reading.once(room_to_grow)
    strength, force = reading.batch.concrete.strength_psi, reading.analysis.tendons.transfer_lbf.T
    limit = anchorage.bearing_in_service(strength, least**2)
    under = Bearing(force, force / reading.once(net_areas), limit, strength, least, end)
    return [_bearing(reading, number, name, under, at_stressing=False) for number in range(len(reading.piece.rods))]


def factored_jacking(reading: Reading) -> Array:
    """P_pu = 1.2 × jacking force (R, V or 1)."""
    return anchorage.JACKING_FACTOR * reading.batch.rods.jacking_lbf.T


def room_to_grow(reading: Reading) -> tuple[Array, Whole]:
    """How often each plate can grow at its worse end, and which that is, of equals the left one (R, V)."""
    left, right = reading.faces.spread
    return np.minimum(left, right), np.asarray(right < left, int)


def _bearing(reading: Reading, number: int, name: str, under: Bearing, *, at_stressing: bool) -> Finding:
    rod = reading.piece.rods[number]
    force, demand, capacity = under.force_lbf[number], under.pressure_psi[number], under.limit_psi[number]
    least, end, strength = under.least[number], under.end[number], under.strength_psi

    def working(v: int, pen: Pen) -> list[str]:
        p, f, k2, area = pick(force, v), pick(strength, v), float(least[v]) ** 2, net_area(rod)
        lines = [_net_line(rod, area, pen)]
        if at_stressing:
            lines.append(f"P_pu = 1.2 × jacking force = 1.2 × {pen(p / 1.2, 'force')} = {pen(p, 'force')}")
        lines.append(f"pressure = P/A_net = {pen(p, 'force')} / {pen(area, 'area')} = {pen(pick(demand, v), 'stress')}")
        lines.append(
            f"{('left', 'right')[int(end[v])]} end: the plate can grow {pen.number(least[v])} times before it meets "
            f"a face or core: "
            f"A2/A1 = ({pen.number(least[v])})² = {pen.number(k2)}"
        )
        lines.append(
            f"limit = min(0.8 f'ci √(A2/A1 - 0.2), 1.25 f'ci) = min(0.8 × {pen(f, 'stress')} × "
            f"√(max({pen.number(k2)} - 0.2, 0)),"
            f" 1.25 × {pen(f, 'stress')}) = {pen(capacity[v], 'stress')}"
            if at_stressing
            else f"limit = min(0.6 f'c √(A2/A1), f'c) = min(0.6 × {pen(f, 'stress')} × √({pen.number(k2)}), "
            f"{pen(f, 'stress')})"
            f" = {pen(capacity[v], 'stress')}"
        )
        return [*lines, ratio_line(pick(demand, v), capacity[v], pen, "stress")]

    return Finding(
        f"{name} {rod.mark}",
        BEARING_CLAUSE,
        Kind.FAILS,
        "stress",
        demand,
        capacity,
        reading.faces.x_in[end, number],
        working=working,
        capacity_why="hardly any concrete stands around the plate",
    )


def bursting_limit(reading: Reading) -> Array:
    """`criteria.bursting`, else 0.4 LOP_k at stressing. [psi], (V or 1,)"""
    given = reading.piece.criteria.bursting_psi
    return np.array([given]) if given is not None else BURSTING_SHARE * reading.yield_k_at_stressing_psi


def bursting_at_jacking(reading: Reading) -> Bursting:
    return bursting(reading.analysis, reading.faces, reading.once(factored_jacking))


def bursting_check(reading: Reading) -> list[Finding]:
    """T/(b 0.5 h) upright and across at both ends, P_pu = 1.2 × jacking force."""
    if not reading.has_rods:
        return [Finding("bursting", BURSTING_CLAUSE, Kind.FAILS, "stress", setting=True, not_applicable=NO_RODS)]
    force, both = reading.once(factored_jacking), reading.once(bursting_at_jacking)
    stress = np.concatenate([both.upright_psi, both.across_psi])
    case, demand = stress.argmax(axis=0), np.maximum.reduce(stress)
    return [_bursting(reading, number, force[number], case[number], demand[number]) for number in range(len(force))]


def _bursting(reading: Reading, number: int, force: Array, case: Whole, demand: Array) -> Finding:
    """case: 0 upright left, 1 upright right, 2 across left, 3 across right. (V or 1,)"""
    rod, faces = reading.piece.rods[number], reading.faces
    limit = bursting_limit(reading)

    def working(v: int, pen: Pen) -> list[str]:
        end, upright = int(case[v]) % 2, case[v] < 2
        p = pick(force, v)
        return [
            f"P_pu = 1.2 × jacking force = 1.2 × {pen(p / 1.2, 'force')} = {pen(p, 'force')}",
            *bursting_lines(rod, faces, (end, number, v), bool(upright), p, float(demand[v]), pen),
            limit_line(reading, v, pen),
            ratio_line(demand[v], pick(limit, v), pen, "stress"),
        ]

    return Finding(
        f"bursting {rod.mark}",
        BURSTING_CLAUSE,
        Kind.FAILS,
        "stress",
        demand,
        limit,
        faces.x_in[case % 2, number],
        setting=True,
        working=working,
    )


def bursting_lines(
    rod: Rod, faces: AnchorFaces, at: tuple[int, int, int], upright: bool, force: float, stress: float, pen: Pen
) -> list[str]:
    """T and its stress at one end in one direction. at: end, rod, variant."""
    h = float((faces.depth_in if upright else faces.side_in)[at])
    a = rod.anchor.height_in if upright else rod.anchor.width_in
    b = float((faces.breadth_in if upright else faces.depth_in)[at])
    t = float(anchorage.bursting_force(force, a, h))
    return [
        f"governing: {'upright' if upright else 'across'}, {('left', 'right')[at[0]]} end, a = {pen(a, 'length')}, h "
        f"= {pen(h, 'length')}, "
        f"b = {pen(b, 'length')}",
        f"T = 0.25 P_pu (1 - a/h) = 0.25 × {pen(force, 'force')} × max(1 - {pen(a, 'length')} / {pen(h, 'length')}, "
        f"0) = {pen(t, 'force')}",
        f"stress = T/(b·0.5 h) = {pen(t, 'force')} / ({pen(b, 'length')} × 0.5 × {pen(h, 'length')}) = "
        f"{pen(stress, 'stress')}",
    ]


def limit_line(reading: Reading, v: int, pen: Pen) -> str:
    limit = pick(bursting_limit(reading), v)
    if reading.piece.criteria.bursting_psi is not None:
        return f"limit = criteria.bursting = {pen(limit, 'stress')}"
    lop = pick(reading.yield_k_at_stressing_psi, v)
    return f"limit = 0.4 LOP_k at stressing = 0.4 × {pen(lop, 'stress')} = {pen(limit, 'stress')}"


def plate_thickness(reading: Reading) -> list[Finding]:
    """Thickness that the strip beyond the nut's flats needs under 1.2 × jacking force, against the plate given."""
    clause = "cantilever strip, φ = 0.9 (basis i)"
    if not reading.has_rods:
        return [Finding("plate thickness", clause, Kind.REVIEW, "length", not_applicable=NO_RODS)]
    return [_plate(reading, number, clause) for number in range(len(reading.piece.rods))]


def _plate(reading: Reading, number: int, clause: str) -> Finding:
    rod = reading.piece.rods[number]
    plate, force = rod.anchor, reading.once(factored_jacking)[number]
    pressure = force / net_area(rod)
    overhang = float(anchorage.plate_overhang(plate.width_in, plate.height_in, rod.thread.diameter_in))
    needed = anchorage.plate_thickness(overhang, pressure, plate.yield_psi)

    def working(v: int, pen: Pen) -> list[str]:
        longer, area = max(plate.width_in, plate.height_in), net_area(rod)
        return [
            _net_line(rod, area, pen),
            f"p = 1.2 P/A_net = {pen(pick(force, v), 'force')} / {pen(area, 'area')}"
            f" = {pen(pick(pressure, v), 'stress')}",
            f"n = (side - 1.5 D)/2 = max({pen(longer, 'length')} - 1.5 × {pen(rod.thread.diameter_in, 'length')}, "
            f"0) / 2"
            f" = {pen(overhang, 'length')}",
            f"t = n √(2 p/(0.9 F_y)) = {pen(overhang, 'length')} × √(2 × {pen(pick(pressure, v), 'stress')} / (0.9 × "
            f"{pen(plate.yield_psi, 'stress')}))"
            f" = {pen(pick(needed, v), 'length')}",
            ratio_line(pick(needed, v), plate.thickness_in, pen, "length"),
        ]

    return Finding(
        f"plate thickness {rod.mark}",
        clause,
        Kind.REVIEW,
        "length",
        needed,
        np.full(1, plate.thickness_in),
        working=working,
    )
