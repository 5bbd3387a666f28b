"""Reactions, moments, deflections and secondary moments against a general-purpose frame library (PyNite), in patterns
put together by hand; sections against shapely by quadrature over strips."""

from itertools import pairwise, product
from typing import Any

import numpy as np
import pytest
from Pynite import FEModel3D
from shapely import box

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.contract import parse
from engineering.core.pipeline import run_checks
from tests.core.independent.more_pieces import PIECES
from tests.core.independent.naive_course import Course
from tests.core.independent.naive_sections import zone_shapes

NAMES = ["two overhangs", "four supports, stepped", "soffit lifted in the middle", "rails"]


class Frame:
    """One model with a case for every load part; elements of about 2 in, stiffness of the middle of each."""

    def __init__(self, course: Course) -> None:
        self.course, self.model = course, FEModel3D()
        self.model.add_material("gfrc", 1.0, 0.4, 0.2, 0.0)
        for k, x in enumerate(course.x):
            self.model.add_node(f"n{k}", float(x), 0, 0)
        for k, net in enumerate(course.net_mid):
            self.model.add_section(f"s{k}", net.area, 1e6, net.free, 1e6)
            self.model.add_member(f"m{k}", f"n{k}", f"n{k + 1}", "gfrc", f"s{k}")
        for number, at in enumerate(course.posts):
            node = f"n{int(np.abs(course.x - at).argmin())}"
            self.model.def_support(node, number == 0, True, True, True, False, False)
        self.cases: list[str] = []

    def load(self, case: str, line: Any, points: dict[int, float]) -> None:
        for k, w in enumerate(line):
            if w:
                self.model.add_member_dist_load(f"m{k}", "FY", -w, -w, case=case)
        for node, value in points.items():
            self.model.add_node_load(f"n{node}", "FY", -value, case=case)
        self._combine(case)

    def bend(self, case: str, moments: Any) -> None:
        """Imposed sagging curvature as a pair of end moments on each element: E I times curvature given."""
        for k, m in enumerate(moments):
            self.model.add_node_load(f"n{k}", "MZ", -float(m), case=case)
            self.model.add_node_load(f"n{k + 1}", "MZ", float(m), case=case)
        self._combine(case)

    def _combine(self, case: str) -> None:
        self.cases.append(case)
        self.model.add_load_combo(case, {case: 1.0})

    def solve(self) -> None:
        self.model.analyze_linear()

    def rise(self, case: str) -> Any:
        return np.array([self.model.nodes[f"n{k}"].DY[case] for k in range(len(self.course.x))])

    def reactions(self, case: str) -> Any:
        nodes = [f"n{int(np.abs(self.course.x - at).argmin())}" for at in self.course.posts]
        return np.array([self.model.nodes[node].RxnFY[case] for node in nodes])

    def moment(self, case: str) -> Any:
        """Sagging moment at both ends of every element, from its end forces."""
        ends = [self.model.members[f"m{k}"].f(case).ravel() for k in range(len(self.course.mid))]
        return np.array([[-f[5], f[11]] for f in ends])


def framed(name: str) -> tuple[Course, Frame, list[str], list[tuple[list[str], list[str]]]]:
    """Course, solved frame, the cases of dead loads, and the live ones: (together, alone)."""
    course = Course({**PIECES[name], "loads": [x for x in PIECES[name]["loads"] if x.get("at") != "anywhere"]}, 2.0)
    frame = Frame(course)
    frame.load("self", np.array(course.zone_weight)[course.zone], {})
    dead, together, alone = ["self"], [], []
    bounds = sorted({0.0, *course.posts, course.doc["length"]})
    for number, load in enumerate(course.doc["loads"]):
        spans = [(0.0, course.doc["length"])] if load["case"] == "dead" else list(pairwise(bounds))
        for part, (a, b) in enumerate(spans):
            line, points = course.line_of(load, a, b)
            if np.any(line) or points:
                case = f"{number}.{part}"
                frame.load(case, line, points)
                (dead if load["case"] == "dead" else alone if load.get("alone") else together).append(case)
    for k, rod in enumerate(course.rods):
        p, net = rod.shape(course.mid), course.net_mid
        up = np.array([float(rod.level(np.array(x))) - n.yc for x, n in zip(course.mid, net, strict=True)])
        side = np.array([(rod.z - n.zc) * n.iyz / n.iz for n in net])
        frame.bend(f"rod{k}", p * (up - side))
    frame.solve()
    return course, frame, dead, [(together, alone)]


@pytest.mark.parametrize("name", NAMES)
def test_every_pattern_one_by_one(name: str) -> None:
    """All on/off patterns of the parts: the extremes of moments, reactions and live deflection; 0.3 %."""
    course, frame, dead, ((together, alone),) = framed(name)
    document = {**PIECES[name], "loads": course.doc["loads"]}
    found = run_checks(document)["figures"]
    patterns = [
        [case for case, on in zip(together, switch, strict=True) if on]
        for switch in product((0, 1), repeat=len(together))
    ] + [[case] for case in alone]
    assert len(patterns) == 2 ** len(together) + len(alone)
    base = sum(frame.moment(case) for case in dead)
    moments = [base + sum((frame.moment(case) for case in p), 0.0) for p in patterns]
    near = {"rel": 0.003, "abs": 3.0}
    assert found["moment.service_max"]["value"] == pytest.approx(max(0.0, *(m.max() for m in moments)), **near)
    assert found["moment.service_min"]["value"] == pytest.approx(min(0.0, *(m.min() for m in moments)), **near)
    for k in range(len(course.posts)):
        live = [sum((frame.reactions(case)[k] for case in p), 0.0) for p in patterns]
        assert found[f"reaction.{k + 1}.live_max"]["value"] == pytest.approx(max(live), rel=0.003, abs=0.2)
        assert found[f"reaction.{k + 1}.live_min"]["value"] == pytest.approx(min(live), rel=0.003, abs=0.2)
    spans = np.diff(course.posts)
    first = int(np.argmax(spans > spans.max() - 1e-9))
    here = (course.x >= course.posts[first]) & (course.x <= course.posts[first + 1])
    drops = [-sum((frame.rise(case)[here] for case in p), np.zeros(here.sum())).min() / course.e_old for p in patterns]
    assert found["deflection.live"]["value"] == pytest.approx(max(drops), rel=0.003)


@pytest.mark.parametrize("name", NAMES)
def test_secondary_moments_of_the_rods(name: str) -> None:
    course, frame, _, _ = framed(name)
    found = run_checks(PIECES[name])["figures"]
    transfer = [found[f"rod.{rod.rod['mark']}.force_transfer"]["value"] for rod in course.rods]
    reaction = sum(force * frame.reactions(f"rod{k}") for k, force in enumerate(transfer))
    moments = np.maximum(course.x[:, None] - np.array(course.posts), 0.0) @ reaction
    for k, value in enumerate(reaction):
        assert found[f"reaction.{k + 1}.rods"]["value"] == pytest.approx(value, rel=0.005, abs=0.1)
    assert found["moment.secondary_max"]["value"] == pytest.approx(max(moments.max(), 0.0), rel=0.005, abs=2.0)
    assert found["moment.secondary_min"]["value"] == pytest.approx(min(moments.min(), 0.0), rel=0.005, abs=2.0)


@pytest.mark.parametrize("name", PIECES)
def test_sections_by_strips(name: str) -> None:
    """Gross sections cut into 2,000 strips by shapely; the engine's are closed forms. 0.01 %."""
    gross = analyse(Batch.of(parse(PIECES[name]))).gross
    for k, shape in enumerate(zone_shapes(PIECES[name])):
        _, low, _, top = shape.concrete.bounds
        cuts = np.linspace(low, top, 2001)
        strips = [shape.concrete.intersection(box(-99, a, 999, b)) for a, b in pairwise(cuts)]
        area = np.array([s.area for s in strips])
        y, z = (np.array([getattr(s.centroid, axis) for s in strips]) for axis in "yx")
        yc, zc = area @ y / area.sum(), area @ z / area.sum()
        assert gross.area_in2[0, k] == pytest.approx(area.sum(), rel=1e-9)
        assert (gross.centroid_in[0, k], gross.across_in[0, k]) == pytest.approx((yc, zc), rel=1e-7)
        assert gross.inertia_in4[0, k] == pytest.approx(area @ (y - yc) ** 2, rel=1e-4)
        assert gross.product_in4[0, k] == pytest.approx(area @ ((y - yc) * (z - zc)), rel=1e-4, abs=1e-3)
