"""Coupon formulas against hand work."""

import pytest

from engineering.core.coupons import Coupon, fibre_share, spread, third_point_stress


def test_third_point_stress_is_moment_over_section_modulus():
    """P = 60 lbf, L = 10 in, b = 2 in, d = 0.5 in: M = 60·10/6 = 100, Z = 2·0.25/6 = 1/12, so 1,200 psi.

    Source: first principles (statics of a beam with two equal loads at its thirds), as ASTM C947 section 9 has it
    (from memory). Exact.
    """
    assert third_point_stress(60, 10, 2, 0.5) == pytest.approx(1200, rel=1e-12)


def test_mean_and_variation_of_a_sample():
    """2, 4, 4, 4, 5, 5, 7, 9: mean 5, sum of squares 32, sample deviation √(32/7) = 2.13809. By hand."""
    found = spread([2, 4, 4, 4, 5, 5, 7, 9])
    assert (found.mean, found.number) == (5, 8)
    assert found.variation == pytest.approx((32 / 7) ** 0.5 / 5, rel=1e-12)
    assert found.characteristic == pytest.approx(5 - 2.539 * (32 / 7) ** 0.5, rel=1e-12)


def test_one_value_has_no_variation_and_none_no_mean():
    assert spread([]) is None
    assert spread([3.0]).characteristic is None


def test_fibre_is_weight_over_weight():
    assert fibre_share(0.09, 3.0) == pytest.approx(0.03, rel=1e-12)
    with pytest.raises(ValueError, match="weighs less"):
        fibre_share(3.0, 3.0)


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ((60, 50, 10, 2, 0.5), "not over the ultimate"),
        ((60, 90, 2, 2, 0.5), "6 depths"),
        ((60, 90, 10, 0, 0.5), "over 0"),
    ],
)
def test_coupons_that_cannot_be(sizes, words):
    with pytest.raises(ValueError, match=words):
        Coupon(*sizes)
