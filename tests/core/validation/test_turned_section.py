"""A rectangle turned by 30°: its principal axes are known, so every stress follows without a product of inertia.

Exact statics. A rod at a distance along one principal axis gives P e/S about the other. A vertical moment M on a piece
free to bow sideways is M cos θ about the long axis and M sin θ about the short one.
"""

import numpy as np
import pytest

from engineering.core.analysis import Analysis
from tests.core.pieces import analysed, rod

WIDE, DEEP, ANGLE = 12.0, 3.0, np.radians(30)
ALONG = np.array([np.cos(ANGLE), np.sin(ANGLE)])  # (z, y) of the long side
UP = np.array([-np.sin(ANGLE), np.cos(ANGLE)])
CENTRE = np.array([7.0, 4.5])
AREA, LONG, SHORT = WIDE * DEEP, WIDE * DEEP**3 / 12, DEEP * WIDE**3 / 12  # second moments of the rectangle's own axes
CORNERS = [CENTRE + a * WIDE / 2 * ALONG + b * DEEP / 2 * UP for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]


def turned(off: float, out: float) -> Analysis:
    """A rod `out` along the long axis and `off` along the short one; a hair of a sleeve."""
    lowest = min(corner[1] for corner in CORNERS)
    z, y = CENTRE + out * ALONG + off * UP
    found = analysed(
        zones=[
            {"to": 96, "shape": {"type": "outline", "outer": [[c[0], c[1] - lowest] for c in CORNERS], "holes": []}}
        ],
        supports=[{"at": 0}, {"at": 96}],
        handling=None,
        rods=[
            rod(
                across=float(z),
                profile=[[0, float(y - lowest)], [96, float(y - lowest)]],
                thread="1/4-20 UNC",
                sleeve={"outside": 0.26, "friction": 0.0, "wobble": 0.0},
                anchor={"width": 1, "height": 1, "thickness": 0.25, "hole": 0.26},
                jacking_force=1000,
            )
        ],
    )
    assert found.gross.area_in2[0, 0] == pytest.approx(AREA)
    return found


@pytest.mark.parametrize(("off", "out"), [(0.6, 0.0), (-0.4, 0.0), (0.0, 2.0), (0.5, -1.5)])
def test_stress_of_a_rod_off_both_axes(off: float, out: float) -> None:
    """By the rectangle's own axes; a sleeve of 0.05 in² in 36 in²: 1 %."""
    found = turned(off, out)
    middle = len(found.grid.x_in) // 2
    corner_z, corner_y = found.stresses.corner_z_in[:, 0, middle], found.stresses.corner_y_in[:, 0, middle]
    lowest = min(corner[1] for corner in CORNERS)
    for z, y, stress in zip(corner_z, corner_y, found.stresses.rods_transfer[:, 0, middle], strict=True):
        place = np.array([z, y + lowest]) - CENTRE
        wanted = -1000 / AREA - 1000 * off * (place @ UP) / LONG - 1000 * out * (place @ ALONG) / SHORT
        assert stress == pytest.approx(wanted, rel=0.01, abs=1.0)


def test_vertical_bending_free_to_bow_sideways() -> None:
    """1/I_free is what a vertical unit moment, resolved on the two axes, curves upward: cos²/I_long + sin²/I_short."""
    found = turned(0.0, 0.0)
    middle = len(found.grid.x_in) // 2
    wanted = np.cos(ANGLE) ** 2 / LONG + np.sin(ANGLE) ** 2 / SHORT
    assert 1 / found.gross.free_inertia_in4[0, 0] == pytest.approx(wanted, rel=1e-9)
    for z, y, slope in zip(
        found.stresses.corner_z_in[:, 0, middle],
        found.stresses.corner_y_in[:, 0, middle],
        found.stresses.per_moment[:, 0, middle],
        strict=True,
    ):
        place = np.array([z, y + min(c[1] for c in CORNERS)]) - CENTRE
        by_axes = -np.cos(ANGLE) * (place @ UP) / LONG - np.sin(ANGLE) * (place @ ALONG) / SHORT
        assert slope == pytest.approx(by_axes, rel=0.01, abs=1e-4)


@pytest.mark.parametrize(("off", "out"), [(-0.6, 0.0), (0.0, 2.0), (-0.5, -1.5)])
def test_crown_of_a_rod_off_both_axes(off: float, out: float) -> None:
    """Each eccentricity bends the rectangle about its own axis, evenly along the piece; of both curvatures the upward
    part counts, over L²/8. What a rod through the centroid leaves, the sag of the weight, is taken off."""
    bent, plain = turned(off, out), turned(0.0, 0.0)
    modulus = bent.batch.concrete.modulus_at_stressing_psi[0]
    wanted = -1000 / modulus * (off * np.cos(ANGLE) / LONG + out * np.sin(ANGLE) / SHORT) * 96**2 / 8
    found = bent.deflections.crown_transfer[0] - plain.deflections.crown_transfer[0]
    assert found == pytest.approx(wanted, rel=0.01)
