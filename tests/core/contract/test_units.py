"""Strings with units as a tradesperson writes them, and values written for a reader."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from engineering.core.contract.unit_text import NotAQuantity, read_quantity
from engineering.core.contract.units import QUANTITIES, format_length, format_number, format_quantity

IN_PER_M = 1 / 0.0254

LENGTHS = [
    ("6 ft 3-1/2 in", 75.5),
    ("6' 3-1/2\"", 75.5),
    ("75 1/2 in", 75.5),
    ("6'-3 1/2\"", 75.5),
    ("6ft3.5in", 75.5),
    ("6′ 3½″", 75.5),
    ("  75½ in ", 75.5),
    ('75½"', 75.5),
    ("6 ft", 72.0),
    ("6'", 72.0),
    ("3/8 in", 0.375),
    ('3/8"', 0.375),
    ("⅜ in", 0.375),
    ("3⁄8 in", 0.375),
    ("-3/8 in", -0.375),
    ("-6' 3\"", -75.0),
    ("−1 in", -1.0),
    ("+2 in", 2.0),
    ("1.83 m", 1.83 * IN_PER_M),
    ("25.4 mm", 1.0),
    ("2.54 cm", 1.0),
    ("1e2 mm", 100 / 25.4),
    ("7.2E1 in", 72.0),
    (".5 in", 0.5),
    ("5. in", 5.0),
    ("6 feet 3 inches", 75.0),
    ("1 foot 1 inch", 13.0),
    ("6 Ft 3 In", 75.0),
    ("6’ 3”", 75.0),
    ("6' 3''", 75.0),
    ("0 in", 0.0),
    ("6 ft. 3 in.", 75.0),
    ("3 - 1/2 in", 3.5),
]


@pytest.mark.parametrize(("text", "inches"), LENGTHS)
def test_lengths_as_a_tradesperson_writes_them(text, inches):
    assert read_quantity(text, "length") == pytest.approx(inches, rel=1e-14)


# Factors of conversion: NIST Special Publication 811 (2008), appendix B.8 and B.9, to its seven digits.
OTHERS = [
    ("1 lbf", "force", 1.0),
    ("1 lb", "force", 1.0),
    ("8.6 kip", "force", 8600.0),
    ("4.448222 N", "force", 1.0),
    ("4.448222 kN", "force", 1000.0),
    ("1 kgf", "force", 9.80665 / 4.448222),
    ("7 ksi", "stress", 7000.0),
    ("6.894757 MPa", "stress", 1000.0),
    ("6.894757 N/mm2", "stress", 1000.0),
    ("6.894757 N/mm²", "stress", 1000.0),
    ("6.894757 GPa", "modulus", 1e6),
    ("70 lbf·ft", "torque", 70.0),
    ("70 lbf*ft", "torque", 70.0),
    ("70 ft-lb", "torque", 70.0),
    ("70 ft lbf", "torque", 70.0),
    ("840 lbf·in", "torque", 70.0),
    ("1.355818 N·m", "torque", 1.0),
    ("1.355818 N*m", "torque", 1.0),
    ("1.355818 Nm", "torque", 1.0),
    ("1.355818 kN*m", "torque", 1000.0),
    ("130 pcf", "density", 130.0),
    ("130 lb/ft3", "density", 130.0),
    ("130 lb/ft³", "density", 130.0),
    ("16.01846 kg/m3", "density", 1.0),
    ("40 psf", "area load", 40.0),
    ("47.88026 kPa", "area load", 1000.0),
    ("47.88026 kN/m2", "area load", 1000.0),
    ("8 plf", "line load", 8.0),
    ("8 lbf/ft", "line load", 8.0),
    ("8 lb/ft", "line load", 8.0),
    ("14.59390 N/m", "line load", 1.0),
    ("14.59390 kN/m", "line load", 1000.0),
    ("0.0005 1/ft", "wobble", 0.0005),
    ("0.0005/ft", "wobble", 0.0005),
    ("0.0005 per ft", "wobble", 0.0005),
    ("0.001 1/m", "wobble", 0.0003048),
    ("7 d", "age", 7.0),
    ("1 day", "age", 1.0),
    ("4 weeks", "age", 28.0),
    ("18 h", "age", 0.75),
    ("40 years", "life", 40.0),
    ("40 years", "age", 14610.0),
    ("365.25 d", "life", 1.0),
    ("0.14 in2", "area", 0.14),
    ("84.3 mm²", "area", 84.3 / 645.16),
]


@pytest.mark.parametrize(("text", "quantity", "value"), OTHERS)
def test_other_quantities(text, quantity, value):
    """Source: NIST SP 811 (2008) appendix B.9; seven digits are printed there, hence the tolerance."""
    assert read_quantity(text, quantity) == pytest.approx(value, rel=3e-7)


@pytest.mark.parametrize(
    ("text", "quantity", "says"),
    [
        ("3/8", "length", "has no unit"),
        ("", "length", "does not begin with a number"),
        ("in", "length", "begin with"),
        ("48 lbf", "length", "is a force"),
        ("48 psi", "force", "is a stress"),
        ("7 d", "length", "is a time"),
        ("3 in", "age", "is a length"),
        ("1/0 in", "length", "divides by zero"),
        ("6' 3 lbf", "length", "not inches"),
        ("6' 3", "length", "not inches"),
        ("1,000 lbf", "force", "not known here"),
        ("3 furlongs", "length", "not known"),
        ("٣ in", "length", "no part of a number"),
        ("9" * 90 + " in", "length", "too long"),
        ("--3 in", "length", "begin"),
        ("nan in", "length", "begin with"),
        ("inf psi", "stress", "begin with"),
        ("0x10 in", "length", "not known"),
    ],
)
def test_what_is_no_quantity_says_why(text, quantity, says):
    with pytest.raises(NotAQuantity, match=says):
        read_quantity(text, quantity)


@given(st.integers(-3_000 * 16, 3_000 * 16))
def test_a_tape_reading_reads_back_to_its_sixteenth(sixteenths):
    inches = sixteenths / 16
    assert read_quantity(format_length(inches, "us"), "length") == inches


@example(3e-9, "area load", "si")
@given(
    st.floats(-1e9, 1e9).filter(lambda x: x == 0 or abs(x) > 1e-9),
    st.sampled_from(sorted(QUANTITIES)),
    st.sampled_from(["us", "si"]),
)
def test_a_written_quantity_reads_back(value, quantity, units):
    """Twelve digits are written and no more than twenty decimals, so reading back is good to half of the last."""
    text = format_quantity(value, quantity, units, digits=12)
    kind = QUANTITIES[quantity]
    last = kind.to_us(1e-20, units)
    if quantity in ("number", "curvature", "section modulus", "inertia", "volume", "moment"):
        number = float(text.split(" ")[0])
        assert number == pytest.approx(kind.from_us(value, units), rel=1e-11, abs=1e-20)
    else:
        assert read_quantity(text, quantity) == pytest.approx(value, rel=1e-11, abs=max(last, 1e-19))


@pytest.mark.parametrize(
    ("inches", "units", "text"),
    [
        (75.5, "us", "6 ft 3-1/2 in"),
        (72, "us", "6 ft"),
        (0.375, "us", "3/8 in"),
        (0, "us", "0 in"),
        (11.97, "us", "1 ft"),
        (-3.25, "us", "-3-1/4 in"),
        (12.5, "us", "1 ft 1/2 in"),
        (0.01, "us", "0 in"),
        (75.5, "si", "1918 mm"),
    ],
)
def test_lengths_for_a_tape(inches, units, text):
    assert format_length(inches, units) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (4500.0, "4500"),
        (29e6, "29000000"),
        (0.0375, "0.0375"),
        (-0.0, "0"),
        (2.5, "2.5"),
        (123456.7, "123457"),
        (1e-5, "0.00001"),
        (-12.3456, "-12.35"),
        (0.99999, "1"),
    ],
)
def test_numbers_are_plain_decimals(value, text):
    assert format_number(value) == text


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_not_finite_is_never_written(value):
    with pytest.raises(ValueError, match="not a finite number"):
        format_number(value)
