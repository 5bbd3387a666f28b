"""The elastic part of a piece by a general-purpose frame library (PyNite): one member an element, a case for every kind
of load, moments, deflections and reactions read. The engine's own sections, so that both solve the same beam."""

from dataclasses import dataclass

import numpy as np

from engineering.core.analysis import analyse
from engineering.core.batching import Array, Batch
from engineering.core.contract.piece import Piece

ELEMENTS = 100
CASES = ("self", "dead", "live", "point")


@dataclass(frozen=True)
class Beam:
    """What the library is given: ends of the elements [in], their stiffness, and the load of every case on each
    [lbf/in]; the node of the point load and of each support."""

    x_in: Array
    inertia_in4: Array
    modulus_psi: float
    line: dict[str, Array]
    point_node: int
    support_nodes: tuple[int, ...]


def beam_of(piece: Piece) -> Beam:
    """The counter's own zones, supports and loads; the point load stands in the middle."""
    found = analyse(Batch.of(piece))
    x = np.unique(np.append(np.linspace(0.0, piece.length_in, ELEMENTS + 1), [s.at_in for s in piece.supports]))
    middle = 0.5 * (x[1:] + x[:-1])
    zone = np.searchsorted([one.end_in for one in piece.zones[:-1]], middle)
    net = found.net.free_inertia_in4[0]
    inertia = np.array([net[int(np.abs(found.grid.x_in - at).argmin())] for at in middle])
    width = np.array([one.load_width_in for one in piece.zones])[zone]
    weight = np.array([_weight(piece, found.gross.area_in2[0, k], k) for k in range(len(piece.zones))])[zone]
    spread = {
        case: sum(
            (
                load.value / 144.0 * width if load.kind == "area" else np.full(len(middle), load.value / 12.0)
                for load in piece.loads
                if load.case == case and load.kind != "point" and not load.alone
            ),
            np.zeros(len(middle)),
        )
        for case in ("dead", "live")
    }
    nodes = tuple(int(np.abs(x - support.at_in).argmin()) for support in piece.supports)
    return Beam(x, inertia, piece.concrete.modulus_psi, {"self": weight, **spread}, len(x) // 2, nodes)


def _weight(piece: Piece, concrete_in2: float, number: int) -> float:
    foam = sum(
        abs(ring.points[2][0] - ring.points[0][0]) * abs(ring.points[2][1] - ring.points[0][1])
        for ring in piece.zones[number].rings
        if ring.role == "core"
    )
    return (concrete_in2 * piece.concrete.density_pcf + foam * piece.core_density_pcf) / 1728.0


def solve(beam: Beam, point_lbf: float = 300.0) -> dict[str, tuple[float, float]]:
    """Greatest moment [lbf·in] and deflection [in] of every case."""
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("gfrc", beam.modulus_psi, 0.4 * beam.modulus_psi, 0.2, 0.0)
    for k, x in enumerate(beam.x_in):
        model.add_node(f"n{k}", float(x), 0, 0)
    members = range(len(beam.inertia_in4))
    for k in members:
        model.add_section(f"s{k}", 54.0, 3418.0, float(beam.inertia_in4[k]), 100.0)
        model.add_member(f"m{k}", f"n{k}", f"n{k + 1}", "gfrc", f"s{k}")
        for case, line in beam.line.items():
            if line[k]:
                model.add_member_dist_load(f"m{k}", "FY", -float(line[k]), -float(line[k]), case=case)
    model.add_node_load(f"n{beam.point_node}", "FY", -point_lbf, case="point")
    for number, node in enumerate(beam.support_nodes):
        model.def_support(f"n{node}", number == 0, True, True, True, False, False)
    for case in CASES:
        model.add_load_combo(case, {case: 1.0})
    model.analyze_linear()
    return {
        case: (
            -min(model.members[f"m{k}"].min_moment("Mz", case) for k in members),
            -min(model.members[f"m{k}"].min_deflection("dy", case) for k in members),
        )
        for case in CASES
    }
