"""Stations along the piece and exact integration between them.

Between two stations of a panel a quantity is taken as the parabola through the panel's three stations: exact for the
curvature of uniform loads on a constant section.
"""

import math
from bisect import bisect_left
from itertools import pairwise

import numpy as np

from engineering.core.batching import Array, longest_span, zone_number
from engineering.core.contract.piece import Piece
from engineering.core.quantities import Flags, Grid, Whole

MERGED = 1e-9  # breakpoints nearer than this share of the length are one
PANELS, PANELS_A_SPAN = 16, 10  # longest panel: the piece's length, and its span's, over these


def build_grid(piece: Piece) -> Grid:
    """The stations of a piece (section 3 "Where" of the specification for `in_figures` and `bare`)."""
    ends = _breakpoints(piece)
    start, stop = ends[:-1], ends[1:]
    middle = 0.5 * (start + stop)
    x = np.array([start, middle, stop]).T.ravel()
    width = stop - start
    weight = (width[:, None] * np.array([1.0, 4.0, 1.0]) / 6.0).ravel()
    zone_ends = np.array([zone.end_in for zone in piece.zones[:-1]])
    supports = np.array([support.at_in for support in piece.supports])
    zone = np.repeat(np.searchsorted(zone_ends, middle), 3)
    field = np.repeat(np.searchsorted(supports, middle), 3)
    first, last = stress_range(piece)
    tiny = 1e-9 * piece.length_in
    in_figures = (x >= first - tiny) & (x <= last + tiny)
    return Grid(
        x,
        weight,
        zone,
        field,
        in_figures,
        np.repeat(_bare(piece, middle), 3),
        np.asarray(field == longest_span(piece) + 1),
        _smooth_starts(piece, start),
    )


def outermost_faces(piece: Piece) -> tuple[float, float]:
    """x of the outermost anchor faces; the ends of the piece where it has no rods."""
    if not piece.rods:
        return 0.0, piece.length_in
    return min(r.profile[0][0] for r in piece.rods), max(r.profile[-1][0] for r in piece.rods)


def stress_range(piece: Piece) -> tuple[float, float]:
    """Where stresses are taken: one section depth (of the zone at the face) inside the outermost anchor faces; the
    middle between the faces where they are nearer than two depths."""
    left, right = outermost_faces(piece)
    if not piece.rods:
        return left, right
    first = left + piece.zones[zone_number(piece, left)].depth_in
    last = right - piece.zones[_zone_left_of(piece, right)].depth_in
    return (first, last) if first <= last else (0.5 * (left + right),) * 2


def _zone_left_of(piece: Piece, x_in: float) -> int:
    return next(
        number for number, zone in enumerate(piece.zones) if x_in <= zone.end_in or number == len(piece.zones) - 1
    )


def _bare(piece: Piece, middle: Array) -> Flags:
    left, right = outermost_faces(piece)
    return np.asarray((middle < left) | (middle > right))


def _smooth_starts(piece: Piece, start: Array) -> Flags:
    """Stations (S,) at panels' starts where neither section nor rods change."""
    changes = [0.0, *(zone.end_in for zone in piece.zones), *(x for rod in piece.rods for x, _ in rod.profile)]
    near = np.abs(start[:, None] - np.array(changes)).min(axis=1) <= 2.0 * MERGED * piece.length_in
    found = np.zeros(3 * len(start), bool)
    found[0::3] = ~near
    return found


def _breakpoints(piece: Piece) -> Array:
    marks = [0.0, piece.length_in, *(zone.end_in for zone in piece.zones), *stress_range(piece)]
    for support in piece.supports:
        off = support.bearing_in / 2 + piece.zones[zone_number(piece, support.at_in)].depth_in / 2
        marks += [support.at_in - off, support.at_in, support.at_in + off]
    for load in piece.loads:
        marks += [load.from_in, load.to_in] if load.at_in is None else [load.at_in]
    for rod in piece.rods:
        marks += [x for x, _ in rod.profile]
    if piece.handling is not None:
        marks += piece.handling.lift_points_in
    marks.append(middle_of_longest_span(piece))
    ends = sorted({min(max(float(mark), 0.0), piece.length_in) for mark in marks})
    kept = ends[:1] + [b for a, b in pairwise(ends) if b - a > MERGED * piece.length_in]
    supports = [support.at_in for support in piece.supports]
    found = []
    for a, b in pairwise(kept):
        span = bisect_left(supports, 0.5 * (a + b))
        inside = 0 < span < len(supports)
        longest = min(
            piece.length_in / PANELS, (supports[span] - supports[span - 1]) / PANELS_A_SPAN if inside else math.inf
        )
        count = max(1, math.ceil((b - a) / longest - 1e-9))
        found += [a + k * ((b - a) / count) for k in range(count)]
    return np.array([*found, kept[-1]])


def middle_of_longest_span(piece: Piece) -> float:
    span = longest_span(piece)
    return 0.5 * (piece.supports[span].at_in + piece.supports[span + 1].at_in)


def station_at(grid: Grid, x_in: float) -> int:
    """The first station nearest to x."""
    return int(np.abs(grid.x_in - x_in).argmin())


def deflection_matrix(grid: Grid, left_in: float, right_in: float, stations: Whole | None = None) -> Array:
    """Matrix (n, S) that turns curvature (sagging +) [1/in] into the rise of these stations, or of all, over the chord
    from left to right [in], up positive."""
    wanted = np.arange(len(grid.x_in)) if stations is None else stations
    share = (grid.x_in[wanted] - left_in) / (right_in - left_in)
    rise = _from_the_left(grid, np.append(wanted, [station_at(grid, left_in), station_at(grid, right_in)]))
    return rise[:-2] - (1.0 - share)[:, None] * rise[-2] - share[:, None] * rise[-1]


def _from_the_left(grid: Grid, stations: Whole) -> Array:
    """The same for a piece clamped at its left end (n, S)."""
    x, width, panel = grid.x_in[stations], grid.x_in[2::3] - grid.x_in[0::3], stations // 3
    passed = np.arange(len(grid.x_in)) // 3 < panel[:, None]
    matrix = np.where(passed, (x[:, None] - grid.x_in) * grid.weight_in, 0.0)
    own = np.array([[0.0, 0.0, 0.0], [7.0, 6.0, -1.0], [16.0, 32.0, 0.0]]) / 96.0  # from the panel's start to x
    matrix.reshape(len(x), -1, 3)[np.arange(len(x)), panel] = own[stations % 3] * (width * width)[panel, None]
    return matrix
