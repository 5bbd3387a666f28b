"""The proof load by hand (ACI 318-19 27.4.6.2, from memory): 1.15 D + 1.5 L or 1.3 D, spread over the piece."""

from typing import Any

import pytest

from engineering.core.checks.pen import Pen
from engineering.core.contract import parse
from engineering.core.proof_load import ProofLoad, proof_load
from tests.core.checks.arithmetic import sums
from tests.core.pieces import document

WEIGHT = 24 * 3 * 96 / 1728 * 130  # lbf, of the plain strip: 520
FLOOR = {"case": "live", "type": "area", "value": 50}
SPAN_ONLY = [{"at": 0.001}, {"at": 95.999}]  # ends flush with the supports as nearly as the format allows


def of(**changes: Any) -> ProofLoad:
    return proof_load(parse(document(**changes)))


def test_by_hand() -> None:
    """24 × 96 in = 16 ft² at 50 psf: L = 800; 6 lbf/ft on 8 ft: 48. 1.15 × 568 + 1.5 × 800 = 1,853.2 lbf."""
    found = of(loads=[FLOOR, {"case": "dead", "type": "line", "value": 6}])
    assert (found.dead_lbf, found.live_lbf, found.weight_lbf) == pytest.approx((WEIGHT + 48, 800, WEIGHT))
    assert found.total_lbf == pytest.approx(1853.2)
    assert found.to_put_on_lbf == pytest.approx(1853.2 - WEIGHT)
    assert found.limit_in == pytest.approx(88**2 / (20000 * 3))


def test_heavy_dead_load_alone_governs() -> None:
    """Without live load 1.3 D: 0.3 of the weight is put on."""
    assert of(loads=[]).to_put_on_lbf == pytest.approx(0.3 * WEIGHT)


def test_what_lifts_does_not_lighten_the_test() -> None:
    up = {"case": "live", "type": "area", "value": -30}
    assert of(loads=[FLOOR, up]).total_lbf == pytest.approx(of(loads=[FLOOR]).total_lbf)


def test_spread_load_on_a_simple_span_reaches_just_what_is_asked() -> None:
    found = of(loads=[FLOOR], supports=SPAN_ONLY)
    assert found.reach == pytest.approx(1.0, rel=1e-3)
    assert found.enough
    assert found.sagging


def test_a_person_in_the_middle_asks_for_more_than_the_spread_load_brings() -> None:
    """M = 1.15 w L²/8 + 1.5 P L/4 against 1.3 w L²/8 for a piece that nothing else loads."""
    found = of(loads=[{"case": "live", "type": "point", "value": 300, "at": 48, "alone": True}], supports=SPAN_ONLY)
    own = WEIGHT * 96 / 8
    assert found.reach == pytest.approx(1.3 * own / (1.15 * own + 1.5 * 300 * 96 / 4), rel=2e-3)
    assert not found.enough
    assert any("engineer must say where" in line for line in found.working(Pen("us")))


def test_a_load_on_the_overhang_alone_is_not_tried_by_a_load_everywhere() -> None:
    posts = [{"at": 30}, {"at": 66}]
    assert of(loads=[FLOOR], supports=posts).reach <= 1.0


@pytest.mark.parametrize("units", ["us", "si"])
def test_its_working_adds_up(units: str) -> None:
    found = of(loads=[FLOOR, {"case": "dead", "type": "line", "value": 6}])
    seen = [one for line in found.working(Pen(units)) for one in sums(line)]
    assert len(seen) >= 4
    for text, value, printed, scale in seen:
        assert value == pytest.approx(printed, abs=6e-4 * scale), text


def test_its_figures_have_units_and_no_empty_value() -> None:
    found = of(loads=[FLOOR]).figures()
    assert {name: figure.quantity for name, figure in found.items()} == {
        "proof_load.total": "force",
        "proof_load.to_put_on": "force",
        "proof_load.deflection_limit": "length",
        "proof_load.reach": "number",
    }
    assert all(isinstance(figure.value, float) for figure in found.values())
