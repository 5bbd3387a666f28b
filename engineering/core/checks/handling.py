"""Lifting the piece, and whether its rods stand the place it goes to."""

import numpy as np

from engineering.core.checks.finding import Finding, Kind
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading
from engineering.core.checks.rod_stress import NO_RODS
from engineering.core.contract.piece import Rod
from engineering.core.corrosion import protected

SAFETY = 1.5  # PCI, against cracking (from memory, basis l)


def handling(reading: Reading) -> list[Finding]:
    """1.5 against flexural yield at the handling age over the tension on the lift points."""
    name, clause, given = "handling", "PCI, safety against cracking (from memory, basis l)", reading.piece.handling
    ones = np.full(reading.variants, SAFETY)
    if given is None:
        return [
            Finding(
                name,
                clause,
                Kind.REVIEW,
                demand=ones,
                capacity=np.zeros_like(ones),
                met=np.zeros(ones.shape, bool),
                caution=lambda v, pen: "Handling is not described: lifting and turning have not been checked.",
                capacity_why="handling is not given: lift points, age and strength then are needed",
            )
        ]
    tension, at = reading.analysis.stresses.handling, reading.analysis.stresses.handling_at_in
    capacity = np.where(tension > 0, given.flexural_yield_psi / np.where(tension > 0, tension, 1.0), np.inf)

    def working(v: int, pen: Pen) -> list[str]:
        lines = [
            f"self weight × {pen.number(given.multiplier)} on the lift points "
            f"{pen(given.lift_points_in[0], 'length')} and "
            f"{pen(given.lift_points_in[1], 'length')}: largest tension {pen.at(at[v])} = {pen(tension[v], 'stress')}"
        ]
        if tension[v] <= 0:
            return [*lines, "no tension anywhere: ratio 0"]
        return [
            *lines,
            f"factor = flexural yield then / tension = {pen(given.flexural_yield_psi, 'stress')} / "
            f"{pen(tension[v], 'stress')}"
            f" = {pen.number(capacity[v])}",
            ratio_line(SAFETY, capacity[v], pen, "number"),
        ]

    return [
        Finding(name, clause, Kind.FAILS, "number", np.where(tension > 0, SAFETY, 0.0), capacity, at, working=working)
    ]


def corrosion(reading: Reading) -> list[Finding]:
    """Coating and steel against the exposure: met or not."""
    clause = "basis b.2 and i"
    if not reading.has_rods:
        return [Finding("corrosion", clause, Kind.REVIEW, not_applicable=NO_RODS)]
    return [_corrosion(reading, rod, clause) for rod in reading.piece.rods]


def _corrosion(reading: Reading, rod: Rod, clause: str) -> Finding:
    exposure = reading.piece.environment.exposure
    met, rule = protected(exposure, rod.coating, rod.grade.name, rod.grade.stainless, rod.grade.ultimate_psi)
    ones = np.ones(reading.variants)

    def working(v: int, pen: Pen) -> list[str]:
        return [f"{rule}; the rod is {rod.coating} {rod.grade.name}: {'met' if met else 'not met'}"]

    words = "" if met else f"{rod.mark}: {rule}."
    return Finding(
        f"corrosion {rod.mark}",
        clause,
        Kind.REVIEW,
        "number",
        ones,
        ones * float(met),
        met=np.full(ones.shape, met),
        working=working,
        caution=lambda v, pen: words,
        capacity_why="yes or no: not met" if not met else "yes or no: met",
    )
