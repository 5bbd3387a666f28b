"""Thread limits against tabulated values of ASME B1.1 and ISO 965 (tables from memory), and the rule that the rod
breaks first."""

import pytest

from engineering.core.contract.piece import Thread
from engineering.core.thread_grip import limits, nut_height, nut_shear_area, rod_shear_area, strip_force

UNIFIED = {  # 2A major min, 2A pitch min, 2B pitch max, 2B minor max [in], ASME B1.1 Table 2
    (0.25, 20): (0.2408, 0.2127, 0.2224, 0.2067),
    (0.375, 16): (0.3643, 0.3287, 0.3401, 0.321),
    (0.5, 13): (0.4876, 0.4435, 0.4565, 0.434),
    (0.75, 10): (0.7353, 0.6773, 0.6927, 0.663),
    (1.0, 8): (0.9830, 0.9100, 0.9276, 0.890),
}
METRIC = {  # 6g major min, 6g pitch min, 6H pitch max, 6H minor max [mm], ISO 965-2
    (6, 1.0): (5.794, 5.212, 5.500, 5.153),
    (12, 1.75): (11.701, 10.679, 11.063, 10.441),
    (20, 2.5): (19.623, 18.164, 18.600, 17.744),
}


def thread(diameter, pitch, metric):
    area = 0.7854 * (diameter - 0.9743 * pitch) ** 2
    return Thread("", diameter, pitch, area, metric)


@pytest.mark.parametrize("size", UNIFIED)
def test_unified_limits(size):
    found = limits(thread(size[0], 1 / size[1], False))
    assert (found.rod_major_in, found.rod_pitch_in, found.nut_pitch_in, found.nut_minor_in) == pytest.approx(
        UNIFIED[size], abs=7e-4
    )


@pytest.mark.parametrize("size", METRIC)
def test_metric_limits(size):
    found = limits(thread(size[0] / 25.4, size[1] / 25.4, True))
    found_mm = [v * 25.4 for v in (found.rod_major_in, found.rod_pitch_in, found.nut_pitch_in, found.nut_minor_in)]
    assert found_mm == pytest.approx(METRIC[size], abs=0.016)  # the standard rounds to preferred numbers


def test_heavy_hex_nut_heights():
    # ASME B18.2.2 basic heights: 1/2 in 31/64, 1 in 63/64, 1-1/4 in 1-7/32; ISO 4033 M12 12.0 mm
    assert nut_height(thread(0.5, 1 / 13, False)) == pytest.approx(31 / 64)
    assert nut_height(thread(1.25, 1 / 7, False)) == pytest.approx(1 + 7 / 32)
    assert nut_height(thread(12 / 25.4, 1.75 / 25.4, True)) * 25.4 == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("diameter", "per_inch"), [(0.25, 20), (0.375, 16), (0.5, 13), (0.625, 11), (0.75, 10), (1.0, 8), (1.25, 7)]
)
def test_the_rod_breaks_before_its_thread_strips_in_a_full_nut(diameter, per_inch):
    one = thread(diameter, 1 / per_inch, False)
    assert strip_force(one, 125e3) > one.tensile_area_in2 * 125e3
    assert nut_shear_area(one, 0.5) > rod_shear_area(one, 0.5)


def test_half_a_nut_strips_first():
    one = thread(0.5, 1 / 13, False)
    assert 0.577 * rod_shear_area(one, 0.5 * nut_height(one)) < one.tensile_area_in2


def test_strip_force_by_hand():
    # 1/2-13, nut 31/64 in: AS_s = pi x 13 x 0.4844 x 0.4336 x (1/26 + 0.57735 x (0.4435 - 0.4336)) = 0.379 in2, x
    # 0.577 x 125 ksi
    assert strip_force(thread(0.5, 1 / 13, False), 125e3) == pytest.approx(0.577 * 125e3 * 0.379, rel=0.005)
