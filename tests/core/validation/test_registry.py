"""Every worked example by its id: which test it stands in, or why it is none of this engine's business.

data/all_cases.json lists them all with source and evidence. `regression` holds what shares its formula with the engine.
"""

import json
from pathlib import Path

import pytest

HERE = Path(__file__).parent
KNOWN = {case["id"]: case for case in json.loads((HERE / "data" / "all_cases.json").read_text("utf-8"))}
OUTSIDE = {
    "SEC-03": "cracked transformed sections with bonded bars: the rods here are unbonded",
    "SEC-04": "cracked transformed sections with bonded bars: the rods here are unbonded",
    "CB-02": "long-term multipliers for bonded strand: crown in time is found step by step",
    "SH-02": "stirrups: these pieces have none",
    "UB-04": "Naaman and Alkhairi's equation: the strength rule is AASHTO's",
    "UB-05": "Pannell's equation: the strength rule is AASHTO's",
    "UB-09": "arithmetic of a hinge, for a reader; the load test finds strain from the whole piece",
    "UB-10-third": "a smeared model under another loading, its own author's output; its uniform case is the bound",
    "FR-01": "the source's stepwise straight friction; the exact exponential of the same tendon is FR-02",
    "EL-03": "temperature that stretches a bolt",
    "TQ-02": "long form of the nut factor: the factor is an input",
    "TQ-04": "wind-up of a rod: the crew counts turns against the rod's end",
    "TH-04": "proof loads of nuts: the nut is a heavy hex of matching class, its thread is checked instead",
    "TD-04": "an ageing coefficient with a modulus that grows in steps, its own author's output",
    "TD-06": "another shrinkage formula: shrinkage is an input",
    "TD-08": "temperature: not part of the basis",
    "AN-02": "ACI 318-19 22.8 does not govern anchor zones, as the source itself says",
    "DF-01": "deflection of cracked bonded beams",
}


def text_of(*folders: str) -> str:
    files = [path for folder in folders for path in sorted((HERE.parent / folder).glob("test_*.py"))]
    return "\n".join(path.read_text("utf-8") for path in files if path.name != "test_registry.py")


def named(case: str, text: str) -> bool:
    """As a whole id, or by a family's name put together in a loop (UB-12-{number})."""
    family = case.rsplit("-", 1)[0] + "-{number}"
    return f'"{case}"' in text or f"{case}:" in text or family in text or f"({case})" in text or f"{case} " in text


def test_the_list_is_whole() -> None:
    assert len(KNOWN) == 85
    assert set(OUTSIDE) <= set(KNOWN)


@pytest.mark.parametrize("case", [case for case in KNOWN if case not in OUTSIDE])
def test_every_case_stands_in_a_test(case: str) -> None:
    assert named(case, text_of("validation", "regression"))


@pytest.mark.parametrize("case", [case for case in KNOWN if case not in OUTSIDE])
def test_only_outside_evidence_counts_as_validation(case: str) -> None:
    """What shares the formula stands in regression, and nowhere in validation but as data."""
    if KNOWN[case]["evidence"].startswith("formula read"):
        assert named(case, text_of("regression"))
        assert f'"{case}"' not in text_of("validation")
    else:
        assert named(case, text_of("validation"))
