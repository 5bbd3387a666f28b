"""The region's borders against `run_checks` on both sides of each."""

import copy
from typing import Any

import pytest

from engineering.core.contract import parse
from engineering.core.pipeline import run_checks
from engineering.core.region import STRESS_CHECKS, Region, middle_height, region_of, report, rod_limit
from tests.core.pieces import document


def given() -> dict[str, Any]:
    return document(
        stressing={"method": "torque"}, loads=[{"label": "use", "case": "live", "type": "area", "value": 110}]
    )


@pytest.fixture(scope="module")
def region() -> Region:
    return region_of(parse(given()))


def drawn(height_in: float, total_lbf: float) -> dict[str, Any]:
    found = copy.deepcopy(given())
    found["rods"][0]["profile"] = [[2, height_in], [94, height_in]]
    found["rods"][0]["jacking_force"] = total_lbf / 2
    return found


def failing(found: dict[str, Any]) -> list[str]:
    return [
        check["name"]
        for check in run_checks(found)["checks"]
        if check["verdict"] == "fail" and check["name"].startswith(STRESS_CHECKS)
    ]


def test_a_hair_inside_every_border_holds_and_a_hair_outside_fails(region: Region) -> None:
    assert len(region.borders) > 10
    assert {border.upper for border in region.borders} == {True, False}
    for border in region.borders[::3]:
        inside, outside = (0.9995, 1.0005) if border.upper else (1.0005, 0.9995)
        assert failing(drawn(border.height_in, border.force_lbf * inside)) == []
        assert border.check in failing(drawn(border.height_in, border.force_lbf * outside))


def test_the_present_height_is_one_of_the_heights(region: Region) -> None:
    assert min(abs(y - middle_height(parse(given()))) for y in region.heights_in) < 1e-9
    assert list(region.heights_in) == sorted(region.heights_in)


def test_scatter_only_takes_from_the_region(region: Region) -> None:
    bare = region_of(parse(given()), with_scatter=False)
    for height in {border.height_in for border in region.borders}:
        tops = [
            [border.force_lbf for border in one.borders if border.upper and border.height_in == height]
            for one in (region, bare)
        ]
        if tops[0] and tops[1]:
            assert max(tops[0]) <= max(tops[1]) * (1 + 1e-6)


def test_the_report_tells_whether_the_present_design_is_inside() -> None:
    answer = report(parse(given()))
    assert answer["present"]["holds"] is (failing(given()) == [])
    assert answer["present"]["low"] < answer["present"]["force"] < answer["present"]["high"]
    assert answer["unit"] == {"force": "lbf", "height": "in"}
    for row in answer["region"][::6]:
        middle = 0.5 * (row["from"] + row["to"])
        assert row["from"] < row["to"]
        assert failing(drawn(row["height"], max(middle, 100.0))) == []


def test_the_rods_own_limit_is_theirs() -> None:
    most, check = rod_limit(parse(given()))

    def fails(total: float) -> bool:
        return any(
            one["name"] == check and one["verdict"] == "fail" for one in run_checks(drawn(1.25, total))["checks"]
        )

    assert fails(most * 1.001)
    assert not fails(most * 0.999)


def test_no_rods_no_region() -> None:
    with pytest.raises(ValueError, match="without rods"):
        region_of(parse(document(rods=[], stressing=None)))
