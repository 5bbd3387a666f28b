"""Sections by their rings: gross by zone, net of the sleeves at stations, corners. Green's theorem, exact for
polygons.

`Moments`, leading axis 6: integrals over an area about the origin of 1, z, y, y², z², z·y.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from typing import NamedTuple

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.block import Edges, edges_of
from engineering.core.clearances import depth_in_concrete, inside_concrete
from engineering.core.contract.piece import RingRole, Zone
from engineering.core.quantities import Flags, Grid, Outlines, Properties, Whole
from engineering.core.tendons import Layout

Moments = Array
TOUCHING_IN = 1e-9
QUADRATURE_RINGS, QUADRATURE_RAYS = 12, 24
OVER = np.array([2.0, 6.0, 6.0, 12.0, 12.0, 24.0])  # of the integrals along an edge (Green's theorem)


def edge_moments(edges: Edges) -> Moments:
    """What each edge (E, V, 1) adds to what the counter-clockwise rings enclose, cores and holes taken out: to be
    summed over the edges of a section (6, E, V)."""
    z, y, zn, yn, sign = (part[..., 0] for part in edges[:5])
    cross, both, high = sign * (z * yn - zn * y), z + zn, y + yn
    one = np.ones_like(cross)
    terms = [one, both, high, high * high - y * yn, both * both - z * zn, both * high + z * y + zn * yn]
    return np.array(terms) * (cross / OVER[:, None, None])


def properties(moments: Moments, top: Array, bottom: Array) -> Properties:
    """About the centroid."""
    area, z, y, yy, zz, zy = moments
    zc, yc = z / area, y / area
    return Properties(area, yc, zc, yy - y * yc, zz - z * zc, zy - z * yc, top, bottom)


@dataclass(frozen=True)
class Sections:
    """gross (Vg, Z); net (Vg, S), and own (Vg, K) of the sections of `Layout.alike`; core_area (Vg, Z); clearance:
    least distance from each sleeve to a face or core in the zones it runs through, and its x (Vg, R). Vg is 1 where
    geometry is common to all variants."""

    gross: Properties
    own: Properties
    net: Properties
    core_area_in2: Array
    clearance_in: Array
    clearance_at_in: Array
    outlines: Outlines


def sections_of(batch: Batch, grid: Grid, layout: Layout) -> Sections:
    """Stations whose sections are alike are worked out once."""
    own, sort = batch.sorts
    whole, cuts, foam = _edges_of_sorts(batch)
    edges = [Edges(*(part[cut] for part in whole)) for cut in cuts]
    lines = Outlines(tuple(edges[number] for number in sort.tolist()), own, sort)
    by_zone = np.ascontiguousarray(_of_sorts(whole, cuts, foam)[sort].transpose(1, 2, 0))  # (9, Vg, Z)
    first, again = layout.alike.first, layout.alike.again
    zone = grid.zone[first]
    by_section = by_zone[..., zone]
    places = Places(grid.x_in[first], sort[zone], edges)
    taken, clearance, at = _sleeves(batch, places, layout.height_in[..., first], layout.active[:, first])
    alike = properties(by_section[:6] - taken, *by_section[6:8])
    parts = [wide(part, alike.area_in2.shape) for part in vars(alike).values()]
    net = Properties(*np.array(parts)[..., again])
    return Sections(properties(by_zone[:6], *by_zone[6:8]), alike, net, by_zone[8], clearance, at, lines)


def _edges_of_sorts(batch: Batch) -> tuple[Edges, list[slice], Flags]:
    """The edges of every sort of section, one sort behind the other (E, V or 1, 1), to set against points (V, n); where
    each sort stands; which edges are a foam core's (E, 1)."""
    rings = [
        [(ring.role, points[:, None]) for ring, points in zip(batch.piece.zones[k].rings, batch.rings[k], strict=True)]
        for k in batch.sorts[0]
    ]
    edges = edges_of([(1.0 if role is RingRole.CONCRETE else -1.0, ring) for sort in rings for role, ring in sort])
    ends = [0, *accumulate(sum(ring.shape[-2] for _, ring in sort) for sort in rings)]
    foam = [role is RingRole.CORE for sort in rings for role, ring in sort for _ in range(ring.shape[-2])]
    return edges, [slice(*ends) for ends in pairwise(ends)], np.array(foam)[:, None]


def _of_sorts(whole: Edges, cuts: list[slice], foam: Flags) -> Array:
    """Of each sort of section: its six `Moments`, its top and bottom [in], the area of its foam [in2]. (sorts, 9, V)"""
    moments, y = edge_moments(whole), whole.y0[..., 0]
    concrete = whole.sign[..., 0] > 0.0
    high, low, core = np.where(concrete, y, -np.inf), np.where(concrete, y, np.inf), np.where(foam, -moments[0], 0.0)
    return np.array(
        [
            [
                *np.add.reduce(moments[:, cut], 1),
                np.maximum.reduce(high[cut], 0),
                np.minimum.reduce(low[cut], 0),
                np.add.reduce(core[cut], 0),
            ]
            for cut in cuts
        ]
    )


class Places(NamedTuple):
    """The sections of `Layout.alike`: x of the first station of each, its sort (K,); the edges of each sort."""

    x_in: Array
    sort: Whole
    edges: Sequence[Edges]


def _sleeves(batch: Batch, places: Places, height: Array, active: Flags) -> tuple[Moments, Array, Array]:
    """What the sleeves take out of the concrete of each section (6, Vg, K); the least clearance of each, negative in
    foam or outside, and its x (Vg, R). height (R, Vg, K) of the rods, active (R, K)."""
    count, sections, across_in = len(height), len(places.x_in), batch.rods.across_in.T[..., None]
    if not count:
        return np.zeros((6, 1, sections)), np.zeros((1, 0)), np.zeros((1, 0))
    lead = max(across_in.shape[1], height.shape[1], places.edges[0].z0.shape[1])
    radius = np.array([rod.sleeve.outside_in / 2 for rod in batch.piece.rods])[:, None, None]
    taken, clear = np.empty((6, count, lead, sections)), np.empty((count, lead, sections))
    taken[:] = _full_circles(across_in, height, radius, active[:, None])
    for sort, edges in enumerate(places.edges):
        here = np.flatnonzero(places.sort == sort)
        clear[..., here] = depth_in_concrete(edges, across_in, height[..., here]) - radius
    clear = np.where(active[:, None], clear, np.inf)
    for number, place in zip(*np.nonzero((clear < -TOUCHING_IN).any(1)), strict=True):
        edges, level = places.edges[places.sort[place]], height[number][:, [place]]
        part = _partial_circle(edges, across_in[number], level, float(radius[number, 0, 0]))
        taken[:, number, :, place] = part[..., 0]
    at = clear.argmin(-1)
    return np.add.reduce(taken, 1), np.minimum.reduce(clear, -1).T, places.x_in[at].T


def _full_circles(z: Array, y: Array, radius: Array, active: Flags) -> Moments:
    """Of whole sleeves where their rods are active, z (R, Vg, 1) and y (R, Vg, K): (6, R, Vg, K)."""
    area = np.pi * radius**2 * active
    own = area * radius**2 / 4
    up = area * y
    shape = np.broadcast_shapes(z.shape, y.shape)
    parts = (area, area * z, up, up * y + own, area * z * z + own, up * z)
    return np.array([wide(part, shape) for part in parts])


def _partial_circle(edges: Edges, z: Array, y: Array, radius: float) -> Moments:
    """Quadrature of the part of a circle that lies in concrete: equal areas, rings and rays. z (Vg, 1), y (Vg, n)."""
    r = radius * np.sqrt((np.arange(QUADRATURE_RINGS) + 0.5) / QUADRATURE_RINGS)
    angle = 2 * np.pi * (np.arange(QUADRATURE_RAYS) + 0.5) / QUADRATURE_RAYS
    dz, dy = (np.outer(r, turn).reshape(-1, 1, 1) for turn in (np.cos(angle), np.sin(angle)))
    pz, py = z + dz, y + dy
    cell = np.pi * radius**2 / dz.size * inside_concrete(edges, pz, py)
    return np.array([(cell * f).sum(0) for f in (1.0, pz, py, py * py, pz * pz, pz * py)])


def corners(batch: Batch, grid: Grid) -> tuple[Array, Array]:
    """z and y (C, Vg, S) of the corners that can be extreme: two of the top face, two of the bottom face, then the
    other corners of the convex hull, repeated where a section has fewer."""
    own, sort = batch.sorts
    picks = [extreme_corners(batch.piece.zones[number]) for number in own]
    count = max(map(len, picks))
    points = [
        _concrete_points(batch, number)[:, pick + pick[:1] * (count - len(pick))]
        for number, pick in zip(own, picks, strict=True)
    ]
    lead = max(part.shape[0] for part in points)
    of_sorts = np.array([wide(part, (lead, count, 2)) for part in points]).transpose(3, 2, 1, 0)
    z, y = np.take(of_sorts, sort[grid.zone], axis=-1)  # of (2, C, Vg, sorts)
    return z, y


def _concrete_points(batch: Batch, zone: int) -> Array:
    spec = batch.piece.zones[zone]
    rings = [ring for ring, r in zip(batch.rings[zone], spec.rings, strict=True) if r.role is RingRole.CONCRETE]
    lead = max(ring.shape[0] for ring in rings)
    return np.concatenate([wide(ring, (lead, *ring.shape[1:])) for ring in rings], axis=1)


def extreme_corners(zone: Zone) -> list[int]:
    """Which corners of a zone's concrete rings, counted through, can be extreme: of the section as specified."""
    points = [point for ring in zone.rings if ring.role is RingRole.CONCRETE for point in ring.points]
    across, up = [z for z, _ in points], [y for _, y in points]
    top, bottom = max(up), min(up)
    near = 1e-9 * (1.0 + top - bottom + max(across) - min(across))
    faces = [k for k, y in enumerate(up) if y >= top - near], [k for k, y in enumerate(up) if y <= bottom + near]
    chosen = [pick(face, key=across.__getitem__) for face in faces for pick in (min, max)]
    return chosen + [k for k in _hull(points) if all(math.dist(points[k], points[c]) > near for c in chosen)]


def _hull(points: Sequence[tuple[float, float]]) -> list[int]:
    """Indices of the corners of the convex hull (monotone chain)."""
    order = sorted(range(len(points)), key=points.__getitem__)
    half: list[list[int]] = []
    for sequence in (order, order[::-1]):
        chain: list[int] = []
        for k in sequence:
            while len(chain) > 1 and _turn(points[chain[-2]], points[chain[-1]], points[k]) <= 1e-12:
                chain.pop()
            chain.append(k)
        half.append(chain[:-1])
    return half[0] + half[1]


def _turn(one: tuple[float, float], two: tuple[float, float], three: tuple[float, float]) -> float:
    """Twice the area of a triangle, + counter-clockwise."""
    return (two[0] - one[0]) * (three[1] - one[1]) - (two[1] - one[1]) * (three[0] - one[0])


def contact_width(batch: Batch, x_in: float, end: float) -> float:
    """Width of the section's foot at x [in]: its lowest flat edges; of two zones that meet there, the lower one's, or
    the narrower."""
    tiny = 1e-9 * end
    here = [zone for zone in batch.piece.zones if zone.start_in - tiny <= x_in <= zone.end_in + tiny]
    lowest = min(zone.soffit_in for zone in here)
    return min(foot_width(zone) for zone in here if zone.soffit_in <= lowest + 1e-6)


def foot_width(zone: Zone) -> float:
    """Width of a zone's edges at its soffit [in]."""
    width = 0.0
    for ring in (r for r in zone.rings if r.role is RingRole.CONCRETE):
        for (z0, y0), (z1, y1) in zip(ring.points, ring.points[1:] + ring.points[:1], strict=True):
            if abs(y0 - zone.soffit_in) <= 1e-6 and abs(y1 - zone.soffit_in) <= 1e-6:
                width += abs(z1 - z0)
    return width


def widened(values: Properties, size: int) -> Properties:
    """The same with a full leading axis of variants."""
    return replace(values, **{name: wide(array, (size, array.shape[1])) for name, array in vars(values).items()})
