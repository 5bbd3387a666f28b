"""A whole piece from stressing to end of life, slowly: friction, seating, turn by turn, creep, shrinkage, relaxation,
stresses, crown. From the plain document (US units, plain numbers, no strings), apart from the engine."""

import copy
import itertools
from functools import cached_property
from typing import Any

import numpy as np

from tests.core.independent.naive_beam import Answer, Array, Beam
from tests.core.independent.naive_sections import Moments, moments, without_sleeves, zone_shapes

STEEL = 29e6
GRADES = {"A193 B7": (105e3, 125e3), "F1554-36": (36e3, 58e3), "A307 A": (36e3, 60e3)}
THREADS = {"1/2-13 UNC": (0.5, 13), "3/8-16 UNC": (0.375, 16), "5/8-11 UNC": (0.625, 11)}


class Rod:
    def __init__(self, rod: dict[str, Any], seating: float) -> None:
        self.rod, self.seating = rod, seating
        self.x, self.y = (np.array(c, float) for c in zip(*rod["profile"], strict=True))
        diameter, per_inch = THREADS[rod["thread"]]
        self.diameter, self.pitch = diameter, 1 / per_inch
        self.area = np.pi / 4 * (diameter - 0.9743 / per_inch) ** 2
        self.fy, self.fu = GRADES[rod["grade"]]
        self.z, self.outside = rod["across"], rod["sleeve"]["outside"]
        self.force = rod["jacking_force"]
        self.fine = np.linspace(self.x[0], self.x[-1], 4001)

    def level(self, x: Array) -> Array:
        if self.rod.get("curve") == "parabola":
            return np.polyval(np.polyfit(self.x, self.y, 2), x)
        return np.interp(x, self.x, self.y)

    def inside(self, x: Array) -> Array:
        return (x > self.x[0]) & (x < self.x[-1])

    @cached_property
    def turned(self) -> Array:
        """Angle turned so far from the left, at the fine stations."""
        slope = np.arctan(np.diff(self.level(self.fine)) / np.diff(self.fine))
        steps = np.abs(np.diff(slope))
        return np.concatenate([[0], np.cumsum(steps), [steps.sum()]])

    def falling(self, end: str) -> Array:
        s, x = self.rod["sleeve"], self.fine
        run, angle = (x - x[0], self.turned) if end == "left" else (x[-1] - x, self.turned[-1] - self.turned)
        return np.exp(-(s["friction"] * angle + s["wobble"] * run / 12))

    @cached_property
    def before(self) -> Array:
        ends = self.ends
        return self.force * np.max([self.falling(end) for end in ends], axis=0)

    @property
    def ends(self) -> list[str]:
        end = self.rod.get("stressed_from", "right")
        return ["left", "right"] if end == "both" else [end]

    @cached_property
    def after(self) -> Array:
        """Reflected about a level at each stressed end; area between the curves = slip·E·A."""
        found = self.before
        for end in self.ends if self.seating else []:
            curve = self.force * self.falling(end)
            low, high = 0.0, self.force
            for _ in range(60):
                level = (low + high) / 2
                lost = np.trapezoid(self.before - np.minimum(self.before, 2 * level - curve), self.fine)
                low, high = (level, high) if lost > self.seating * STEEL * self.area else (low, level)
            found = np.minimum(found, 2 * low - curve)
        return found

    def mean(self, curve: Array) -> float:
        return float(np.trapezoid(curve, self.fine) / (self.x[-1] - self.x[0]))

    def shape(self, x: Array) -> Array:
        """Force over its mean after seating, 0 beyond the faces."""
        return np.interp(x, self.fine, self.after) / self.mean(self.after) * self.inside(x)


class NaivePiece:
    """step: longest element [in]."""

    def __init__(self, document: dict[str, Any], step: float = 0.75) -> None:
        self.doc = d = copy.deepcopy(document)
        rods = {}
        for rod in d.get("rods", []):
            rods[rod["mark"]] = {**rods.get(rod.get("like"), {}), **rod}
        s = d.get("stressing", {})
        self.rods = [Rod(r, s.get("seating", 0.0)) for r in rods.values()]
        self.shapes = zone_shapes(d)
        self.posts = [p["at"] for p in d["supports"]]
        c = d["concrete"]
        self.e_young, self.e_old, self.creep = c["modulus_at_stressing"], c["modulus"], c["creep"]
        self._mesh(step)
        self._sections()

    # --- mesh and sections -------------------------------------------------------------------------------------
    def _mesh(self, step: float) -> None:
        d, length = self.doc, self.doc["length"]
        marks = {0.0, length, *self.posts, *(z["to"] for z in d["zones"])}
        for load in d.get("loads", []):
            marks |= {load[k] for k in ("from", "to", "at") if isinstance(load.get(k), int | float)}
        for rod in self.rods:
            marks |= set(rod.x.tolist())
        marks |= set(self.figure_range)
        marks |= set(d.get("handling", {}).get("lift_points", []))
        spans = sorted(m for m in marks if 0 <= m <= length)
        parts = [np.linspace(a, b, max(2, int(np.ceil((b - a) / step)) + 1))[:-1] for a, b in itertools.pairwise(spans)]
        self.x = np.append(np.concatenate(parts), length)
        self.mid = (self.x[1:] + self.x[:-1]) / 2
        starts = [0.0, *(z["to"] for z in d["zones"])]
        self.zone = np.searchsorted(starts, self.mid) - 1

    def zone_at(self, x: float) -> int:
        starts = [z["to"] for z in self.doc["zones"]]
        return int(np.searchsorted(starts, x))

    @cached_property
    def figure_range(self) -> tuple[float, float]:
        """One section depth inside the outermost anchor faces."""
        if not self.rods:
            return 0.0, self.doc["length"]
        left, right = min(r.x[0] for r in self.rods), max(r.x[-1] for r in self.rods)
        ends = [z["to"] for z in self.doc["zones"]]
        first = self.shapes[int(np.searchsorted(ends, left, side="right"))].depth
        last = self.shapes[int(np.searchsorted(ends, right))].depth
        return left + first, right - last

    def _sections(self) -> None:
        """At the middle and at both ends of each element."""
        known: dict[Any, Moments] = {}

        def at(zone: int, x: float, mid: float) -> Moments:
            discs = [
                (r.z, round(float(r.level(np.array(x))), 6), r.outside) for r in self.rods if r.inside(np.array(mid))
            ]
            key = (zone, *discs)
            if key not in known:
                known[key] = moments(without_sleeves(self.shapes[zone], discs))
            return known[key]

        places = list(zip(self.zone, self.mid, self.x[:-1], self.x[1:], strict=True))
        self.net_mid = [at(z, m, m) for z, m, _, _ in places]
        self.net_ends = [(at(z, a, m), at(z, b, m)) for z, m, a, b in places]
        self.gross = [moments(s.concrete) for s in self.shapes]
        self.beam = Beam(self.x, np.array([n.free for n in self.net_mid]), self.posts)

    # --- loads -------------------------------------------------------------------------------------------------
    @cached_property
    def zone_weight(self) -> list[float]:
        foam = self.doc.get("core_density", 2)
        return [(s.concrete.area * self.doc["concrete"]["density"] + s.foam.area * foam) / 1728 for s in self.shapes]

    @cached_property
    def own(self) -> Answer:
        return self.beam.solve(np.array(self.zone_weight)[self.zone], {})

    def line_of(self, load: dict[str, Any], low: float, high: float) -> tuple[Array, dict[int, float]]:
        if load["type"] == "point":
            here = low <= load["at"] < high or load["at"] == high == self.doc["length"]
            return np.zeros(len(self.mid)), {int(np.abs(self.x - load["at"]).argmin()): load["value"]} if here else {}
        a, b = max(low, load.get("from", 0)), min(high, load.get("to", self.doc["length"]))
        per = (
            load["value"] / 144 * np.array([s.load_width for s in self.shapes])[self.zone]
            if load["type"] == "area"
            else load["value"] / 12
        )
        return per * ((self.mid > a) & (self.mid < b)), {}

    @cached_property
    def dead(self) -> Answer:
        """Self weight included."""
        line, points = np.array(self.zone_weight)[self.zone].astype(float), {}
        for load in self.doc.get("loads", []):
            if load["case"] == "dead":
                more, here = self.line_of(load, 0, self.doc["length"])
                line = line + more
                for node, value in here.items():
                    points[node] = points.get(node, 0.0) + value
        return self.beam.solve(line, points)

    @cached_property
    def groups(self) -> list[list[list[Answer]]]:
        """Groups that act apart; a group's members are on or off; a member's alternatives exclude each other."""
        bounds = sorted({0.0, *self.posts, self.doc["length"]})
        groups: list[list[list[Answer]]] = [[]]
        none = np.zeros(len(self.mid))
        for load in self.doc.get("loads", []):
            if load["case"] != "live":
                continue
            if load.get("at") == "anywhere":
                members = [[self.beam.solve(none, {k: load["value"]}) for k in range(len(self.x))]]
            else:
                parts = [self.line_of(load, a, b) for a, b in itertools.pairwise(bounds)]
                members = [[self.beam.solve(*p)] for p in parts if np.any(p[0]) or p[1]]
            if load.get("alone"):
                groups.append(members)
            else:
                groups[0] += members
        return groups

    def envelope(self, name: str, groups: list[int] | None = None) -> tuple[Array, Array]:
        zero = np.zeros_like(getattr(self.own, name))
        most, least = zero.copy(), zero.copy()
        for number, group in enumerate(self.groups):
            if groups is not None and number not in groups:
                continue
            up, down = zero.copy(), zero.copy()
            for member in group:
                values = np.array([getattr(a, name) for a in member])
                up += np.maximum(values.max(0), 0)
                down += np.minimum(values.min(0), 0)
            most, least = np.maximum(most, up), np.minimum(least, down)
        return most, least

    @cached_property
    def sustained(self) -> Answer:
        share = self.doc.get("sustained_live", 0.0)
        total = self.beam.solve(np.zeros(len(self.mid)), {})
        for member in self.groups[0]:
            for name in ("rise", "moment", "shear", "reaction"):
                setattr(total, name, getattr(total, name) + share * getattr(member[0], name))
        return total

    # --- rods --------------------------------------------------------------------------------------------------
    @cached_property
    def of_rod(self) -> list[Answer]:
        """Of a unit mean force of each rod: imposed curvature (modulus 1) of its own moments, sideways free."""
        found = []
        for rod in self.rods:
            p = rod.shape(self.mid)
            up = np.array([float(rod.level(np.array(x))) - n.yc for x, n in zip(self.mid, self.net_mid, strict=True)])
            side = np.array([rod.z - n.zc for n in self.net_mid])
            skew = np.array([n.iyz / n.iz for n in self.net_mid])
            bent = p * (up - side * skew) / np.array([n.free for n in self.net_mid])
            found.append(self.beam.solve(np.zeros(len(self.mid)), {}, bent))
        return found

    def secondary(self, k: int) -> Array:
        """Moment (elements, 2) that the supports add to a unit force of rod k."""
        at = np.array(self.posts)
        ends = np.stack([self.x[:-1], self.x[1:]], 1)
        return (np.maximum(ends[..., None] - at, 0) * self.of_rod[k].reaction).sum(-1)

    def corner_stress(self, e: int, side: int, z: float, y: float, forces: Array, moment: float) -> float:
        """At one end of element e: the rods at mean forces, loads' moment on top (sagging)."""
        n, x = self.net_ends[e][side], (self.x[e], self.x[e + 1])[side]
        m_y, m_z, axial = -moment, 0.0, 0.0
        for k, (rod, force) in enumerate(zip(self.rods, forces, strict=True)):
            if not rod.inside(np.array(self.mid[e])):
                p = 0.0
            else:
                p = force * float(np.interp(x, rod.fine, rod.after)) / rod.mean(rod.after)
            axial -= p
            m_y -= p * (float(rod.level(np.array(x))) - n.yc) + force * self.secondary_of(k)[e, side]
            m_z -= p * (rod.z - n.zc)
        square = n.iy * n.iz - n.iyz**2
        by_y, by_z = (m_y * n.iz - m_z * n.iyz) / square, (m_z * n.iy - m_y * n.iyz) / square
        return axial / n.area + by_y * (y - n.yc) + by_z * (z - n.zc)

    def secondary_of(self, k: int) -> Array:
        if not hasattr(self, "_secondary"):
            self._secondary = [self.secondary(j) for j in range(len(self.rods))]
        return self._secondary[k]

    def axis_strain(self, answer: Array, forces: Array) -> Array:
        """Modulus × mean shortening along each axis by a moment (elements, 2) and rods at mean forces."""
        found = []
        for rod in self.rods:
            total, run = 0.0, rod.x[-1] - rod.x[0]
            for e in np.flatnonzero(rod.inside(self.mid)):
                h = self.x[e + 1] - self.x[e]
                ends = [
                    self.corner_stress(e, side, rod.z, float(rod.level(np.array(x))), forces, answer[e, side])
                    for side, x in ((0, self.x[e]), (1, self.x[e + 1]))
                ]
                total -= h * sum(ends) / 2
            found.append(total / run)
        return np.array(found)

    @cached_property
    def coupling(self) -> Array:
        """(R, R): modulus × shortening on axis r by a unit force of rod s."""
        none = np.zeros((len(self.mid), 2))
        return np.array([self.axis_strain(none, unit) for unit in np.eye(len(self.rods))]).T
