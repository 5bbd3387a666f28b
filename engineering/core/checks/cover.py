"""Concrete around sleeves, plates and pockets."""

import numpy as np

from engineering.core.batching import Array
from engineering.core.checks.finding import Finding, Kind, Lines
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading
from engineering.core.checks.rod_stress import NO_RODS
from engineering.core.contract.piece import Rod
from engineering.core.quantities import Whole
from engineering.core.sleeve_clearance import Spacing, sleeve_spacings

EDGE_IN = 0.25  # judgement: concrete around a plate or pocket
COVER = "the shop's own cover (setting)"
SPACING = "one sleeve diameter clear (setting)"
EDGE = "judgement: 1/4 in of concrete around plate and pocket (setting)"


def _not_asked(name: str, clause: str, kind: Kind, why: str) -> Finding:
    return Finding(name, clause, kind, "length", setting=True, not_applicable=why)


def _room(
    name: str, clause: str, kind: Kind, needed_in: float, found_in: Array, at_in: Array, working: Lines, none_why: str
) -> Finding:
    """Room wanted by the shop's setting against the room found (V,)."""
    wanted = np.full(found_in.shape, needed_in)
    return Finding(
        name,
        clause,
        kind,
        "length",
        wanted,
        found_in,
        at_in,
        setting=True,
        working=working,
        capacity_why=none_why,
    )


def cover(reading: Reading) -> list[Finding]:
    """`criteria.cover` against the least distance of the sleeve to any face or core."""
    if not reading.has_rods:
        return [_not_asked("cover", COVER, Kind.FAILS, NO_RODS)]
    return [_cover(reading, number) for number in range(len(reading.piece.rods))]


def _cover(reading: Reading, number: int) -> Finding:
    rod, needed = reading.piece.rods[number], reading.piece.criteria.cover_in
    found, at = reading.analysis.clearance_in[:, number], reading.analysis.clearance_at_in[:, number]

    def working(v: int, pen: Pen) -> list[str]:
        radius = 0.5 * rod.sleeve.outside_in
        return [
            f"nearest face or core {pen.at(at[v])}: axis to it less half the sleeve = "
            f"{pen(found[v] + radius, 'length')} - "
            f"{pen(rod.sleeve.outside_in, 'length')} / 2 = {pen(found[v], 'length')}",
            f"cover wanted = {pen(needed, 'length')}",
            ratio_line(needed, found[v], pen, "length"),
        ]

    what = "the sleeve is not in concrete all round"
    return _room(f"cover {rod.mark}", COVER, Kind.FAILS, needed, found, at, working, what)


def spacing(reading: Reading) -> list[Finding]:
    """One sleeve diameter clear between sleeves that run side by side."""
    if len(reading.piece.rods) < 2:
        why = NO_RODS if not reading.has_rods else "there is only one rod"
        return [_not_asked("spacing", SPACING, Kind.FAILS, why)]
    return [_spacing(reading, number, one) for number, one in enumerate(sleeve_spacings(reading.analysis))]


def _spacing(reading: Reading, number: int, nearest: Spacing) -> Finding:
    rods, (found, at, other) = reading.piece.rods, nearest
    name = f"spacing {rods[number].mark}"
    if other < 0:
        return _not_asked(name, SPACING, Kind.FAILS, "no other rod runs beside it")
    needed = max(rods[number].sleeve.outside_in, rods[other].sleeve.outside_in)

    def working(v: int, pen: Pen) -> list[str]:
        half = 0.5 * (rods[number].sleeve.outside_in + rods[other].sleeve.outside_in)
        return [
            f"to {rods[other].mark} {pen.at(at[v])}: between axes less half of both sleeves = "
            f"{pen(found[v] + half, 'length')} - "
            f"{pen(half, 'length')} = {pen(found[v], 'length')}",
            f"wanted: one sleeve diameter = {pen(needed, 'length')}",
            ratio_line(needed, found[v], pen, "length"),
        ]

    return _room(name, SPACING, Kind.FAILS, needed, found, at, working, "the sleeves touch or overlap")


def plate_edge(reading: Reading) -> list[Finding]:
    """1/4 in of concrete around plate and pocket at both ends; outside the section fails."""
    name = "plate edge and pocket wall"
    if not reading.has_rods:
        return [_not_asked(name, EDGE, Kind.REVIEW, NO_RODS)]
    faces = reading.faces
    margins = np.concatenate([faces.plate_margin_in, faces.pocket_margin_in])
    case, found = margins.argmin(axis=0), np.minimum.reduce(margins)
    return [
        _plate_edge(rod, f"{name} {rod.mark}", case[number], found[number], faces.x_in[case[number] % 2, number])
        for number, rod in enumerate(reading.piece.rods)
    ]


def _plate_edge(rod: Rod, name: str, case: Whole, found: Array, at: Array) -> Finding:
    """case: 0 plate left, 1 plate right, 2 pocket left, 3 pocket right. (V,)"""

    def working(v: int, pen: Pen) -> list[str]:
        what = "pocket" if case[v] >= 2 else "plate"
        size = rod.pocket if case[v] >= 2 and rod.pocket is not None else rod.anchor
        return [
            f"{('left', 'right')[int(case[v]) % 2]} end, {what} {pen(size.width_in, 'length')} × "
            f"{pen(size.height_in, 'length')} about the "
            f"rod: least concrete to a face or core {pen(found[v], 'length')}",
            f"wanted = {pen(EDGE_IN, 'length')}",
            ratio_line(EDGE_IN, found[v], pen, "length"),
        ]

    what = "plate or pocket reaches to or over an edge of the section"
    return _room(name, EDGE, Kind.REVIEW, EDGE_IN, found, at, working, what)
