"""What is said to help does help: every step told is run again by `run_checks`; the step before it does not help."""

from typing import Any

import pytest

from engineering.core.advice import advise, stacked
from engineering.core.contract import parse
from engineering.core.pipeline import run_checks
from engineering.core.remedies import in_documents, in_numbers
from engineering.core.variants import judge
from tests.core.pieces import document

WORSE = {"not applicable": -1, "pass": 0, "caution": 1, "review": 2, "fail": 3}


def weak() -> dict[str, Any]:
    """Too much load for rods too high and too weak."""
    found = document(loads=[{"label": "use", "case": "live", "type": "area", "value": 110}])
    found["rods"][0].update(profile=[[2, 1.75], [94, 1.75]], jacking_force=6000)
    return found


def early() -> dict[str, Any]:
    return document(concrete={"strength_at_stressing": 2200})


def verdicts(found: dict[str, Any]) -> dict[str, str]:
    return {check["name"]: check["verdict"] for check in run_checks(found)["checks"]}


@pytest.fixture(scope="module")
def answer() -> dict[str, Any]:
    return advise(weak())


def test_worst_first_and_only_what_is_wrong(answer: dict[str, Any]) -> None:
    result = run_checks(weak())
    wrong = {check["name"]: check for check in result["checks"] if check["verdict"] in ("fail", "review")}
    assert {one["check"] for one in answer["checks"]} == set(wrong)
    ranks = [(WORSE[one["verdict"]], one["ratio"] or 1e6) for one in answer["checks"]]
    assert ranks == sorted(ranks, reverse=True)
    assert answer["verdict"] == result["verdict"]


def test_every_document_told_mends_its_check_and_gives_the_verdict_told(answer: dict[str, Any]) -> None:
    given = weak()
    before = verdicts(given)
    drawn = {step.words: step.document for step in in_documents(given, parse(given))}
    run: dict[str, dict[str, str]] = {}
    told = 0
    for about in answer["checks"]:
        for help_ in about["helps"]:
            if help_["words"] in drawn:
                after = run.setdefault(help_["words"], verdicts(drawn[help_["words"]]))
                assert WORSE[after[about["check"]]] < WORSE[before[about["check"]]]
                assert all(WORSE[after[name]] >= WORSE["review"] for name in help_["spoils"])
                assert (help_["verdict"] == "fail") is ("fail" in after.values())
                told += 1
    assert told


def test_what_only_eases_is_told_with_the_ratio_it_leaves(answer: dict[str, Any]) -> None:
    given = weak()
    drawn = {step.words: step.document for step in in_documents(given, parse(given))}
    eased = [(one, ease) for one in answer["checks"] for ease in one["eases"]]
    assert eased
    for one, ease in eased:
        assert ease["ratio"] <= 0.9 * one["ratio"]
        if ease["words"] in drawn:
            result = run_checks(drawn[ease["words"]])
            ratios = [check["ratio"] for check in result["checks"] if check["name"] == one["check"]]
            assert ratios == [pytest.approx(ease["ratio"], rel=1e-5)]


def test_lower_rods_are_told_in_eighths_and_the_step_before_is_not_enough() -> None:
    given, answer = weak(), advise(weak(), quick=True)
    lower = [(one["check"], h) for one in answer["checks"] for h in one["helps"] if h["remedy"] == "lower"]
    assert lower
    sizes = (1, 2, 3, 4, 6, 8)
    for check, help_ in lower:
        for size, mends in ((help_["size"], True), (sizes[max(sizes.index(help_["size"]) - 1, 0)], False)):
            if mends or size != help_["size"]:
                moved = weak()
                moved["rods"][0]["profile"] = [[2, 1.75 - size / 8], [94, 1.75 - size / 8]]
                assert (WORSE[verdicts(moved)[check]] < WORSE[verdicts(given)[check]]) is mends
    assert any("in lower" in help_["words"] for _, help_ in lower)


def test_waiting_is_told_with_the_strength() -> None:
    about = next(one for one in advise(early())["checks"] if one["check"] == "strength at stressing")
    assert about["helps"][0]["words"] == "wait until 2,500 psi"


def test_numbers_side_by_side_are_what_they_are_alone() -> None:
    piece = parse(weak())
    steps = [step for step in in_numbers(piece) if step.numbers is not None]
    together = judge(piece, stacked(piece, [step.numbers for step in steps if step.numbers]))
    for row in range(0, len(steps), 7):
        numbers = steps[row].numbers
        assert numbers is not None
        assert judge(piece, numbers).ratios[0] == pytest.approx(together.ratios[row], rel=1e-6, abs=1e-8, nan_ok=True)


def test_a_sound_piece_wants_no_advice() -> None:
    assert advise(document())["checks"] == [] or run_checks(document())["verdict"] != "pass"


def test_advice_is_the_same_twice() -> None:
    assert advise(early(), quick=True) == advise(early(), quick=True)
