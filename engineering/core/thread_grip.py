"""Does the rod break before its thread strips? Shear areas of rod and nut thread at least material, by FED-STD-H28.

Thread limits: ASME B1.1 classes 2A and 2B, ISO 965-1 tolerances 6g and 6H, both by the standards' own formulas (from
memory; checked against tabulated limits in the tests). Nut: heavy hex of full height, of steel not weaker than the
rod's.
"""

from dataclasses import dataclass
from math import pi, sqrt

from engineering.core.contract.piece import Thread

SHEAR_SHARE = 0.577  # shear strength of steel / tensile, 1/sqrt(3)
TAN_30 = 0.57735
MM_PER_IN = 25.4

# ISO 4033 nuts, style 2, greatest height in mm (from memory); a size not listed takes 0.95 of its diameter.
TALL_NUT_MM = {6: 5.7, 8: 7.5, 10: 9.3, 12: 12.0, 14: 14.1, 16: 16.4, 20: 20.3, 24: 23.9, 30: 28.6, 36: 34.7}


@dataclass(frozen=True)
class ThreadLimits:
    """Least rod thread and largest nut thread. [in]"""

    rod_major_in: float  # least
    rod_pitch_in: float  # least
    nut_pitch_in: float  # largest
    nut_minor_in: float  # largest


def unified_limits(diameter_in: float, pitch_in: float) -> ThreadLimits:
    """ASME B1.1, class 2A rod and 2B nut, length of engagement one diameter. [in]"""
    tolerance = 0.0015 * (diameter_in ** (1 / 3) + sqrt(diameter_in) + 10.0 * pitch_in ** (2 / 3))
    allowance = 0.3 * tolerance
    pitch_diameter = diameter_in - 0.64951905 * pitch_in
    minor = diameter_in - 1.08253175 * pitch_in
    return ThreadLimits(
        rod_major_in=diameter_in - allowance - 0.060 * pitch_in ** (2 / 3),
        rod_pitch_in=pitch_diameter - allowance - tolerance,
        nut_pitch_in=pitch_diameter + 1.3 * tolerance,
        nut_minor_in=minor + 0.25 * pitch_in - 0.40 * pitch_in**2,
    )


def metric_limits(diameter_in: float, pitch_in: float) -> ThreadLimits:
    """ISO 965-1, 6g rod and 6H nut; tolerances in micrometres of pitch and the mean of the diameter's band in mm.
    [in]"""
    d, p = diameter_in * MM_PER_IN, pitch_in * MM_PER_IN
    bands = ((2.8, 5.6), (5.6, 11.2), (11.2, 22.4), (22.4, 45.0), (45.0, 90.0))
    low, high = next((band for band in bands if band[0] < d <= band[1]), bands[-1])
    rod_pitch_tolerance = 90.0 * p**0.4 * sqrt(low * high) ** 0.1 / 1000.0
    allowance = (15.0 + 11.0 * p) / 1000.0
    rod_major_tolerance = (180.0 * p ** (2 / 3) - 3.15 / sqrt(p)) / 1000.0
    nut_minor_tolerance = (230.0 * p**0.7 if p >= 1.0 else 433.0 * p - 190.0 * p**1.22) / 1000.0
    pitch_diameter, minor = d - 0.64951905 * p, d - 1.08253175 * p
    return ThreadLimits(
        rod_major_in=(d - allowance - rod_major_tolerance) / MM_PER_IN,
        rod_pitch_in=(pitch_diameter - allowance - rod_pitch_tolerance) / MM_PER_IN,
        nut_pitch_in=(pitch_diameter + 1.32 * rod_pitch_tolerance) / MM_PER_IN,
        nut_minor_in=(minor + nut_minor_tolerance) / MM_PER_IN,
    )


def limits(thread: Thread) -> ThreadLimits:
    return (metric_limits if thread.metric else unified_limits)(thread.diameter_in, thread.pitch_in)


def nut_height(thread: Thread) -> float:
    """Heavy hex nut, ASME B18.2.2: D - 1/64 in to 1-1/8 in, D - 1/32 in over; metric ISO 4033 style 2. [in]"""
    if thread.metric:
        size = round(thread.diameter_in * MM_PER_IN)
        return TALL_NUT_MM.get(size, 0.95 * size) / MM_PER_IN
    return thread.diameter_in - (1 / 64 if thread.diameter_in <= 1.125 else 1 / 32)


def rod_shear_area(thread: Thread, engagement_in: float) -> float:
    """AS_s = pi n L_e K_n,max [1/(2n) + 0.57735 (E_s,min - K_n,max)], FED-STD-H28. [in2]"""
    limit, pitch = limits(thread), thread.pitch_in
    width = 0.5 * pitch + TAN_30 * (limit.rod_pitch_in - limit.nut_minor_in)
    return pi * engagement_in / pitch * limit.nut_minor_in * width


def nut_shear_area(thread: Thread, engagement_in: float) -> float:
    """AS_n = pi n L_e D_s,min [1/(2n) + 0.57735 (D_s,min - E_n,max)], FED-STD-H28. [in2]"""
    limit, pitch = limits(thread), thread.pitch_in
    width = 0.5 * pitch + TAN_30 * (limit.rod_major_in - limit.nut_pitch_in)
    return pi * engagement_in / pitch * limit.rod_major_in * width


def strip_force(thread: Thread, ultimate_psi: float) -> float:
    """Least of rod and nut thread strip, 0.577 f_u times the shear area over the full height of the nut. [lbf]"""
    height = nut_height(thread)
    return SHEAR_SHARE * ultimate_psi * min(rod_shear_area(thread, height), nut_shear_area(thread, height))
