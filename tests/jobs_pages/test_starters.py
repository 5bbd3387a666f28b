"""The starting pieces pass the checks of the engine itself, as they stand."""

import pytest

from engineering.core.pipeline import run_checks
from jobs import starters


@pytest.mark.parametrize("name", [starter.name for starter in starters.starters()])
def test_a_starting_piece_passes(name: str) -> None:
    result = run_checks(starters.document(name))
    wrong = [(check["name"], check["verdict"]) for check in result["checks"] if check["verdict"] in ("fail", "review")]
    assert (result["verdict"], wrong) == ("pass", [])
