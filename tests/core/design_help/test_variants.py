"""A design in a batch is judged exactly as a check run judges it alone."""

import copy
from typing import Any

import numpy as np
import pytest

from engineering.core.checks.finding import Verdict
from engineering.core.contract import parse
from engineering.core.pipeline import run_checks
from engineering.core.variants import Numbers, judge
from tests.core.pieces import document

FORCES = np.array([[9000.0, 9000.0], [6000.0, 6500.0], [12500.0, 12000.0], [2000.0, 2000.0]])
ACROSS = np.array([[6.0, 18.0], [4.0, 20.0], [8.0, 14.0], [13.0, 15.0]])
LIFT = np.array([0.0, 0.25, -0.375, 0.125])
MORE = np.array([1.0, 1.2, 1.0, 0.9])
WORDS = {verdict.word: verdict for verdict in Verdict}


def drawn(k: int) -> dict[str, Any]:
    """The document of design k."""
    found = document(stressing={"method": "torque"})
    first = found["rods"][0]
    found["rods"] = [
        {
            **copy.deepcopy(first),
            "mark": f"R{r + 1}",
            "across": ACROSS[k, r],
            "profile": [[x, y + LIFT[k]] for x, y in first["profile"]],
            "jacking_force": FORCES[k, r],
        }
        for r in range(2)
    ]
    found["concrete"]["creep"] *= MORE[k]
    return found


@pytest.mark.parametrize("k", range(4))
def test_a_design_in_the_crowd_is_judged_as_its_own_check_run(k: int) -> None:
    piece = parse(document(stressing={"method": "torque"}))
    numbers = Numbers(4, FORCES, ACROSS, LIFT, concrete=(("creep", MORE),))
    judged, alone = judge(piece, numbers), run_checks(drawn(k))
    assert list(judged.names) == [check["name"] for check in alone["checks"]]
    assert WORDS[alone["verdict"]] == judged.piece_verdict[k]
    for line, check in enumerate(alone["checks"]):
        assert judged.verdicts[k, line] == WORDS[check["verdict"]], check["name"]
        if check["ratio"] is None:
            assert np.isnan(judged.ratios[k, line])
        else:
            assert judged.ratios[k, line] == pytest.approx(check["ratio"], rel=1e-7, abs=1e-9), check["name"]


def test_what_fails_at_nominal_force_fails_its_check_run() -> None:
    piece = parse(document(stressing={"method": "torque"}))
    random = np.random.default_rng(5)
    numbers = Numbers(
        60, random.uniform(1500, 16000, (60, 2)), random.uniform(2, 22, (60, 2)), random.uniform(-1, 1, 60)
    )
    nominal, whole = judge(piece, numbers, scattered=False), judge(piece, numbers)
    failed = nominal.piece_verdict == Verdict.FAIL
    assert failed.any()
    assert np.all(whole.piece_verdict[failed] == Verdict.FAIL)


def test_the_chunk_does_not_show() -> None:
    piece = parse(document())
    forces = np.linspace(3000, 12000, 130)[:, None] * np.ones(2)
    many, few = judge(piece, Numbers(130, forces)), judge(piece, Numbers(3, forces[[0, 64, 129]]))
    assert np.allclose(many.ratios[[0, 64, 129]], few.ratios, rtol=1e-7, atol=1e-9, equal_nan=True)
    assert np.array_equal(many.verdicts[[0, 64, 129]], few.verdicts)
