"""Standard pieces: what varies and what stays, against whole check runs of documents written by hand."""

import json
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engineering.core.contract import SpecificationRefused, parse
from engineering.core.pipeline import run_checks
from engineering.core.standard import MEASURES, Limit, checked, outside, points, report, stretched, varied
from tests.core.pieces import document


def cantilevered() -> dict[str, Any]:
    """The strip on a last support 12 in from its end."""
    return document(supports=[{"at": 4}, {"at": 84}])


def test_a_longer_piece_is_the_one_written_by_hand() -> None:
    by_hand = document(length=108, supports=[{"at": 4, "bearing": 2}, {"at": 104, "bearing": 2}])
    template = document()
    by_hand["zones"][0]["to"] = 108
    for rod in by_hand["rods"]:
        if "profile" in rod:
            rod["profile"][-1][0] += 12
    by_hand["handling"]["lift_points"][1] += 12
    made = varied(template, {"length": 108.0})
    assert parse(made) == parse(by_hand)
    assert template == document()


@given(st.floats(80, 140), st.floats(2, 4), st.floats(20, 150))
def test_what_was_asked_for_is_what_the_piece_then_has(length: float, depth: float, load: float) -> None:
    values = {"length": length, "depth": depth, "live load": load}
    try:
        made = parse(varied(document(), values))
    except SpecificationRefused:
        return
    for name, value in values.items():
        assert MEASURES[name].of(made) == pytest.approx(value, abs=1e-4)
    before = parse(document())
    for rod, was in zip(made.rods, before.rods, strict=True):
        assert rod.profile[0] == was.profile[0]
        assert made.length_in - rod.profile[-1][0] == pytest.approx(before.length_in - was.profile[-1][0], abs=1e-4)


def test_a_cantilever_grows_past_its_support_and_the_span_stays() -> None:
    made = parse(varied(cantilevered(), {"cantilever": 18.0}))
    assert made.length_in == pytest.approx(102)
    assert [support.at_in for support in made.supports] == [4, 84]
    both = parse(varied(cantilevered(), {"cantilever": 18.0, "length": 110.0}))
    assert both.length_in == pytest.approx(110)
    assert both.length_in - both.supports[-1].at_in == pytest.approx(18)


def test_what_cannot_be_is_refused_and_not_drawn_wrongly() -> None:
    with pytest.raises(ValueError, match="shorter"):
        stretched(document(), 48.0, -60.0)
    row = checked(document(), {"length": 20.0})
    assert (row["verdict"], row["ratio"]) == ("refused", None)


@pytest.mark.parametrize("load", [40.0, 90.0, 300.0])
def test_a_point_has_the_verdict_and_ratio_of_its_whole_check_run(load: float) -> None:
    values = {"length": 100.0, "live load": load}
    row, result = checked(document(), values), run_checks(varied(document(), values))
    assert row["verdict"] == result["verdict"]
    ratios = [check["ratio"] or 0.0 for check in result["checks"] if check["kind"] in ("V", "R")]
    assert row["ratio"] == pytest.approx(max(ratios), rel=1e-3)


def test_the_grid_has_both_ends_of_every_measure_and_no_measure_twice() -> None:
    limits = [Limit("length", 90, 110), Limit("live load", 50, 50)]
    assert points(limits, 3) == [{"length": x, "live load": 50.0} for x in (90.0, 100.0, 110.0)]
    for wrong, steps in (([], 3), (limits + limits, 3), (limits, 1), ([Limit(name, 1, 2) for name in MEASURES], 9)):
        with pytest.raises(ValueError, match=r"steps|combinations"):
            points(wrong, steps)


def test_the_answer_holds_only_where_every_point_passes() -> None:
    good = [Limit("length", 90, 96)]
    rows = [checked(document(), values) for values in points(good, 2)]
    answer = report(document(), good, rows)
    assert answer["holds"] == all(run_checks(varied(document(), row["values"]))["verdict"] == "pass" for row in rows)
    wide = [Limit("length", 90, 96), Limit("live load", 50, 400)]
    rows = [checked(document(), values) for values in points(wide, 2)]
    answer = report(document(), wide, rows)
    assert not answer["holds"]
    assert answer["worst"][0]["verdict"] == "fail"
    assert json.loads(json.dumps(answer)) == answer


def test_a_value_at_its_limit_is_inside_and_one_past_it_is_named() -> None:
    limits = [Limit("length", 90, 110), Limit("depth", 3, 3)]
    assert outside(limits, {"length": 110.0, "depth": 3.0}) == []
    assert outside(limits, {"length": 110.2, "depth": 3.0}) == [(limits[0], 110.2)]
    with pytest.raises(KeyError):
        outside(limits, {"length": 100.0})


def test_limits_that_cannot_be_are_refused_and_a_depth_is_written_plainly() -> None:
    template = deepcopy(document())
    with pytest.raises(ValueError, match="rise"):
        Limit.from_json({"measure": "length", "low": 3, "high": 2})
    with pytest.raises(ValueError, match="no measure"):
        Limit.from_json({"measure": "colour", "low": 3, "high": 4})
    made = varied(template, {"depth": 3.25})
    assert made["zones"][0]["shape"]["depth"] == 3.25
