"""The skin over a foam core by hand: which core, which load, where. Fixed strip b = 8 in, t = 0.75 in, exact statics.

A point load P on c = 4 in: m = P (3·8² − 4²)/(24·8)/(4 + 8/2) = P·176/192/8; stress 6 m/t². An area load: m = w·8²/12.
"""

from typing import Any

import pytest

from engineering.core.pipeline import run_checks
from tests.core.pieces import document, rod

CORED = {
    "type": "cored",
    "width": 24,
    "depth": 3,
    "cores": [{"left": 8, "width": 8, "bottom": 0.75, "height": 1.5}],
}
SOLID = {"type": "solid", "width": 24, "depth": 3}
MODULUS = 0.75**2 / 6
OWN = 0.75 * 130 / 1728 * 8**2 / 12 / MODULUS


def point(value: float) -> float:
    return value * 176 / 192 / 8 / MODULUS


def area(psf: float) -> float:
    return psf / 144 * 8**2 / 12 / MODULUS


def skin(*loads: dict[str, Any]) -> float:
    """Two cored stretches, x from 8 to 40 and from 56 to 88."""
    shapes = [(8, SOLID), (40, CORED), (56, SOLID), (88, CORED), (96, SOLID)]
    piece = document(
        zones=[{"to": to, "shape": shape} for to, shape in shapes],
        rods=[rod(across=4), rod(mark="R2", across=20)],
        loads=list(loads),
    )
    return run_checks(piece)["figures"]["stress.skin"]["value"]


@pytest.mark.parametrize("at", [20, 76])
def test_a_load_over_either_of_two_equal_cores_counts(at: float) -> None:
    assert skin({"case": "live", "type": "point", "value": 300, "at": at}) == pytest.approx(OWN + point(300), rel=1e-9)


def test_the_worst_point_at_service_load_is_not_the_worst_factored_one() -> None:
    loads = [
        {"case": case, "type": "point", "value": value, "at": 20} for case, value in (("live", 280), ("dead", 300))
    ]
    assert skin(*loads) == pytest.approx(OWN + point(300), rel=1e-9)


def test_area_loads_on_different_stretches_do_not_add_up() -> None:
    beside = [
        {"case": "live", "type": "area", "value": 40, "from": 8, "to": 20},
        {"case": "live", "type": "area", "value": 60, "from": 20, "to": 40},
    ]
    assert skin(*beside) == pytest.approx(OWN + area(60), rel=1e-9)
    over = [{**beside[0], "to": 30}, beside[1]]
    assert skin(*over) == pytest.approx(OWN + area(100), rel=1e-9)


def test_a_load_on_solid_ends_strains_no_skin() -> None:
    assert skin({"case": "live", "type": "point", "value": 300, "at": 48}) == pytest.approx(OWN, rel=1e-9)
