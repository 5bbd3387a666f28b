"""The finder against brute force through `run_checks`, one document at a time; splits, stops, and no way through."""

import itertools
import json
from dataclasses import replace
from typing import Any

import pytest

from engineering.core.checks.finding import Verdict
from engineering.core.contract import parse
from engineering.core.contract.units import QUANTITIES
from engineering.core.finder import OBJECTIVES, OF_PLACE, Found, Stopped, merged, search, split
from engineering.core.finder_report import draft, report
from engineering.core.pipeline import run_checks
from engineering.core.rod_space import Space, designs_of, draft_of, layouts, usual_space
from tests.core.pieces import document

SMALL = Space(
    shelf=(("3/8-16 UNC", ("F1554-55", "A193 B7")), ("1/2-13 UNC", ("A193 B7",))),
    numbers=(2, 3),
    heights_in=(1.0, 1.25, 1.5),
    spreads=(0.8,),
    shares=(0.4, 0.7),
    restress=((), (28.0,)),
)


def strip(**changes: Any) -> dict[str, Any]:
    return document(**{"stressing": {"method": "elongation"}, **changes})


def by_hand(found: dict[str, Any], result: dict[str, Any]) -> dict[str, float]:
    """The wishes' numbers read off a result document."""
    figures = {name: figure["value"] for name, figure in result["figures"].items()}
    margin = max(
        check["ratio"] or 0.0
        for check in result["checks"]
        if check["kind"] in ("V", "R") and not check["name"].startswith(OF_PLACE)
    )
    return {
        "force": sum(figures[f"rod.R{k + 1}.force_jacking"] for k in range(len(found["rods"]))),
        "margin": margin,
        "crown": abs(figures["crown.final"] - figures["crown.installed"]),
    }


@pytest.mark.parametrize(
    "given",
    [
        strip(),
        strip(loads=[{"label": "use", "case": "live", "type": "area", "value": 120}]),
        strip(supports=[{"at": 4, "bearing": 2}, {"at": 82, "bearing": 2}]),
    ],
    ids=["light", "heavy", "overhanging"],
)
def test_no_design_of_a_small_space_beats_what_the_finder_answers(given: dict[str, Any]) -> None:
    piece, answered = parse(given), search(given, SMALL)
    brute = []
    for layout in layouts(piece, SMALL):
        for design in designs_of(given, piece, SMALL, layout):
            drawn = draft_of(given, piece, SMALL, design)
            result = run_checks(drawn)
            if result["verdict"] != "fail":
                brute.append((result["verdict"] != "pass", design.index, by_hand(drawn, result)))
    assert brute
    passing = any(not review for review, _, _ in brute)
    for wish in ("force", "margin", "crown"):
        least = min(numbers[wish] for review, _, numbers in brute if review != passing)
        assert answered.best[wish][0][wish] == pytest.approx(least, rel=1e-6, abs=1e-9), wish
        assert (answered.best[wish][0]["verdict"] == "pass") == passing
    assert answered.passing == sum(not review for review, _, _ in brute) or not passing


def test_least_steel_is_least_steel_of_all_that_pass() -> None:
    given = strip()
    piece, answered = parse(given), search(given, SMALL)
    best = answered.best["steel"][0]
    for layout in layouts(piece, SMALL):
        for design in designs_of(given, piece, SMALL, layout):
            fewer = design.thread == best["thread"] and len(design.across_in) < len(best["across"])
            thinner = design.thread.startswith("3/8") and best["thread"].startswith("1/2")
            if fewer or (thinner and len(design.across_in) <= len(best["across"])):
                assert run_checks(draft_of(given, piece, SMALL, design))["verdict"] != "pass", design


def test_any_split_gives_the_same_answer_in_any_order() -> None:
    given = strip()
    whole = search(given, SMALL)
    count = len(layouts(parse(given), SMALL))
    for workers in (2, 3, count):
        parts = [search(given, SMALL, part) for part in split(count, workers)]
        again = merged([Found.from_json(json.loads(json.dumps(part.to_json()))) for part in reversed(parts)])
        assert again == whole
    assert search(given, SMALL) == whole
    assert whole.looked_at == SMALL.size


def test_progress_is_told_and_a_stop_is_heard() -> None:
    told: list[int] = []
    search(strip(), SMALL, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == SMALL.size
    assert len(told) > 3
    with pytest.raises(Stopped):
        search(strip(), SMALL, progress=told.append, stop_wanted=lambda: len(told) > 5)


def test_each_answer_opens_as_a_draft_with_the_same_verdict_and_ratio() -> None:
    for units in ("us", "si"):
        given = strip() if units == "us" else json.loads(json.dumps(strip_in_si()))
        answer = report(given, SMALL, search(given, SMALL))
        assert json.loads(json.dumps(answer)) == answer
        for wish in answer["wishes"]:
            for shown in wish["designs"][:2]:
                result = run_checks(draft(given, answer["space"], shown))
                assert result["verdict"] == shown["verdict"]
                ratios = [c["ratio"] for c in result["checks"] if c["name"] == shown["governing"]]
                assert ratios == [pytest.approx(shown["margin"], abs=1e-5)]


def strip_in_si() -> dict[str, Any]:
    """The strip with its plain numbers turned into SI."""
    given = strip()
    given["units"] = "si"

    def si(value: float, quantity: str) -> float:
        return QUANTITIES[quantity].from_us(value, "si")

    given["length"] = si(96, "length")
    given["zones"] = [
        {"to": si(96, "length"), "shape": {"type": "solid", "width": si(24, "length"), "depth": si(3, "length")}}
    ]
    given["supports"] = [{"at": si(4, "length")}, {"at": si(92, "length")}]
    given["loads"][0]["value"] = si(50, "area load")
    for key, value in given["concrete"].items():
        if key not in ("shrinkage", "creep"):
            given["concrete"][key] = si(value, "density" if key == "density" else "stress")
    given["rods"] = []
    given["handling"] = {"lift_points": [si(20, "length"), si(76, "length")], "age": 2, "strength": si(2500, "stress")}
    return given


def test_without_a_way_through_it_says_what_stands_there_and_what_opens_it() -> None:
    given = strip(loads=[{"label": "use", "case": "live", "type": "area", "value": 200}])
    space = replace(SMALL, restress=((),), heights_in=(1.0, 1.25))
    found = search(given, space)
    assert found.passing == found.for_review == 0
    answer = report(given, space, found)
    assert answer["in_the_way"][0]["designs"] > 0
    assert answer["nearest"][0]["failed"]
    assert any(one["size"] is not None for one in answer["openings"])
    for one in answer["openings"]:
        if one["size"] is not None:
            assert one["words"]
            assert one["design"]["index"] in [miss["index"] for miss in found.misses]


def test_a_space_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="it should be 1 to"):
        search(strip(), replace(SMALL, heights_in=()))
    with pytest.raises(ValueError, match="not in the tables"):
        search(strip(), replace(SMALL, shelf=(("9/7-3 UNC", ("A193 B7",)),)))


def test_a_piece_without_rods_finds_some() -> None:
    given = strip(rods=None, stressing=None)
    given["rods"] = []
    space = usual_space(parse(given))
    small = replace(space, numbers=(3,), shares=(0.5, 0.7), heights_in=space.heights_in[::2], spreads=(0.8,))
    found = search(given, small)
    assert found.passing + found.for_review > 0
    assert Verdict.PASS.word in {one["verdict"] for one in found.best["steel"]}


def test_every_wish_has_an_answer_and_the_front_falls() -> None:
    found = search(strip(), SMALL)
    assert set(found.best) == set(OBJECTIVES)
    for name, front in found.fronts.items():
        passing = [one for one in front if one["verdict"] == "pass"]
        assert passing
        for one, other in itertools.pairwise(passing):
            assert one[name] <= other[name]
            assert one["margin"] > other["margin"]
