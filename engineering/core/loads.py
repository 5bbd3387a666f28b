"""Loads as rows of effects of elementary pieces on two outer supports; `statics` adds the inner supports.

A row is one thing that is on or off as a whole: a live load's part in one span or overhang, or one position of a load
that can stand anywhere. Down is positive. Moments [lbf·in], shears [lbf] at stations, reactions [lbf] at supports.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from engineering.core.batching import Array
from engineering.core.contract.piece import Load, Piece
from engineering.core.grid import middle_of_longest_span
from engineering.core.quantities import Grid


class Effects(NamedTuple):
    moment: Array  # (..., S)
    shear: Array  # (..., S)
    reaction: Array  # (..., N)


def apart(effects: Array, stations: int) -> Effects:
    """Effects that stand side by side in one array (..., 2 S + N)."""
    return Effects(effects[..., :stations], effects[..., stations : 2 * stations], effects[..., 2 * stations :])


class Patch(NamedTuple):
    """An elementary load: a point [lbf] where start = end, else uniform [lbf/in]."""

    value: float
    start_in: float
    end_in: float


@dataclass(frozen=True)
class LivePlan:
    """Which rows act together. groups: each a tuple of members; a member is (first row, end row) of alternatives of
    which at most one acts. The first group holds the loads that are not alone; each alone load has a group of its
    own."""

    rows: tuple[tuple[Patch, ...], ...]
    groups: tuple[tuple[tuple[int, int], ...], ...]
    sustained: tuple[int, ...]


def patch_effects(grid: Grid, supports: Array, rows: tuple[tuple[Patch, ...], ...]) -> Array:
    """Effects of each row on a beam over the outer supports, side by side (rows, 2 S + N)."""
    belongs = np.repeat(np.eye(len(rows)), [len(patches) for patches in rows], axis=1)
    patches = np.array([patch for row in rows for patch in row], dtype=float).reshape(-1, 3)
    return np.matmul(belongs, _of_patches(grid.x_in, grid.panel_middle_in, supports, patches))


def _of_patches(x: Array, middle: Array, supports: Array, patches: Array) -> Array:
    """Of patches (n, 3), each with a row of its own."""
    first, last = supports[0], supports[-1]
    posts = np.array([[first], [last]])
    value, start, end = patches.T[..., None]
    point = start == end
    total = value * (end - start + point)
    far = total * (0.5 * (start + end) - first) / (last - first)
    holding = np.concatenate([total - far, far], axis=1)
    loaded = np.minimum(np.maximum(x, start), end) - start  # nothing of a point
    line, at = value * loaded, value * point
    found = np.zeros((len(patches), 2 * len(x) + len(supports)))
    moment, shear, reaction = apart(found, len(x))
    np.matmul(holding, np.maximum(x - posts, 0.0), out=moment)
    moment -= line * (x - start - 0.5 * loaded) + at * np.maximum(x - start, 0.0)
    np.matmul(holding, (middle > posts).astype(float), out=shear)
    shear -= line + at * (middle > start)
    reaction[:, 0], reaction[:, -1] = holding.T
    return found


def dead_patches(piece: Piece) -> tuple[Patch, ...]:
    return tuple(
        patch for load in piece.loads if load.case == "dead" for patch in _patches(piece, load, 0.0, piece.length_in)
    )


def zone_patches(piece: Piece) -> tuple[tuple[Patch, ...], ...]:
    """A unit line load on each zone, for self weight."""
    return tuple((Patch(1.0, zone.start_in, zone.end_in),) for zone in piece.zones)


def live_plan(piece: Piece, grid: Grid) -> LivePlan:
    """Every live load split at the supports; each part, and each position, a row of its own."""
    rows: list[tuple[Patch, ...]] = []
    groups: list[list[tuple[int, int]]] = [[]]
    sustained: list[int] = []
    for load in (load for load in piece.loads if load.case == "live"):
        first = len(rows)
        rows += _anywhere(load, grid) if load.anywhere else _parts(piece, load)
        members = [(first, len(rows))] if load.anywhere else [(k, k + 1) for k in range(first, len(rows))]
        if load.alone:
            groups.append(members)
            continue
        groups[0] += members
        sustained += _sustained_rows(piece, load, rows, first)
    return LivePlan(tuple(rows), tuple(map(tuple, groups)), tuple(sustained))


def _sustained_rows(piece: Piece, load: Load, rows: list[tuple[Patch, ...]], first: int) -> list[int]:
    if not load.anywhere:
        return list(range(first, len(rows)))
    middle = middle_of_longest_span(piece)
    return [min(range(first, len(rows)), key=lambda k: abs(rows[k][0].start_in - middle))]


def _anywhere(load: Load, grid: Grid) -> list[tuple[Patch, ...]]:
    return [(Patch(load.value, float(x), float(x)),) for x in np.unique(np.append(grid.x_in[0::3], grid.x_in[-1]))]


def _parts(piece: Piece, load: Load) -> list[tuple[Patch, ...]]:
    bounds = [0.0, *(support.at_in for support in piece.supports), piece.length_in]
    parts = (_patches(piece, load, a, b) for a, b in pairwise(bounds) if b > a)
    return [part for part in parts if part]


def _patches(piece: Piece, load: Load, start: float, end: float) -> tuple[Patch, ...]:
    """The load between start and end; a point on the border belongs to the part right of it, at the piece's end to
    the left."""
    if load.at_in is not None:
        inside = start <= load.at_in < end or load.at_in == end == piece.length_in
        return (Patch(load.value, load.at_in, load.at_in),) if inside else ()
    found = []
    for zone in piece.zones:
        a, b = max(start, zone.start_in, load.from_in), min(end, zone.end_in, load.to_in)
        if b > a:
            line = load.value / 144.0 * zone.load_width_in if load.kind == "area" else load.value / 12.0
            found.append(Patch(line, a, b))
    return tuple(found)


def envelope(groups: Sequence[tuple[Array, Array]]) -> tuple[Array, Array]:
    """Greatest and least over the envelopes of all groups, of which one acts at a time. Two arrays (V, ...)."""
    (most, least), *others = groups
    for up, down in others:
        most, least = np.maximum(most, up), np.minimum(least, down)
    return most, least


def group_envelope(group: tuple[tuple[int, int], ...], rows: Array) -> tuple[Array, Array]:
    """Greatest and least of a response over all patterns of a group, zero included.

    rows : (V, rows, ...) response to each row. Returns two arrays (V, ...).
    """
    first, end = (group[0][0], group[-1][1]) if group else (0, 0)
    if end - first == len(group):  # one after another, no alternatives
        members = rows[:, first:end]
        return np.add.reduce(np.maximum(members, 0.0), 1), np.add.reduce(np.minimum(members, 0.0), 1)
    most, least = np.zeros((2, rows.shape[0], *rows.shape[2:]))
    for first, end in group:
        one = end - first == 1
        up, down = (rows[:, first],) * 2 if one else (rows[:, first:end].max(1), rows[:, first:end].min(1))
        most += np.maximum(up, 0.0)
        least += np.minimum(down, 0.0)
    return most, least
