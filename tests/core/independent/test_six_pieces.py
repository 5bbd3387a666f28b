"""Six pieces against an independent calculation (see data/README.md): all but load-to-failure."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.checks.reading import Reading
from engineering.core.contract import Result, parse, to_json
from engineering.core.figures import figures
from engineering.core.series import series

DATA = Path(__file__).parent / "data"
NAMES = sorted(path.stem for path in DATA.glob("*.json"))
LOAD_TEST = "load_test."


@cache
def expected(name: str) -> dict[str, Any]:
    return json.loads((DATA / "expected" / f"{name}.json").read_text())["figures"]


@cache
def found(name: str) -> dict[str, Any]:
    piece = parse(json.loads((DATA / f"{name}.json").read_text()))
    reading = Reading(analyse(Batch.check_run(piece)))
    curves = series(reading.analysis)
    result = Result(piece.mark, piece.units, piece.specification_hash, (), "review", (), figures(reading), curves, ())
    return to_json(result)


CASES = [(name, figure) for name in NAMES for figure in expected(name) if not figure.startswith(LOAD_TEST)]


def test_the_pieces_are_all_here() -> None:
    assert len(NAMES) == 6
    assert len(CASES) > 700


@pytest.mark.parametrize(("name", "figure"), CASES)
def test_figure(name: str, figure: str) -> None:
    """Within rtol or atol of the independent value, or within its band; same unit; null only where it is null there."""
    want, got = expected(name)[figure], found(name)["figures"][figure]
    if want["value"] is None:
        assert got["value"] is None
        assert got["why"]
        return
    assert got["unit"] == want["unit"]
    allowed = max(want["rtol"] * abs(want["value"]), want.get("atol", 0.0))
    low, high = want.get("band", (want["value"], want["value"]))
    assert min(low, want["value"] - allowed) <= got["value"] <= max(high, want["value"] + allowed)


@pytest.mark.parametrize("name", NAMES)
def test_no_figure_beyond_the_list(name: str) -> None:
    """The engine names the same figures as the independent calculation, and no others."""
    assert set(found(name)["figures"]) == {figure for figure in expected(name) if not figure.startswith(LOAD_TEST)}


@pytest.mark.parametrize("name", NAMES)
def test_curves_hold_their_figures(name: str) -> None:
    """The largest point of a curve is the figure of that name (within the spacing of the stations)."""
    result = found(name)
    for curve, figure in (("moment.service_max", "moment.service_max"), ("stress.service_final.bottom",) * 2):
        figure = figure if figure.startswith("moment") else f"{figure}_max"
        top = max(result["series"][curve]["y"])
        assert top == pytest.approx(result["figures"][figure]["value"], rel=0.003, abs=1e-6)
    for series_of_piece in result["series"].values():
        assert len(series_of_piece["x"]) == len(series_of_piece["y"])
        assert all(a <= b for a, b in zip(series_of_piece["x"], series_of_piece["x"][1:], strict=False))
