"""What every result says, what a piece adds to it, and the plain sentence about a soft rod."""

from typing import Any

from engineering.core.cautions import STANDING
from engineering.core.pipeline import run_checks
from tests.core.pieces import ROD, document


def cautions(**changes: Any) -> tuple[str, ...]:
    return tuple(run_checks(document(**changes))["cautions"])


def says(words: tuple[str, ...], part: str) -> bool:
    return any(part in sentence for sentence in words)


def test_the_standing_cautions_come_first_and_once() -> None:
    found = cautions()
    assert found[: len(STANDING)] == STANDING
    assert len(set(found)) == len(found)


def test_what_was_not_measured_is_said() -> None:
    without = {key: value for key, value in document()["concrete"].items() if key != "modulus"}
    found = tuple(run_checks({**document(), "concrete": without})["cautions"])
    assert says(found, "modulus was not given")
    assert says(cautions(), "limit of proportionality at stressing was not measured")
    assert not says(cautions(concrete={"flexural_yield_at_stressing": 800}), "at stressing was not measured")
    assert says(cautions(), "fibres carry across a crack was not measured")
    assert not says(cautions(concrete={"residual_tension": 300}), "fibres carry across a crack was not measured")


def test_surroundings_raise_their_own() -> None:
    assert says(cautions(environment={"exposure": "exterior"}), "Exposure exterior")
    assert says(cautions(environment={"drying_difference": 0.0002}), "One-sided drying")
    assert says(cautions(stressing={"age": 7, "method": "torque"}), "Tightened by torque")
    assert not says(cautions(), "Tightened by torque")


def test_a_soft_rod_is_told_in_plain_words() -> None:
    soft = {**ROD, "grade": "A307 A", "thread": "3/8-16", "jacking_force": 1500}
    words = [
        one for one in cautions(rods=[soft, {"mark": "R2", "like": "R1", "across": 18}]) if one.startswith("R1: of the")
    ]
    assert len(words) == 1
    assert "of the 1500 lbf put in" in words[0]
    assert "use a stronger rod or tighten again at 28 and 90 days" in words[0]
    assert not says(cautions(), "R1: of the")


def test_a_rod_tightened_again_is_not_told_to_be() -> None:
    soft = {**ROD, "grade": "A307 A", "thread": "3/8-16", "jacking_force": 700}
    found = cautions(
        rods=[soft, {"mark": "R2", "like": "R1", "across": 18}],
        concrete={"shrinkage": 0.002},
        stressing={"age": 7, "method": "elongation", "restress": [28, 90]},
    )
    assert says(found, "use a stronger rod.")
    assert not says(found, "tighten again")
