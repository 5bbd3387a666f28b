"""The reader of workings itself: it must see a wrong sum."""

import pytest

from tests.core.checks.arithmetic import python_of, sums


def test_it_does_sums_with_units() -> None:
    ((_, value, printed, _),) = sums("limit = 0.60 f'ci = 0.60 × 4500 psi = 2700 psi")
    assert (value, printed) == pytest.approx((2700, 2700))
    ((_, value, printed, _),) = sums("stress = P/A = 34000 N / 84.267 mm² = 403.48 MPa")
    assert value == pytest.approx(printed, rel=1e-4)
    ((_, value, printed, _),) = sums("τ = 16 × 522.5 lbf·in / (π × (0.42505 in)³) = 34652 psi")
    assert value == pytest.approx(printed, rel=1e-4)


def test_it_sees_a_wrong_sum() -> None:
    ((_, value, printed, _),) = sums("limit = 0.60 × 4500 psi = 2600 psi")
    assert value != pytest.approx(printed, rel=1e-2)


@pytest.mark.parametrize("text", ["0.60 f'ci", "f_se + 900 ksi (d_p - c)/l", "L/240", "left end", ""])
def test_symbols_are_no_sum(text: str) -> None:
    assert python_of(text) is None
