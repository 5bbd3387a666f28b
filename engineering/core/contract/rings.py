"""Plane geometry of rings: simple, inside one another, apart; and what a vertical line finds of a section.

Rings are lists of corners (z, y), first corner not repeated. Tests by exact-orientation of float corners in numpy.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from engineering.core.contract.piece import Point, Ring, RingRole

Array = NDArray[np.float64]
TOUCH_IN = 1e-7  # nearer than this is touching: more than the rounding of a conversion


def rectangle(left: float, bottom: float, width: float, height: float) -> tuple[Point, ...]:
    """Corners counter-clockwise from the lower left."""
    right, top = left + width, bottom + height
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def signed_area(points: Sequence[Point]) -> float:
    """Positive counter-clockwise. [in2]"""
    z, y = np.asarray(points, float).T
    return 0.5 * float(np.sum(z * np.roll(y, -1) - np.roll(z, -1) * y))


def counter_clockwise(points: Sequence[Point]) -> tuple[Point, ...]:
    return tuple(points) if signed_area(points) > 0 else tuple(reversed(points))


def shifted(points: Sequence[Point], up: float) -> tuple[Point, ...]:
    return tuple((z, y + up) for z, y in points)


def self_crossing(points: Sequence[Point]) -> tuple[int, int] | None:
    """Numbers of two sides (each from its corner to the next) that meet and should not; None for a simple ring."""
    start = np.asarray(points, float)
    end = np.roll(start, -1, axis=0)
    count = len(start)
    i, j = np.triu_indices(count, 1)
    apart = (j - i > 1) & ~((i == 0) & (j == count - 1))
    meet = _sides_meet(start[i], end[i], start[j], end[j]) & apart
    # neighbours share a corner; they are at fault only where one folds back along the other
    after = np.roll(end, -1, axis=0)
    back = (np.abs(_cross(end - start, after - end)) <= TOUCH_IN**2) & (
        np.sum((end - start) * (after - end), axis=1) < 0
    )
    if meet.any():
        k = int(np.argmax(meet))
        return int(i[k]), int(j[k])
    if back.any():
        k = int(np.argmax(back))
        return k, (k + 1) % count
    return None


def rings_meet(one: Sequence[Point], other: Sequence[Point]) -> bool:
    """Whether the sides of two rings cross or touch."""
    a, b = np.asarray(one, float), np.asarray(other, float)
    a2, b2 = np.roll(a, -1, axis=0), np.roll(b, -1, axis=0)
    i, j = (index.ravel() for index in np.indices((len(a), len(b))))
    return bool(_sides_meet(a[i], a2[i], b[j], b2[j]).any())


def ring_contains(ring: Sequence[Point], point: Point) -> bool:
    """Whether the point is inside, by crossings of a ray; on a side it may be either."""
    z, y = point
    crossings = 0
    for (z1, y1), (z2, y2) in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (y1 > y) != (y2 > y) and z1 + (y - y1) * (z2 - z1) / (y2 - y1) > z:
            crossings += 1
    return crossings % 2 == 1


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _sides_meet(a: Array, a2: Array, b: Array, b2: Array) -> NDArray[np.bool_]:
    """Side by side: whether a-a2 and b-b2 share a point (ends included, to TOUCH_IN). Shapes (n, 2)."""
    d1, d2 = _cross(a2 - a, b - a), _cross(a2 - a, b2 - a)
    d3, d4 = _cross(b2 - b, a - b), _cross(b2 - b, a2 - b)
    cross = (d1 * d2 < 0) & (d3 * d4 < 0)
    touch = _near(b, a, a2) | _near(b2, a, a2) | _near(a, b, b2) | _near(a2, b, b2)
    return np.asarray(cross | touch)


def _near(point: Array, start: Array, end: Array) -> NDArray[np.bool_]:
    """Whether each point lies within TOUCH_IN of its side."""
    along = end - start
    length2 = np.sum(along * along, axis=1)
    share = np.clip(np.sum((point - start) * along, axis=1) / np.where(length2 > 0, length2, 1.0), 0.0, 1.0)
    gap = point - start - share[:, None] * along
    return np.asarray(np.sum(gap * gap, axis=1) <= TOUCH_IN**2)


# ---- what a vertical line finds ------------------------------------------------------------------------------------


def heights_at(rings: Sequence[Ring], across: float) -> list[tuple[float, float]]:
    """Stretches of y in which the vertical line at z = across runs inside the section (concrete and foam), upwards.

    On a vertical side the section counts on whichever side of the line it lies. [in]
    """
    stretches: list[tuple[float, float]] = []
    for z in (across - TOUCH_IN, across + TOUCH_IN):
        stretches += _stretches(rings, z)
    merged: list[tuple[float, float]] = []
    for low, high in sorted(stretches):
        if merged and low <= merged[-1][1] + TOUCH_IN:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged


def _stretches(rings: Sequence[Ring], z: float) -> list[tuple[float, float]]:
    """From every odd cut of a simple ring to the next the line is inside it. Empty holes, which only a section of one
    ring has, lie inside that ring and apart, so their cuts count among its own."""
    holes = [y for ring in rings if ring.role is RingRole.VOID for y in _cuts(ring.points, z)]
    inside: list[tuple[float, float]] = []
    for ring in rings:
        if ring.role is RingRole.CONCRETE:
            cuts = sorted(_cuts(ring.points, z) + holes)
            inside += zip(cuts[::2], cuts[1::2], strict=True)
    return inside


def _cuts(points: Sequence[Point], z: float) -> list[float]:
    found = []
    z1, y1 = points[-1]
    for z2, y2 in points:
        if (z1 > z) != (z2 > z):
            found.append(y1 + (z - z1) * (y2 - y1) / (z2 - z1))
        z1, y1 = z2, y2
    return found
