"""Figures of places rather than of time: lifting, cover of the sleeves, uplift, the side bow while tightening."""

import numpy as np
from shapely import Point

from tests.core.independent.naive_beam import Array, Beam
from tests.core.independent.naive_course import Course


def place_figures(course: Course) -> dict[str, float | None]:
    found: dict[str, float | None] = {**_lifting(course), "uplift.factor": _uplift(course)}
    for k, rod in enumerate(course.rods):
        found[f"rod.{rod.rod['mark']}.cover"] = _cover(course, k)
    if course.rods:
        found["bow.lateral_max"] = _side_bow(course)
    return found


def _lifting(c: Course) -> dict[str, float]:
    """Both turnings of a piece cast face down; every outer corner, both ends of every element; no rod is tight."""
    given = c.doc["handling"]
    beam = Beam(c.x, np.array([n.free for n in c.net_mid]), sorted(given["lift_points"]))
    moment = given.get("multiplier", 1.5) * beam.solve(np.array(c.zone_weight)[c.zone], {}).moment
    worst = 0.0
    for e in range(len(c.mid)):
        concrete = c.shapes[c.zone[e]].concrete
        corners = [p for part in getattr(concrete, "geoms", [concrete]) for p in part.exterior.coords]
        for side in (0, 1):
            n = c.net_ends[e][side]
            square = n.iy * n.iz - n.iyz**2
            for m in (moment[e, side], -moment[e, side]) if c.doc["cast"] == "face-down" else (moment[e, side],):
                stress = [(-m * n.iz * (y - n.yc) + m * n.iyz * (z - n.zc)) / square for z, y in corners]
                worst = max(worst, *stress)
    concrete_values = c.doc["concrete"]
    scaled = concrete_values["flexural_yield"] * (given["strength"] / concrete_values["strength"]) ** 0.5
    return {"handling.tension": worst, "handling.factor": given.get("flexural_yield", scaled) / worst}


def _uplift(c: Course) -> float | None:
    none = np.zeros(len(c.posts))
    rods = sum((f * a.reaction for f, a in zip(c.transfer, c.of_rod, strict=True)), none)
    least = c.envelope("reaction")[1]
    factors = [(c.dead.reaction[k] + rods[k]) / -least[k] for k in range(len(c.posts)) if least[k] < -1e-6]
    return max(min(factors), 0.0) if factors else None


def _cover(c: Course, k: int) -> float:
    rod, least = c.rods[k], np.inf
    for e in np.flatnonzero(rod.inside(c.mid)):
        concrete = c.shapes[c.zone[e]].concrete
        for x in (c.x[e], c.x[e + 1]):
            centre = Point(rod.z, float(rod.level(np.array(x))))
            away = concrete.boundary.distance(centre)
            least = min(least, (away if concrete.contains(centre) else -away) - rod.outside / 2)
    return float(least)


def _side_bow(c: Course) -> float:
    """Curvature across, twice summed along the piece, over the chord of the outer supports; the worst turn."""
    unit = [_side_curvature(c, forces) for forces in np.eye(len(c.rods))]
    return max(_bow(c, sum(f * u for f, u in zip(forces, unit, strict=True))) for forces in c.turns)


def _side_curvature(c: Course, forces: Array) -> Array:
    found = []
    for e in range(len(c.mid)):
        n = c.net_mid[e]
        ends = [
            c.corner_stress(e, side, n.zc + 1, n.yc, forces, 0) - c.corner_stress(e, side, n.zc, n.yc, forces, 0)
            for side in (0, 1)
        ]
        found.append(sum(ends) / 2)
    return np.array(found) / c.e_young


def _bow(c: Course, curvature: Array) -> float:
    h = np.diff(c.x)
    slope = np.concatenate([[0], np.cumsum(curvature * h)])
    side = np.concatenate([[0], np.cumsum(slope[:-1] * h + curvature * h**2 / 2)])
    a, b = c.posts[0], c.posts[-1]
    left, right = np.interp([a, b], c.x, side)
    chord = left + (right - left) * (c.x - a) / (b - a)
    return float(np.abs(side - chord)[(c.x >= a) & (c.x <= b)].max())
