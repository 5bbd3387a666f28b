"""The preview says what the check run will say."""

import copy
import json
from typing import Any

import pytest

from engineering.core.contract import SpecificationRefused
from engineering.core.pipeline import run_checks
from engineering.core.preview import preview
from tests.core.pieces import document


def heavy() -> dict[str, Any]:
    return document(loads=[{"label": "use", "case": "live", "type": "area", "value": 150}])


@pytest.mark.parametrize(
    "given", [document(), heavy(), document(handling=None), document(rods=[], stressing=None)],
    ids=["sound", "heavy", "no lifting", "no rods"],
)  # fmt: skip
def test_verdict_checks_and_figures_are_those_of_the_check_run(given: dict[str, Any]) -> None:
    shown, result = preview(given), run_checks(copy.deepcopy(given))
    assert shown["verdict"] == result["verdict"]
    wrong = {c["name"]: c for c in result["checks"] if c["verdict"] in ("fail", "review")}
    assert {one["name"] for one in shown["checks"]} == set(wrong)
    for one in shown["checks"]:
        assert one["verdict"] == wrong[one["name"]]["verdict"]
    figures = {one["name"]: one["value"] for one in shown["figures"]}
    assert figures["crown at end of life"] == pytest.approx(result["figures"]["crown.final"]["value"], rel=1e-4)
    if given["rods"]:
        rods = [result["figures"][f"rod.R{k}.force_final"]["value"] for k in (1, 2)]
        assert figures["force left at end of life"] == pytest.approx(sum(rods), rel=1e-4)
        torque = result["figures"]["rod.R1.torque"]["value"]
        assert figures["torque, the greatest"] == pytest.approx(torque, rel=1e-4)
    assert json.loads(json.dumps(shown)) == shown


def test_worst_first() -> None:
    checks = preview(heavy())["checks"]
    ranks = [(one["verdict"] == "fail", one["ratio"] or 1e6) for one in checks]
    assert len(ranks) > 1
    assert ranks == sorted(ranks, reverse=True)


def test_a_refused_document_is_refused() -> None:
    with pytest.raises(SpecificationRefused, match="length"):
        preview(document(length=-1))
