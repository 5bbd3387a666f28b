"""Sections by shapely, from the plain document (US units, plain numbers): polygons cut with discs for the sleeves,
moments of area by a fan of triangles. Written from the format's text, apart from the engine."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

DISC_SEGMENTS = 90  # of a quarter: the polygon's area is short by 5e-5


@dataclass(frozen=True)
class Shape:
    """concrete and foam in the piece's own z and y; load_width: what an area load acts on."""

    concrete: BaseGeometry
    foam: BaseGeometry
    load_width: float
    depth: float


@dataclass(frozen=True)
class Moments:
    area: float
    zc: float
    yc: float
    iy: float  # about the axis across: of y
    iz: float
    iyz: float

    @property
    def free(self) -> float:
        return self.iy - self.iyz**2 / self.iz


def shape_at_zero(shape: dict[str, Any]) -> Shape:
    """The shape with its own lowest point at y = 0."""
    kind, none = shape["type"], Polygon()
    if kind == "rails":
        low = min(r["bottom"] for r in shape["rails"])
        rails = [
            box(r["left"], r["bottom"] - low, r["left"] + r["width"], r["bottom"] - low + r["height"])
            for r in shape["rails"]
        ]
        whole = unary_union(rails)
        return Shape(whole, none, sum(r["width"] for r in shape["rails"]), whole.bounds[3])
    if kind == "outline":
        whole = Polygon(shape["outer"], shape.get("holes", []))
        z0, y0, z1, y1 = whole.bounds
        return Shape(whole, none, z1 - z0, y1 - y0)
    width, depth = shape["width"], shape["depth"]
    if kind == "apron":
        legs = [(leg, shape[leg]) for leg in ("front", "back") if leg in shape]
        drop = max(leg["drop"] for _, leg in legs)
        parts = [box(0, drop, width, drop + depth)]
        for name, leg in legs:
            left = 0 if name == "front" else width - leg["thickness"]
            parts.append(box(left, drop - leg["drop"], left + leg["thickness"], drop))
        return Shape(unary_union(parts), none, width, depth + drop)
    foam = unary_union(
        [box(c["left"], c["bottom"], c["left"] + c["width"], c["bottom"] + c["height"]) for c in shape.get("cores", [])]
        or [none]
    )
    return Shape(box(0, 0, width, depth).difference(foam), foam, width, depth)


def zone_shapes(document: dict[str, Any]) -> list[Shape]:
    """Flush at the top, unless `bottom` lifts a soffit over y = 0 of the deepest zone."""
    from shapely.affinity import translate

    plain = [shape_at_zero(zone["shape"]) for zone in document["zones"]]
    deepest = max(one.depth + z["shape"].get("bottom", 0.0) for one, z in zip(plain, document["zones"], strict=True))
    found = []
    for one, zone in zip(plain, document["zones"], strict=True):
        lift = zone["shape"].get("bottom", deepest - one.depth)
        found.append(Shape(translate(one.concrete, 0, lift), translate(one.foam, 0, lift), one.load_width, one.depth))
    return found


def moments(shape: BaseGeometry) -> Moments:
    total = np.zeros(6)
    for part in getattr(shape, "geoms", [shape]):
        if part.is_empty or part.geom_type != "Polygon":
            continue
        for ring, sign in [(part.exterior, 1.0), *((hole, -1.0) for hole in part.interiors)]:
            total += sign * _fan(np.array(ring.coords))
    area, sz, sy, szz, syy, szy = total
    zc, yc = sz / area, sy / area
    return Moments(area, zc, yc, syy - area * yc**2, szz - area * zc**2, szy - area * zc * yc)


def _fan(points: np.ndarray) -> np.ndarray:
    """Area, moments and second moments of a ring as signed triangles from its first corner, made positive; the
    midpoints of a triangle's sides integrate squares exactly."""
    a, b, c = points[0], points[1:-2], points[2:-1]
    area = 0.5 * np.cross(np.c_[b - a, np.zeros(len(b))], np.c_[c - a, np.zeros(len(c))])[:, 2]
    mids = [0.5 * (a + b), 0.5 * (b + c), 0.5 * (a + c)]
    out = np.zeros(6)
    out[0] = area.sum()
    for m in mids:
        z, y = m[:, 0], m[:, 1]
        out[1:] += np.array([(area * f).sum() / 3 for f in (z, y, z * z, y * y, z * y)])
    return out if out[0] > 0 else -out


def without_sleeves(shape: Shape, discs: list[tuple[float, float, float]]) -> BaseGeometry:
    """discs: (z, y, outside diameter)."""
    whole = shape.concrete
    for z, y, outside in discs:
        whole = whole.difference(Point(z, y).buffer(outside / 2, quad_segs=DISC_SEGMENTS))
    return whole
