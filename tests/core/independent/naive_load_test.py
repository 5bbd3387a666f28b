"""Load-to-failure of a `Course` on two supports, as the format describes it: horizontal layers cut by shapely, one
force for each rod, one crack over a length equal to the depth. Every section is solved by scipy; nothing is clever."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import brentq, minimize_scalar, root
from shapely import box

from tests.core.independent.naive_beam import Array
from tests.core.independent.naive_course import Course
from tests.core.independent.naive_piece import STEEL
from tests.core.independent.naive_sections import without_sleeves

CRUSHED, PULLED_OUT, HARDENS = 0.004, 0.01, 0.015


@dataclass
class Fibres:
    y: Array
    area: Array
    low: float
    top: float


@dataclass
class NaiveLoadTest:
    course: Course
    stations: int = 24
    layers: int = 160
    known: dict[tuple[float, ...], Fibres] = field(default_factory=dict)

    def __post_init__(self) -> None:
        c, d = self.course, self.course.doc
        self.fc, self.e = d["concrete"]["strength"], d["concrete"]["modulus"]
        self.crack, self.left = d["concrete"]["flexural_yield"], d["concrete"]["residual_tension"]
        marks = sorted({0.0, d["length"], *c.posts, *(z["to"] for z in d["zones"]), *(x for r in c.rods for x in r.x)})
        middle = sum(c.posts) / 2
        marks = sorted(
            {
                *marks,
                *(v for at in c.posts for v in (at - 0.02, at + 0.02) if 0 < v < d["length"]),
                middle - 0.02,
                middle + 0.02,
            }
        )
        cuts = [
            np.linspace(a, b, max(2, int(np.ceil((b - a) / d["length"] * self.stations)) + 1))[:-1]
            for a, b in itertools.pairwise(marks)
        ]
        x = np.append(np.concatenate(cuts), d["length"])
        self.x, self.h = (x[1:] + x[:-1]) / 2, np.diff(x)
        w = np.array(c.zone_weight)
        self.self_moment = self._moment(
            lambda a, b: sum(w[k] * max(0.0, min(b, e) - max(a, s)) for k, (s, e) in enumerate(self._zones()))
        )
        self.unit_moment = self._moment(lambda a, b: b - a)
        self.sections = [self._fibres(v) for v in self.x]

    def _zones(self) -> list[tuple[float, float]]:
        ends = [z["to"] for z in self.course.doc["zones"]]
        return list(zip([0.0, *ends[:-1]], ends, strict=True))

    def _moment(self, weight: Callable[[float, float], float]) -> Array:
        """Sagging moment at the stations by summing slices."""
        cuts = np.linspace(0, self.course.doc["length"], 4001)
        mid, load = (cuts[1:] + cuts[:-1]) / 2, np.array([weight(a, b) for a, b in itertools.pairwise(cuts)])
        a, b = self.course.posts
        right = (load * (mid - a)).sum() / (b - a)
        left = load.sum() - right
        return np.array(
            [left * max(v - a, 0) + right * max(v - b, 0) - (load * np.maximum(v - mid, 0)).sum() for v in self.x]
        )

    def _fibres(self, x: float) -> Fibres:
        c = self.course
        zone = next(k for k, (s, e) in enumerate(self._zones()) if s < x < e)
        discs = [(r.z, round(float(r.level(np.array(x))), 3), r.outside) for r in c.rods if r.x[0] < x < r.x[-1]]
        key = (zone, *(v for disc in discs for v in disc))
        if key not in self.known:
            net = without_sleeves(c.shapes[zone], discs)
            low, top = net.bounds[1], net.bounds[3]
            edges = np.linspace(low, top, self.layers + 1)
            area = np.array([net.intersection(box(-1e3, a, 1e3, b)).area for a, b in itertools.pairwise(edges)])
            self.known[key] = Fibres((edges[1:] + edges[:-1]) / 2, area, low, top)
        return self.known[key]

    # --- laws --------------------------------------------------------------------------------------------------
    def concrete(self, strain: Array, cracked: bool) -> Array:
        peak = 2 * self.fc / self.e
        ratio = np.clip(-strain / peak, 0, 1)
        pressed = -self.fc * (2 * ratio - ratio**2)
        pulled = self.e * np.maximum(strain, 0)
        if cracked:
            pulled = np.where(strain > PULLED_OUT, 0.0, np.where(pulled > self.left, self.left, pulled))
        return np.where(strain < 0, pressed, pulled)

    def steel(self, k: int, strain: float) -> float:
        """Force of rod k."""
        rod = self.course.rods[k]
        plateau = max(HARDENS, rod.fy / STEEL)
        if strain < rod.fy / STEEL:
            return STEEL * max(strain, 0.0) * rod.area
        return rod.area * float(np.interp(strain, [plateau, 0.10], [rod.fy, rod.fu]))

    # --- sections ----------------------------------------------------------------------------------------------
    def levels(self, x: float) -> Array:
        return np.array([float(r.level(np.array(x))) for r in self.course.rods])

    def inside(self, x: float) -> Array:
        return np.array([r.x[0] < x < r.x[-1] for r in self.course.rods], float)

    def bend(self, i: int, forces: Array, moment: float) -> tuple[float, float]:
        """Strain at y = 0 and slope of an uncracked section under rods and a moment."""
        f, pull = self.sections[i], forces * self.inside(self.x[i])
        area, first, second = f.area.sum(), (f.area * f.y).sum(), (f.area * f.y**2).sum()
        want_n = -pull.sum()
        want_m = -moment - (pull * self.levels(self.x[i])).sum()  # of stress times y
        start = np.linalg.solve(self.e * np.array([[area, first], [first, second]]), [want_n, want_m])

        def off(v: Array) -> list[float]:
            s = self.concrete(v[0] + v[1] * f.y, False)
            return [(f.area * s).sum() - want_n, (f.area * s * f.y).sum() - want_m]

        return tuple(root(off, start, tol=1e-10).x)

    def mean_strain(self, bends: list[tuple[float, float]], skip: int | None = None, length: float = 0.0) -> Array:
        """Of concrete along each axis; a cracked length takes its share from the stations around it."""
        out = []
        for k, rod in enumerate(self.course.rods):
            total = 0.0
            for i, (e0, slope) in enumerate(bends):
                inside = self.inside(self.x[i])[k]
                h = self.h[i]
                if skip is not None and i != skip:
                    at = self.x[skip]
                    a, b = self.x[i] - h / 2, self.x[i] + h / 2
                    h -= max(0.0, min(b, at + length / 2) - max(a, at - length / 2))
                elif skip is not None:
                    h = length
                total += inside * h * (e0 + slope * self.levels(self.x[i])[k])
            out.append(total / (rod.x[-1] - rod.x[0]))
        return np.array(out)

    def uncracked(self, load: float, forces: Array) -> list[tuple[float, float]]:
        """load: lbf on the whole length."""
        moment = self.self_moment + load / self.course.doc["length"] * self.unit_moment
        return [self.bend(i, forces, float(m)) for i, m in enumerate(moment)]

    def start(self) -> None:
        c = self.course
        self.base_force = c.transfer.copy()
        self.base = self.mean_strain(self.uncracked(0.0, self.base_force)) if c.rods else np.zeros(0)

    def forces_for(self, strain: Array) -> Array:
        return np.array(
            [
                self.steel(k, self.base_force[k] / (STEEL * r.area) + strain[k] - self.base[k])
                for k, r in enumerate(self.course.rods)
            ]
        )

    def at_load(self, load: float) -> list[tuple[float, float]]:
        forces = self.base_force.copy()
        for _ in range(6):
            bends = self.uncracked(load, forces)
            forces = self.forces_for(self.mean_strain(bends))
        return bends

    def edge_tension(self, load: float) -> Array:
        bends = self.at_load(load)
        return np.array(
            [self.e * max(e0 + s * f.low, e0 + s * f.top) for (e0, s), f in zip(bends, self.sections, strict=True)]
        )

    def first_crack(self) -> float:
        """Load at which an edge reaches the flexural yield, and where."""
        self.start()
        high = 500.0
        while self.edge_tension(high).max() < self.crack:
            high *= 2
        load = brentq(lambda w: self.edge_tension(w).max() - self.crack, 0, high, xtol=0.5)
        self.crack_at = int(self.edge_tension(load).argmax())
        return load

    def cracked(self, slope: float, forces: Array) -> tuple[float, float, Array]:
        """Strain at y = 0, moment, and strains of the layers of the cracked section."""
        f, i = self.sections[self.crack_at], self.crack_at
        pull = forces * self.inside(self.x[i])

        def unbalanced(e0: float) -> float:
            return float((f.area * self.concrete(e0 + slope * f.y, True)).sum() + pull.sum())

        e0 = brentq(unbalanced, -0.05, 0.05 + abs(slope) * f.top)
        strain = e0 + slope * f.y
        moment = -(f.area * self.concrete(strain, True) * f.y).sum() - (pull * self.levels(self.x[i])).sum()
        return e0, moment, strain

    def load_at(self, curvature: float) -> tuple[float, Array, float]:
        """Load, rod strains and most compressed edge strain with the cracked length at this curvature (magnitude)."""
        i = self.crack_at
        f, sign = self.sections[i], -1.0 if self.unit_moment[i] > 0 else 1.0
        length = f.top - f.low

        def answer(forces: Array) -> tuple[float, Array, float]:
            e0, moment, _ = self.cracked(sign * curvature, forces)
            load = (moment - self.self_moment[i]) / self.unit_moment[i] * self.course.doc["length"]
            bends = self.uncracked(load, forces)
            bends[i] = (e0, sign * curvature)
            strain = self.mean_strain(bends, i, length)
            edge = min(e0 + sign * curvature * f.low, e0 + sign * curvature * f.top)
            return load, strain, edge

        forces = getattr(self, "guess", self.base_force).copy()
        for _ in range(40):
            load, strain, edge = answer(forces)
            new = self.forces_for(strain)
            if np.abs(new - forces).max() < 0.5:
                break
            forces = 0.5 * (forces + new)
        self.guess = forces
        return load, strain + self.base_force / np.array([STEEL * r.area for r in self.course.rods]) - self.base, edge

    def peak(self, low: float = 1e-4, high: float = 0.03) -> float:
        """The greatest load of the cracked branch up to crushing of the edge."""

        def edge(curvature: float) -> float:
            return self.load_at(curvature)[2] + CRUSHED

        last = brentq(edge, low, high, xtol=1e-5) if edge(high) < 0 else high
        steps = np.geomspace(low, last, 12)
        loads = [self.load_at(v)[0] for v in steps]
        best = int(np.argmax(loads))
        a, b = steps[max(best - 1, 0)], steps[min(best + 1, len(steps) - 1)]
        found = minimize_scalar(lambda v: -self.load_at(v)[0], bounds=(a, b), method="bounded", options={"xatol": 2e-5})
        return max(-float(found.fun), max(loads))
