"""Edges of a cross-section that run along the piece: where they lie, and whether the view sees them.

Corners of concrete rings are edges of the cast piece. Seen from above an edge is hidden where concrete lies over it;
seen from the front, where concrete lies before it.
"""

from __future__ import annotations

from engineering.core.contract.piece import Point, Ring, RingRole, Zone

NEAR_IN = 1e-6


def edges_from_above(zone: Zone) -> list[tuple[float, bool]]:
    """(place across, seen) of each edge strictly within the width [in]."""
    return _edges(zone, turned=False)


def edges_from_front(zone: Zone) -> list[tuple[float, bool]]:
    """(height, seen) of each edge strictly within the depth [in]."""
    return _edges(zone, turned=True)


def _edges(zone: Zone, *, turned: bool) -> list[tuple[float, bool]]:
    """From above; from the front is the same with the axes changed, looking along z from its least."""
    rings = [_corners(ring, turned) for ring in zone.rings if ring.role is RingRole.CONCRETE]
    if len(rings) != 1:
        return []  # strips are drawn one by one, each with its own outline
    ring = rings[0]
    ends = [at for at, _ in ring]
    found: dict[float, bool] = {}
    for at, level in ring:
        if min(ends) + NEAR_IN < at < max(ends) - NEAR_IN:
            seen = level >= _highest(ring, at) - NEAR_IN
            found[round(at, 6)] = found.get(round(at, 6), False) or seen
    return sorted(found.items())


def _corners(ring: Ring, turned: bool) -> list[Point]:
    """(along the view's cross axis, towards the eye)."""
    return [(y, -z) for z, y in ring.points] if turned else list(ring.points)


def _highest(ring: list[Point], at: float) -> float:
    """The highest point of the outline at this place."""
    found = []
    for (a, low), (b, high) in zip(ring, [*ring[1:], ring[0]], strict=True):
        if min(a, b) - NEAR_IN <= at <= max(a, b) + NEAR_IN:
            share = 0.0 if abs(b - a) < NEAR_IN else (at - a) / (b - a)
            found += [low, high] if abs(b - a) < NEAR_IN else [low + share * (high - low)]
    return max(found)
