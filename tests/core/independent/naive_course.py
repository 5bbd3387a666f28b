"""What happens to a `NaivePiece` in time: turn by turn, years in many small steps, stresses, crown, deflections."""

import itertools
from functools import cached_property
from typing import Any

import numpy as np

from tests.core.independent.naive_beam import Array
from tests.core.independent.naive_piece import STEEL, NaivePiece


class Course(NaivePiece):
    @cached_property
    def stiffness(self) -> Array:
        return np.array([STEEL * r.area for r in self.rods])

    @cached_property
    def seated(self) -> Array:
        return np.array([r.mean(r.after) for r in self.rods])

    @cached_property
    def turns(self) -> list[Array]:
        """Each turn brings one rod to its share; those tight before follow the strain at their axes, together."""
        if not self.rods:
            return [np.zeros(0)]
        s = self.doc["stressing"]
        marks = [r.rod["mark"] for r in self.rods]
        force, tight, found = np.zeros(len(self.rods)), [], []
        for step in s.get("steps", [0.25, 0.5, 0.75, 1.0]):
            for mark in s.get("order", marks):
                k = marks.index(mark)
                others = [j for j in tight if j != k]
                change = np.zeros_like(force)
                change[k] = step * self.seated[k] - force[k]
                for _ in range(200):  # Gauss-Seidel: strain of all changes at the other axes
                    for j in others:
                        push = self.coupling[j] @ change - self.coupling[j, j] * change[j]
                        c = self.stiffness[j] / self.e_young
                        change[j] = -c * push / (1 + c * self.coupling[j, j])
                force = force + change
                tight = [*others, k]
                found.append(force)
        return found

    @property
    def transfer(self) -> Array:
        return self.turns[-1]

    # --- years -------------------------------------------------------------------------------------------------
    @staticmethod
    def crept(days: Any) -> Any:
        d = np.maximum(days, 0.0) ** 0.6
        return d / (10 + d)

    def age_factor(self, age: Any) -> Any:
        return (np.asarray(age) / self.start) ** -0.118

    @property
    def start(self) -> float:
        return self.doc["stressing"]["age"] if self.rods else self.doc["concrete"].get("cure_age", 7)

    def shrunk(self, age: Any) -> Any:
        cure = self.doc["concrete"].get("cure_age", min(7, self.start))
        d = np.maximum(np.asarray(age, float) - cure, 0.0)
        return self.doc["concrete"]["shrinkage"] * d / (35 + d)

    @cached_property
    def ages(self) -> Array:
        """Many: geometric after stressing, after installation and after every restress; jumps are repeated ages."""
        life = self.doc["criteria"]["life"] * 365.25
        events = sorted({self.install, *self.restress})
        marks = [self.start, *events, life]
        found = [self.start]
        for a, b in itertools.pairwise(marks):
            found += (a + np.geomspace(1e-3, b - a, 120)).tolist() if b > a else []
            if b != life:
                found += [b] * ((b == self.install) + (b in self.restress))
        return np.array(found)

    @property
    def install(self) -> float:
        return max(self.doc.get("installation", {}).get("age", 28), self.start)

    @property
    def restress(self) -> list[float]:
        return [a for a in self.doc.get("stressing", {}).get("restress", []) if a > self.start]

    @cached_property
    def own_axis(self) -> Array:
        return self.axis_strain(self.own.moment, np.zeros(len(self.rods)))

    @cached_property
    def later_axis(self) -> Array:
        return self.axis_strain(self.dead.moment - self.own.moment + self.sustained.moment, np.zeros(len(self.rods)))

    @cached_property
    def history(self) -> tuple[Array, Array]:
        """Forces (T, R) and their changes: rods elastic on the mean strain of their axes, slack at zero."""
        if not self.rods:
            self.installed_step = max(i for i in range(len(self.ages)) if not self._loaded(self.ages, i))
            return np.zeros((len(self.ages), 0)), np.zeros((len(self.ages), 0))
        t, count, shift = self.ages, len(self.rods), np.zeros(len(self.rods))
        force, change = np.zeros((len(t), count)), np.zeros((len(t), count))
        force[0] = self.transfer
        seen: set[tuple[float, str]] = set()
        self.installed_step = 0
        for i in range(1, len(t)):
            what = self._event(t, i, seen)
            if what == "install":
                self.installed_step = i - 1
            if what == "restress":
                change[i] = self.seated - force[i - 1]
                force[i] = self.seated
                shift = force[i] - self._free(t, i, change, force)
                continue
            # implicit: this step's own change acts with its elastic and creep strain
            change[i] = 0
            for _ in range(60):
                want = np.maximum(self._free(t, i, change, force) + shift, 0.0)
                new = want - force[i - 1]
                if np.abs(new - change[i]).max() < 1e-9 * (1 + self.transfer.max()):
                    break
                change[i] = 0.5 * (new + change[i])
            force[i] = force[i - 1] + change[i]
        return force, change

    def _event(self, t: Array, i: int, seen: set[tuple[float, str]]) -> str:
        if t[i] != t[i - 1]:
            return ""
        for name, ages in (("install", [self.install]), ("restress", self.restress)):
            if t[i] in ages and (t[i], name) not in seen:
                seen.add((t[i], name))
                return name
        return ""

    def _loaded(self, t: Array, i: int) -> bool:
        """Dead loads are on from the second of the two steps at installation."""
        return (
            t[i] > self.install
            or (t[i] == self.install and i > 0 and t[i - 1] == self.install)
            or (self.install == self.start and i > 0)
        )

    def amplitudes(self, t: Array, i: int, change: Array) -> tuple[float, float, Array]:
        """Strain per unit of stress (with creep) of self weight, of later loads, and force-weighted of the rods."""
        phi = self.creep / self.e_young
        first = 1 / self.e_young + phi * self.crept(t[i] - self.start)
        later = 0.0
        if self._loaded(t, i):
            later = 1 / self.e_old + phi * self.age_factor(self.install) * self.crept(t[i] - self.install)
        mids = 0.5 * (t[1 : i + 1] + t[:i])
        weight = 1 / self.e_old + phi * self.age_factor(mids) * self.crept(t[i] - mids)
        return first, later, self.transfer * first + weight @ change[1 : i + 1]

    def _free(self, t: Array, i: int, change: Array, force: Array) -> Array:
        first, later, rods = self.amplitudes(t, i, change)
        strain = self.coupling @ rods - self.coupling @ self.transfer / self.e_young
        strain += self.own_axis * (first - 1 / self.e_young) + self.later_axis * later
        strain += float(self.shrunk(t[i]) - self.shrunk(t[0]))
        return self.transfer - self.stiffness * strain - self.relaxed(t[i])

    def relaxed(self, age: float) -> Array:
        hours = max((age - self.start) * 24, 1.0)
        f = self.transfer / np.array([r.area for r in self.rods])
        over = np.maximum(f / np.array([r.fy for r in self.rods]) - 0.55, 0)
        return f * np.log10(hours) / 45 * over * np.array([r.area for r in self.rods])

    @property
    def final(self) -> Array:
        return self.history[0][-1]

    # --- answers -----------------------------------------------------------------------------------------------
    def stage(self, forces: Array, most: Array, least: Array) -> dict[str, float]:
        """Extremes on the top and bottom corners inside the range of the figures, moments (elements, 2)."""
        out = {"top_max": -1e30, "top_min": 1e30, "bottom_max": -1e30, "bottom_min": 1e30}
        low, high = self.figure_range
        for e in np.flatnonzero((self.mid > low) & (self.mid < high)):
            ring = np.array(
                [
                    p
                    for g in getattr(self.shapes[self.zone[e]].concrete, "geoms", [self.shapes[self.zone[e]].concrete])
                    for p in g.exterior.coords
                ]
            )
            for face, level in (("top", ring[:, 1].max()), ("bottom", ring[:, 1].min())):
                for z in set(ring[ring[:, 1] == level, 0].tolist()):
                    for side in (0, 1):
                        for m in (most[e, side], least[e, side]):
                            s = self.corner_stress(e, side, z, level, forces, m)
                            out[f"{face}_max"] = max(out[f"{face}_max"], s)
                            out[f"{face}_min"] = min(out[f"{face}_min"], s)
        return out

    @cached_property
    def service(self) -> tuple[Array, Array]:
        most, least = self.envelope("moment")
        return self.dead.moment + most, self.dead.moment + least

    def greatest(self, rise: Array) -> float:
        """Value of greatest magnitude in the longest span, the first of equals."""
        spans = np.diff(self.posts)
        k = int(np.argmax(spans > spans.max() - 1e-9))
        here = rise[(self.x >= self.posts[k]) & (self.x <= self.posts[k + 1])]
        return float(here[np.abs(here).argmax()])

    def rise_at(self, i: int) -> Array:
        first, later, rods = self.amplitudes(self.ages, i, self.history[1])
        rise = first * self.own.rise + later * (self.dead.rise - self.own.rise + self.sustained.rise)
        for k, amount in enumerate(rods):
            rise = rise + amount * self.of_rod[k].rise
        return rise

    @cached_property
    def drying(self) -> Array:
        depth = np.array([s.depth for s in self.shapes])[self.zone]
        bow = -self.doc.get("environment", {}).get("drying_difference", 0.0) / depth
        return self.beam.solve(np.zeros(len(self.mid)), {}, bow).rise
