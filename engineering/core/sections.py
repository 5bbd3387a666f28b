"""Sections by their rings: gross by zone, net of the sleeves at stations, corners. Green's theorem, exact for
polygons."""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.block import Edges, edges_of
from engineering.core.clearances import depth_in_concrete, inside_concrete
from engineering.core.contract.piece import RingRole, Zone
from engineering.core.quantities import Flags, Grid, Outlines, Properties, Whole
from engineering.core.tendons import Layout

TOUCHING_IN = 1e-9
QUADRATURE_RINGS, QUADRATURE_RAYS = 12, 24


class Moments(NamedTuple):
    """Integrals over an area about the origin: 1, z, y, y², z², z·y."""

    area: Array
    z: Array
    y: Array
    yy: Array
    zz: Array
    zy: Array

    def less(self, other: "Moments") -> "Moments":
        return Moments(*(a - b for a, b in zip(self, other, strict=True)))


def edge_moments(edges: Edges) -> Moments:
    """Of what the edges of counter-clockwise rings (E, V, 1) enclose, cores and holes taken out. Each (V,)."""
    z, y, zn, yn, sign = (part[..., 0] for part in edges[:5])
    cross, both, high = sign * (z * yn - zn * y), z + zn, y + yn
    terms = np.array([both, high, high * high - y * yn, both * both - z * zn, both * high + z * y + zn * yn])
    along, up, yy, zz, zy = np.add.reduce(terms * cross, 1)
    return Moments(np.add.reduce(cross, 0) / 2, along / 6, up / 6, yy / 12, zz / 12, zy / 24)


def properties(moments: Moments, top: Array, bottom: Array) -> Properties:
    """About the centroid."""
    area, zc, yc = moments.area, moments.z / moments.area, moments.y / moments.area
    return Properties(
        area, yc, zc, moments.yy - area * yc * yc, moments.zz - area * zc * zc, moments.zy - area * zc * yc, top, bottom
    )


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
    lines = outlines_of(batch)
    own = [lines.edges[number] for number in lines.own]
    zones = zip(*(edge_moments(edges) for edges in own), strict=True)
    gross_moments = Moments(*(_side_by_side(list(parts))[:, lines.sort] for parts in zones))
    core = _side_by_side([_core_area(batch, number) for number in lines.own])[:, lines.sort]
    top, bottom = (
        _side_by_side([pick.reduce(edges.y0, 0, where=edges.sign > 0.0, initial=start)[:, 0] for edges in own])
        for pick, start in ((np.maximum, -np.inf), (np.minimum, np.inf))
    )
    top, bottom = top[:, lines.sort], bottom[:, lines.sort]
    gross = properties(gross_moments, top, bottom)
    first, again = layout.alike.first, layout.alike.again
    places = Places(grid.x_in[first], grid.zone[first], lines)
    net_moments = Moments(*(part[:, places.zone] for part in gross_moments))
    clearances = []
    for number in range(len(batch.piece.rods)):
        sleeve, *clearance = _sleeve(
            batch, places, number, layout.height_in[number][:, first], layout.active[number, first]
        )
        net_moments = net_moments.less(sleeve)
        clearances.append(clearance)
    clear, at = (
        (_side_by_side(list(part)) for part in zip(*clearances, strict=True)) if clearances else np.zeros((2, 1, 0))
    )
    alike = properties(net_moments, top[:, places.zone], bottom[:, places.zone])
    net = Properties(*(part[:, again] for part in vars(alike).values()))
    return Sections(gross, alike, net, core, clear, at, lines)


class Places(NamedTuple):
    """The sections of `Layout.alike`: x and zone of the first station of each (K,)."""

    x_in: Array
    zone: Whole
    lines: Outlines


def outlines_of(batch: Batch) -> Outlines:
    own, sort = batch.sorts
    edges = [_zone_edges(batch, k) for k in own]
    return Outlines(tuple(edges[k] for k in sort.tolist()), own, sort)


def _zone_edges(batch: Batch, number: int) -> Edges:
    """(E, V or 1, 1), to set against points (V, n)."""
    roles = batch.piece.zones[number].rings
    return edges_of(
        [
            (1.0 if ring.role is RingRole.CONCRETE else -1.0, points[:, None])
            for ring, points in zip(roles, batch.rings[number], strict=True)
        ]
    )


def _side_by_side(parts: list[Array]) -> Array:
    """Arrays (V or 1,) as columns (V or 1, n)."""
    lead = max(part.shape[0] for part in parts)
    found = np.empty((lead, len(parts)))
    for column, part in enumerate(parts):
        found[:, column] = part
    return found


def _core_area(batch: Batch, zone: int) -> Array:
    """Of the foam in a zone's section (Vg,)."""
    found = np.zeros(1)
    for ring, spec in zip(batch.rings[zone], batch.piece.zones[zone].rings, strict=True):
        if spec.role is RingRole.CORE:
            z, y = ring[..., 0], ring[..., 1]
            found = found + 0.5 * (z[:, :-1] * y[:, 1:] - z[:, 1:] * y[:, :-1]).sum(1)
            found = found + 0.5 * (z[:, -1] * y[:, 0] - z[:, 0] * y[:, -1])
    return found


def _sleeve(batch: Batch, places: Places, number: int, height: Array, active: Flags) -> tuple[Moments, Array, Array]:
    """What a rod's sleeve takes out of the concrete of each section, each (Vg, K), its least clearance and the x of it
    (Vg,): both sides of a zone's end are looked at; negative in foam or outside."""
    rod, lines = batch.piece.rods[number], places.lines
    radius = rod.sleeve.outside_in / 2
    z = batch.rods.across_in[:, [number]]
    y_points = batch.rods.y_in[number]
    level = bool((y_points == y_points[:, :1]).all())
    share = _full_circle(z, height, radius, active)
    clearance, at = np.array([np.inf]), np.zeros(1)
    seen: set[int] = set()
    for zone in sorted(set(places.zone[active].tolist())):
        sort = int(lines.sort[zone])
        if level and sort in seen:
            continue
        seen.add(sort)
        here = np.flatnonzero(active & (lines.sort[places.zone] == sort if level else places.zone == zone))
        probe = here[:1] if level else here
        clear = depth_in_concrete(lines.edges[zone], z, height[:, probe]) - radius
        least, x = clear.min(-1), places.x_in[probe[clear.argmin(-1)]]
        at, clearance = np.where(least < clearance, x, at), np.minimum(clearance, least)
        if (clear < -TOUCHING_IN).any():
            part = _partial_circle(lines.edges[zone], z, height[:, probe], radius)
            lead = np.broadcast_shapes(share.area.shape[:1], part.area.shape[:1])[0]
            share = Moments(*(_put(whole, lead, here, piece) for whole, piece in zip(share, part, strict=True)))
    return share, clearance, at


def _put(whole: Array, lead: int, here: np.ndarray, part: Array) -> Array:
    out = np.array(np.broadcast_to(whole, (lead, whole.shape[1])))
    out[:, here] = part
    return out


def _full_circle(z: Array, y: Array, radius: float, active: Flags) -> Moments:
    """z (Vg, 1), y (Vg, K)."""
    area = np.asarray(np.pi * radius**2 * active, dtype=np.float64)
    own = area * radius**2 / 4
    up = area * y
    shape = np.broadcast_shapes(z.shape, y.shape)
    across = wide(area * z, shape)
    return Moments(wide(area, shape), across, wide(up, shape), wide(up * y + own, shape), across * z + own, up * z)


def _partial_circle(edges: Edges, z: Array, y: Array, radius: float) -> Moments:
    """Quadrature of the part of a circle that lies in concrete: equal areas, rings and rays."""
    r = radius * np.sqrt((np.arange(QUADRATURE_RINGS) + 0.5) / QUADRATURE_RINGS)
    angle = 2 * np.pi * (np.arange(QUADRATURE_RAYS) + 0.5) / QUADRATURE_RAYS
    dz, dy = (np.outer(r, turn).reshape(-1, 1, 1) for turn in (np.cos(angle), np.sin(angle)))
    pz, py = z + dz, y + dy
    cell = np.pi * radius**2 / dz.size * inside_concrete(edges, pz, py)
    return Moments(*((cell * f).sum(0) for f in (1.0, pz, py, py * py, pz * pz, pz * py)))


def corners(batch: Batch, grid: Grid) -> tuple[Array, Array]:
    """z and y (C, Vg, S) of the corners that can be extreme: two of the top face, two of the bottom face, then the
    other corners of the convex hull, repeated where a zone has fewer."""
    per_zone = [_zone_corners(batch, number) for number in range(len(batch.piece.zones))]
    count = max(points.shape[1] for points in per_zone)
    lead = max(points.shape[0] for points in per_zone)
    padded = [
        wide(np.concatenate([p, np.repeat(p[:, :1], count - p.shape[1], axis=1)], axis=1), (lead, count, 2))
        for p in per_zone
    ]
    z, y = np.take(np.array(padded).transpose(3, 2, 1, 0), grid.zone, axis=-1)  # of (2, C, Vg, Z)
    return z, y


def _zone_corners(batch: Batch, zone: int) -> Array:
    spec = batch.piece.zones[zone]
    rings = [ring for ring, r in zip(batch.rings[zone], spec.rings, strict=True) if r.role is RingRole.CONCRETE]
    lead = max(ring.shape[0] for ring in rings)
    points = np.concatenate([wide(ring, (lead, *ring.shape[1:])) for ring in rings], axis=1)
    return points[:, extreme_corners(spec)]


@lru_cache(maxsize=4096)
def extreme_corners(zone: Zone) -> list[int]:
    """Which corners of a zone's concrete rings, counted through, can be extreme: of the section as specified."""
    points = np.array([point for ring in zone.rings if ring.role is RingRole.CONCRETE for point in ring.points])
    z, y = points.T
    near = 1e-9 * (1.0 + np.ptp(y) + np.ptp(z))
    faces = [np.flatnonzero(y >= y.max() - near), np.flatnonzero(y <= y.min() + near)]
    chosen = [int(face[pick(z[face])]) for face in faces for pick in (np.argmin, np.argmax)]
    hull = [k for k in _hull(z, y) if not any(np.hypot(z[k] - z[c], y[k] - y[c]) <= near for c in chosen)]
    return chosen + hull


def _hull(z: Array, y: Array) -> list[int]:
    """Indices of the corners of the convex hull (monotone chain)."""
    order = sorted(range(len(z)), key=lambda k: (z[k], y[k]))
    half: list[list[int]] = []
    for sequence in (order, order[::-1]):
        chain: list[int] = []
        for k in sequence:
            while (
                len(chain) > 1
                and (
                    (z[chain[-1]] - z[chain[-2]]) * (y[k] - y[chain[-2]])
                    - (y[chain[-1]] - y[chain[-2]]) * (z[k] - z[chain[-2]])
                )
                <= 1e-12
            ):
                chain.pop()
            chain.append(k)
        half.append(chain[:-1])
    return half[0] + half[1]


def contact_width(batch: Batch, x_in: float, end: float) -> float:
    """Width of the section's foot at x [in]: its lowest flat edges; of two zones that meet there, the lower one's, or
    the narrower."""
    tiny = 1e-9 * end
    here = [zone for zone in batch.piece.zones if zone.start_in - tiny <= x_in <= zone.end_in + tiny]
    lowest = min(zone.soffit_in for zone in here)
    return min(foot_width(zone) for zone in here if zone.soffit_in <= lowest + 1e-6)


@lru_cache(maxsize=4096)
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
