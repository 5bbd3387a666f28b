"""Strength at one place of a `Course`: the block as a shapely cut of the real gross section, c by root finding."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from shapely import affinity, box
from shapely.geometry.base import BaseGeometry

from tests.core.independent.naive_course import Course

REACH = 1e4


@dataclass(frozen=True)
class Strength:
    nominal: float
    phi: float
    stress: tuple[float, ...]


def strength_at(course: Course, x: float, zone: int, sagging: bool) -> Strength:
    shape: BaseGeometry = course.shapes[zone].concrete
    rods = [r for r in course.rods if r.x[0] <= x <= r.x[-1]]
    final = [course.final[course.rods.index(r)] / r.area for r in rods]
    levels = [float(r.level(np.array(x))) for r in rods]
    if not sagging:
        shape, levels = affinity.scale(shape, 1, -1, origin=(0, 0)), [-y for y in levels]
    low, top = shape.bounds[1], shape.bounds[3]
    fc = course.doc["concrete"]["strength"]
    beta = min(max(0.85 - 0.05 * (fc - 4000) / 1000, 0.65), 0.85)
    span = max(np.diff(course.posts))
    strip = shape.intersection(box(-REACH, top - 0.02 * (top - low), REACH, top))
    width = strip.area / (0.02 * (top - low))
    steel = sum(r.area for r in rods)

    def stresses(c: float) -> list[float]:
        out = []
        for rod, f, y in zip(rods, final, levels, strict=True):
            d = top - y
            value = f + 900e3 * (d - c) / (rod.x[-1] - rod.x[0])
            if f >= 0.5 * rod.fu:
                slender = span / (top - low) > 35
                more = fc / ((300 if slender else 100) * steel / (width * d)) + 10e3
                value = min(value, f + min(more, 30e3 if slender else 60e3))
            out.append(min(max(value, 0.0), rod.fy))
        return out

    def block(c: float) -> BaseGeometry:
        return shape.intersection(box(-REACH, top - beta * c, REACH, top + 1))

    def unbalanced(c: float) -> float:
        return 0.85 * fc * block(c).area - sum(r.area * s for r, s in zip(rods, stresses(c), strict=True))

    c = brentq(unbalanced, 1e-9, (top - low) / beta)
    found = stresses(c)
    centre = block(c).centroid.y
    nominal = sum(r.area * s * (centre - y) for r, s, y in zip(rods, found, levels, strict=True))
    strain = 0.003 * (max(top - y for y in levels) - c) / c
    phi = float(np.clip(0.65 + 0.25 * (strain - 0.002) / 0.003, 0.65, 0.9))
    return Strength(nominal, phi, tuple(found))
