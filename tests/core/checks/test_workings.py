"""Every printed working of the example pieces, in both systems of units, is calculated again."""

import copy
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from engineering.core.checks import CHECKS
from engineering.core.pipeline import run_checks
from tests.core.checks.arithmetic import sums
from tests.core.checks.variety import VARIETY, in_other_units

DATA = Path(__file__).parents[1] / "independent" / "data"
NAMES = sorted(path.stem for path in DATA.glob("*.json"))


@cache
def document(name: str) -> dict[str, Any]:
    return VARIETY[name] if name in VARIETY else json.loads((DATA / f"{name}.json").read_text())


@cache
def result(name: str, turned: bool) -> dict[str, Any]:
    one = copy.deepcopy(document(name))
    return run_checks(in_other_units(one) if turned else one)


CASES = [(name, turned) for name in [*NAMES, *VARIETY] for turned in (False, True)]


@pytest.mark.parametrize(("name", "turned"), CASES)
def test_the_printed_arithmetic_holds(name: str, turned: bool) -> None:
    wrong, seen = [], 0
    for check in result(name, turned)["checks"]:
        for line in check["working"]:
            for text, value, printed, scale in sums(line):
                seen += 1
                if abs(value - printed) > 6e-4 * max(scale, abs(printed)):
                    wrong.append(f"{check['name']}: {line} [{text} gives {value:.6g}, printed {printed:.6g}]")
    assert seen > 30
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(("name", "turned"), CASES)
def test_the_last_line_gives_the_ratio(name: str, turned: bool) -> None:
    for check in result(name, turned)["checks"]:
        last = sums(check["working"][-1]) if check["working"] else []
        if last and check["working"][-1].startswith("demand/capacity"):
            assert last[0][2] == pytest.approx(check["ratio"], rel=1e-3), check["name"]


@pytest.mark.parametrize(("name", "turned"), CASES)
def test_every_check_speaks_in_its_turn(name: str, turned: bool) -> None:
    order = [known for known, _ in CHECKS]
    places = []
    for check in result(name, turned)["checks"]:
        place = max(
            (k for k, known in enumerate(order) if check["name"].startswith(known)), key=lambda k: len(order[k])
        )
        places.append(place)
        assert check["verdict"] in ("pass", "fail", "review", "caution", "not applicable")
        assert check["working"] or check["why"], f"{check['name']}: neither a working nor a why"
        assert (check["ratio"] is None) <= bool(check["why"])
    assert places == sorted(places)
    assert set(places) == set(range(len(order)))


@pytest.mark.parametrize("name", [*NAMES, *VARIETY])
def test_both_systems_of_units_come_to_the_same_verdicts(name: str) -> None:
    first, second = result(name, False), result(name, True)
    assert first["verdict"] == second["verdict"]
    for one, other in zip(first["checks"], second["checks"], strict=True):
        assert (one["name"], one["verdict"], one["variant"]) == (other["name"], other["verdict"], other["variant"])
        if one["ratio"] is None:
            assert other["ratio"] is None
        else:
            assert one["ratio"] == pytest.approx(other["ratio"], rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(("name", "turned"), CASES)
def test_the_corner_shown_has_the_stress_that_is_checked(name: str, turned: bool) -> None:
    for check in result(name, turned)["checks"]:
        for line in check["working"]:
            if line.startswith("stress = rods + M/S"):
                shown = sums(line)[0][1]
                in_psi = check["demand"] * (1.0 if check["unit"] == "psi" else 1 / 0.006894757293168)
                assert abs(shown) == pytest.approx(abs(in_psi), rel=1e-3, abs=0.5), check["name"]
