"""A stepped piece with a draped rod on three supports against a beam by direct stiffness: 480 elements with the
section, friction and rod moment of their own middle, imposed curvatures as end moments. Written from beam theory, apart
from the engine's force method and super-panels."""

from typing import Any

import numpy as np
import pytest

from engineering.core.analysis import Analysis
from tests.core.pieces import analysed, rod

PROFILE = np.array([[2, 2.5], [25, 1.9], [50, 2.9], [90, 1.6], [118, 2.4]])
POSTS, LENGTH, COUNT, WIDTH, ACROSS, FORCE, E = (4.0, 50.0, 112.0), 120.0, 480, 24.0, 6.0, 9000.0, 2e6
FRICTION, WOBBLE, DENSITY, TOP = 0.2, 0.001, 130.0, 4.0


def engine() -> Analysis:
    solid = [{"to": to, "shape": {"type": "solid", "width": 24, "depth": d}} for to, d in ((30, 3), (70, 4), (120, 3))]
    return analysed(
        length=120,
        zones=solid,
        supports=[{"at": at} for at in POSTS],
        loads=[{"label": "d", "case": "dead", "type": "line", "value": 15, "from": 20, "to": 90}],
        rods=[
            rod(
                profile=PROFILE.tolist(),
                sleeve={"outside": 0.75, "friction": FRICTION, "wobble": WOBBLE},
                stressed_from="left",
                jacking_force=FORCE,
            )
        ],
        handling={"lift_points": [25, 95], "age": 2, "strength": 2500},
    )


class Beam:
    """Elements of equal length; arrays at their middles."""

    def __init__(self) -> None:
        self.x = np.linspace(0, LENGTH, COUNT + 1)
        self.h = float(self.x[1])
        self.middle = 0.5 * (self.x[1:] + self.x[:-1])
        depth = np.where((self.middle >= 30) & (self.middle < 70), 4.0, 3.0)
        self.bottom, self.inside = TOP - depth, (self.middle > 2) & (self.middle < 118)
        self.gross = WIDTH * depth
        self.level = np.interp(self.middle, *PROFILE.T)
        hole = np.pi * 0.375**2 * self.inside
        own = hole * 0.375**2 / 4
        yc, zc = TOP - depth / 2, WIDTH / 2
        self.area = self.gross - hole
        self.yc = (self.gross * yc - hole * self.level) / self.area
        self.zc = (self.gross * zc - hole * ACROSS) / self.area
        up, side = self.level - self.yc, ACROSS - self.zc
        self.i_y = WIDTH * depth**3 / 12 + self.gross * (yc - self.yc) ** 2 - own - hole * up**2
        self.i_z = depth * WIDTH**3 / 12 + self.gross * (zc - self.zc) ** 2 - own - hole * side**2
        self.i_yz = self.gross * (yc - self.yc) * (zc - self.zc) - hole * up * side
        self.free = self.i_y - self.i_yz**2 / self.i_z
        slopes = np.arctan(np.diff(PROFILE[:, 1]) / np.diff(PROFILE[:, 0]))
        turned = sum(
            np.where(self.middle > at, abs(kink), 0.0) for at, kink in zip((25, 50, 90), np.diff(slopes), strict=True)
        )
        along = np.exp(-(FRICTION * turned + WOBBLE * (self.middle - 2) / 12))
        self.force = FORCE * along * self.inside
        self.m_y, self.m_z = -self.force * up, -self.force * side
        self.up, self.side = up, side

    def solve(self, loads: Any) -> tuple[Any, Any]:
        stiff = np.zeros((2 * COUNT + 2, 2 * COUNT + 2))
        h = self.h
        one = np.array(
            [
                [12, 6 * h, -12, 6 * h],
                [6 * h, 4 * h * h, -6 * h, 2 * h * h],
                [-12, -6 * h, 12, -6 * h],
                [6 * h, 2 * h * h, -6 * h, 4 * h * h],
            ]
        )
        for k in range(COUNT):
            stiff[2 * k : 2 * k + 4, 2 * k : 2 * k + 4] += E * self.free[k] / h**3 * one
        held = [2 * round(at / h) for at in POSTS]
        loose = np.setdiff1d(np.arange(len(stiff)), held)
        moved = np.zeros(len(stiff))
        moved[loose] = np.linalg.solve(stiff[np.ix_(loose, loose)], loads[loose])
        return moved, (stiff @ moved - loads)[held]

    def uniform(self, line: Any) -> Any:
        """Nodal loads of a line load down on each element."""
        loads = np.zeros(2 * COUNT + 2)
        for k in range(COUNT):
            loads[2 * k : 2 * k + 4] -= line[k] * self.h * np.array([0.5, self.h / 12, 0.5, -self.h / 12])
        return loads

    def rods(self) -> tuple[Any, Any, Any]:
        """Movement, reactions and secondary moment of the rod at the forces after friction."""
        bent = -(self.m_y - self.m_z * self.i_yz / self.i_z)
        loads = np.zeros(2 * COUNT + 2)
        for k in range(COUNT):
            loads[2 * k + 1] -= bent[k]
            loads[2 * k + 3] += bent[k]
        moved, reaction = self.solve(loads)
        return moved, reaction, E * self.free * np.diff(moved[1::2]) / self.h - bent

    def stress(self, moment: Any, y: Any, z: Any) -> Any:
        """Of the rod with a moment on top of its own, at points of the section."""
        m_y, square = self.m_y - moment, self.i_y * self.i_z - self.i_yz**2
        by_y = (m_y * self.i_z - self.m_z * self.i_yz) / square
        by_z = (self.m_z * self.i_y - m_y * self.i_yz) / square
        return -self.force / self.area + by_y * (y - self.yc) + by_z * (z - self.zc)


@pytest.fixture(scope="module")
def both() -> tuple[Analysis, Beam]:
    return engine(), Beam()


def test_reactions(both: tuple[Analysis, Beam]) -> None:
    found, beam = both
    line = np.where((beam.middle > 20) & (beam.middle < 90), 15 / 12, 0.0) + beam.gross * DENSITY / 1728
    _, dead = beam.solve(beam.uniform(line))
    _, secondary, _ = beam.rods()
    assert found.loading.dead_reaction[0] == pytest.approx(dead, rel=0.001)
    assert found.reaction_rods[0] == pytest.approx(secondary, rel=0.002)


def test_secondary_moment_and_crown(both: tuple[Analysis, Beam]) -> None:
    found, beam = both
    moved, _, secondary = beam.rods()
    own, _ = beam.solve(beam.uniform(beam.gross * DENSITY / 1728))
    engine_secondary = found.secondary_moment(found.tendons.transfer_lbf)[0]
    assert np.abs(engine_secondary).max() == pytest.approx(np.abs(secondary).max(), rel=0.005)
    span = (beam.x >= POSTS[1]) & (beam.x <= POSTS[2])
    rise = (moved + own)[::2][span]
    assert found.deflections.crown_transfer[0] == pytest.approx(rise[np.abs(rise).argmax()], rel=0.002)


def test_shortening_along_the_rod(both: tuple[Analysis, Beam]) -> None:
    found, beam = both
    _, _, secondary = beam.rods()
    mean = -beam.stress(secondary, beam.level, ACROSS)[beam.inside].mean() / beam.force[beam.inside].mean()
    assert found.tendons.shortening[0, 0, 0] == pytest.approx(mean, rel=0.001)


def test_stresses_at_transfer(both: tuple[Analysis, Beam]) -> None:
    found, beam = both
    _, _, secondary = beam.rods()
    own, _ = beam.solve(beam.uniform(beam.gross * DENSITY / 1728))
    moment = secondary + E * beam.free * np.diff(own[1::2]) / beam.h
    inside = (beam.middle > 5) & (beam.middle < 115)
    top_max, top_min, bottom_max, bottom_min = found.stresses.nominal_faces[0][:, found.grid.in_figures]
    for y, high, low in ((beam.bottom, bottom_max, bottom_min), (TOP, top_max, top_min)):
        stress = np.array([beam.stress(moment, y, z)[inside] for z in (0.0, WIDTH)])
        assert high.max() == pytest.approx(stress.max(), abs=2.0)
        assert low.min() == pytest.approx(stress.min(), abs=2.0)
