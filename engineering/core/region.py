"""The allowable region: which total force the rods may have at which height, all stress checks of the concrete held.

Found by running the checks on a grid of heights and forces and halving every border between a force that holds and one
that does not. `with_scatter`: the five variants of a check run, so that a point inside holds as `run_checks` would have
it; without: the force as it truly is, in which the band of the present design's scatter can be laid.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engineering.core.batching import Array
from engineering.core.checks.finding import Verdict
from engineering.core.contract.piece import Piece
from engineering.core.contract.units import QUANTITIES
from engineering.core.grid import middle_of_longest_span
from engineering.core.variants import Judged, Numbers, judge

STRESS_CHECKS = (
    "transfer compression",
    "transfer tension",
    "tightening one after another",
    "uneven rods",
    "compression under sustained load",
    "compression under full load",
    "tension under sustained load",
    "tension under full load",
)
ROD_CHECKS = ("rod stress at jacking", "rod stress after transfer", "rod twist while tightening")
HEIGHTS, FORCES, HALVINGS = 25, 33, 18
FORMAT = "allowable-region/1"
LEAST_SHARE = 0.01


@dataclass(frozen=True)
class Border:
    """A force at which a stress check begins or ceases to hold. check: the one that fails just beyond it."""

    height_in: float
    force_lbf: float
    upper: bool  # the design holds below it
    check: str


@dataclass(frozen=True)
class Region:
    heights_in: tuple[float, ...]
    largest_lbf: float  # total force up to which was looked
    borders: tuple[Border, ...]  # by rising height, then force
    holds_at_most: tuple[bool, ...]  # by height: whether the largest force looked at holds


def middle_height(piece: Piece) -> float:
    """Mean height of the rods' axes at the middle of the longest span, weighted by force: what the region is drawn
    over. in"""
    middle = middle_of_longest_span(piece)
    heights = [_height_at(rod.profile, middle) for rod in piece.rods]
    return float(np.average(heights, weights=[rod.jacking_force_lbf for rod in piece.rods]))


def _height_at(profile: tuple[tuple[float, float], ...], x_in: float) -> float:
    return float(np.interp(x_in, [x for x, _ in profile], [y for _, y in profile]))


def region_of(piece: Piece, *, with_scatter: bool = True) -> Region:
    """The region of a piece with rods; all rods move and are tightened together. Raises ValueError without rods."""
    if not piece.rods:
        raise ValueError("a piece without rods has no region of force and height")
    lifts, largest = _lifts(piece), largest_force(piece)
    present = sum(rod.jacking_force_lbf for rod in piece.rods)
    shares = np.linspace(LEAST_SHARE, largest / present, FORCES)
    held, _ = _held(piece, np.repeat(lifts, FORCES), np.tile(shares, len(lifts)), with_scatter)
    held = held.reshape(len(lifts), FORCES)
    row, column = np.nonzero(held[:, 1:] != held[:, :-1])
    low, high, upper = shares[column], shares[column + 1], held[row, column]
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        same, _ = _held(piece, lifts[row], middle, with_scatter)
        below = same == upper
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    _, names = _held(piece, lifts[row], np.where(upper, high, low), with_scatter)
    at = middle_height(piece) + lifts
    inner = np.where(upper, low, high) * present
    borders = [
        Border(float(at[r]), float(force), bool(up), name)
        for r, force, up, name in zip(row.tolist(), inner.tolist(), upper.tolist(), names, strict=True)
    ]
    return Region(tuple(at.tolist()), float(largest), tuple(borders), tuple(bool(last) for last in held[:, -1]))


def largest_force(piece: Piece) -> float:
    """Total force to look up to: all rods at yield, or twice the present one if that is more. lbf"""
    return max(
        sum(rod.area_in2 * rod.grade.yield_psi for rod in piece.rods),
        2.0 * sum(rod.jacking_force_lbf for rod in piece.rods),
    )


def _lifts(piece: Piece) -> Array:
    """Moves by which every rod keeps its sleeve in concrete, the present place among them. (H,)"""
    tops, bottoms = [], []
    for rod in piece.rods:
        start, stop = rod.profile[0][0], rod.profile[-1][0]
        crossed = [zone for zone in piece.zones if min(stop, zone.end_in) - max(start, zone.start_in) > 1e-6]
        radius = 0.5 * rod.sleeve.outside_in
        low, high = min(y for _, y in rod.profile), max(y for _, y in rod.profile)
        bottoms.append(max(zone.soffit_in for zone in crossed) + radius - low)
        tops.append(min(zone.top_in for zone in crossed) - radius - high)
    low, high = min(max(bottoms), 0.0), max(min(tops), 0.0)
    return np.unique(np.append(np.linspace(low, high, HEIGHTS), 0.0))


def _held(piece: Piece, lifts: Array, shares: Array, scattered: bool) -> tuple[NDArray[np.bool_], list[str]]:
    """Whether every stress check holds, and the one that is worst. (V,)"""
    if not len(lifts):
        return np.zeros(0, bool), []
    present = np.array([rod.jacking_force_lbf for rod in piece.rods])
    judged = judge(piece, Numbers(len(lifts), shares[:, None] * present, lift_in=lifts), scattered=scattered)
    lines = np.array([name.startswith(STRESS_CHECKS) for name in judged.names])
    held = np.all(judged.verdicts[:, lines] != int(Verdict.FAIL), axis=1)
    return held, _worst(judged, lines)


def _worst(judged: Judged, lines: NDArray[np.bool_]) -> list[str]:
    known = np.nan_to_num(judged.ratios, nan=0.0) + np.where(judged.verdicts == int(Verdict.FAIL), 1e6, 0.0)
    picked = np.argmax(np.where(lines, known, -1.0), axis=1)
    return [judged.names[k] for k in picked]


@dataclass(frozen=True)
class Row:
    """A stretch of total force at one height in which every stress check holds; the checks that end it, "" where
    nothing was found to end it."""

    height_in: float
    from_lbf: float
    to_lbf: float
    from_check: str
    to_check: str


def rows(region: Region) -> list[Row]:
    """The region as stretches, height by height."""
    found = []
    for height, at_most in zip(region.heights_in, region.holds_at_most, strict=True):
        borders = [border for border in region.borders if border.height_in == height]
        opened: tuple[float, str] | None = (0.0, "") if (borders[0].upper if borders else at_most) else None
        for border in borders:
            if not border.upper:
                opened = (border.force_lbf, border.check)
            elif opened is not None:
                found.append(Row(height, opened[0], border.force_lbf, opened[1], border.check))
                opened = None
        if opened is not None:
            found.append(Row(height, opened[0], region.largest_lbf, opened[1], ""))
    return found


def rod_limit(piece: Piece) -> tuple[float, str]:
    """The greatest total force the rods themselves take at their present height, and the check that sets it. lbf"""
    present = np.array([rod.jacking_force_lbf for rod in piece.rods])
    low, high, name = LEAST_SHARE, 4.0 * largest_force(piece) / float(present.sum()), ""
    for _ in range(HALVINGS // 4):
        shares = np.linspace(low, high, 33)
        judged = judge(piece, Numbers(33, shares[:, None] * present))
        lines = np.array([one.startswith(ROD_CHECKS) for one in judged.names])
        fails = np.any(judged.verdicts[:, lines] == int(Verdict.FAIL), axis=1)
        if not fails.any():
            return float(high * present.sum()), ""
        first = int(np.argmax(fails))
        name = _worst(judged, lines)[first]
        low, high = shares[max(first - 1, 0)], shares[first]
    return float(low * present.sum()), name


def report(piece: Piece) -> dict[str, Any]:
    """The region with and without scatter, the present design and its band, in the document's units."""
    units = piece.units

    def force(value: float) -> float:
        return round(QUANTITIES["force"].from_us(value, units), 1)

    def length(value: float) -> float:
        return round(QUANTITIES["length"].from_us(value, units), 4)

    def stretches(region: Region) -> list[dict[str, Any]]:
        return [
            {
                "height": length(row.height_in),
                "from": force(row.from_lbf),
                "to": force(row.to_lbf),
                "from_check": row.from_check,
                "to_check": row.to_check,
            }
            for row in rows(region)
        ]

    with_scatter, bare = region_of(piece), region_of(piece, with_scatter=False)
    present = sum(rod.jacking_force_lbf for rod in piece.rods)
    scatter = piece.stressing.scatter if piece.stressing else 0.0
    held, worst = _held(piece, np.zeros(1), np.ones(1), True)
    most, check = rod_limit(piece)
    return {
        "format": FORMAT,
        "specification": piece.specification_hash,
        "units": units,
        "unit": {"force": QUANTITIES["force"].unit(units), "height": QUANTITIES["length"].unit(units)},
        "largest": force(with_scatter.largest_lbf),
        "heights": [length(y) for y in with_scatter.heights_in],
        "region": stretches(with_scatter),
        "without_scatter": stretches(bare),
        "present": {
            "height": length(middle_height(piece)),
            "force": force(present),
            "low": force(present * (1 - scatter)),
            "high": force(present * (1 + scatter)),
            "holds": bool(held[0]),
            "worst": worst[0],
        },
        "rods": {"force": force(most), "check": check},
    }
