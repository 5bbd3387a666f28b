"""The tolerance study: the same numbers whatever the split, a true Latin hypercube, drivers that make sense."""

from itertools import pairwise

import numpy as np
import pytest

from engineering.core import studies
from engineering.core.analysis import analyse
from engineering.core.checks import Reading
from engineering.core.contract import parse
from engineering.core.contract.piece import Piece
from engineering.core.pipeline import findings
from engineering.core.studies import (
    StudyPart,
    Tolerances,
    design,
    joined,
    quantities,
    run_part,
    sampled,
)
from engineering.core.study_report import run_study, summary
from tests.core.pieces import document

SIZE = 60


@pytest.fixture(scope="module")
def piece() -> Piece:
    return parse(document())


def test_every_slice_of_every_quantity_is_drawn_once(piece: Piece) -> None:
    shares = design(piece, SIZE, 3)
    assert shares.shape == (SIZE, len(quantities(piece)))
    assert np.all(np.sort(np.floor(shares * SIZE), axis=0) == np.arange(SIZE)[:, None])


def test_the_same_seed_gives_the_same_design_and_another_another(piece: Piece) -> None:
    assert np.array_equal(design(piece, SIZE, 3), design(piece, SIZE, 3))
    assert not np.array_equal(design(piece, SIZE, 3), design(piece, SIZE, 4))


def test_any_split_gives_the_same_numbers(piece: Piece, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(studies, "CHUNK", 16)
    whole = run_part(piece, SIZE, 3, 0, SIZE)
    for cuts in ((0, 16, 32, SIZE), (0, 7, 41, SIZE)):
        parts = [run_part(piece, SIZE, 3, a, b) for a, b in pairwise(cuts)]
        again = joined([StudyPart.from_json(part.to_json()) for part in reversed(parts)])
        assert np.array_equal(whole.verdicts, again.verdicts)
        assert summary(piece, SIZE, 3, [again]) == summary(piece, SIZE, 3, [StudyPart.from_json(whole.to_json())])


def test_a_sample_alone_is_the_sample_in_the_crowd(piece: Piece) -> None:
    shares, whole = design(piece, SIZE, 3), run_part(piece, SIZE, 3, 0, SIZE)
    alone = findings(Reading(analyse(sampled(piece, shares[17:18], Tolerances()))))
    for k, line in enumerate(alone):
        if line.applies and line.met is None:
            assert float(np.ravel(line.ratios())[0]) == pytest.approx(whole.ratios[17, k], rel=1e-6, abs=1e-9), (
                line.name
            )
        assert int(np.ravel(line.verdicts())[0]) == whole.verdicts[17, k]


def test_no_scatter_at_all_gives_the_nominal_piece(piece: Piece) -> None:
    still = parse(
        document(
            stressing={"age": 7, "method": "elongation", "scatter": 0},
            concrete={"variation_yield": 0, "variation_ultimate": 0},
        )
    )
    part = run_part(still, 5, 1, 0, 5, Tolerances(0, 0, 0, 0, 0, 0))
    assert np.nanmax(np.ptp(part.ratios, axis=0)) < 1e-9


def test_drivers_are_what_an_engineer_expects(piece: Piece) -> None:
    found = {check["name"]: check for check in run_study(piece, 200, 5)["checks"]}
    assert found["rod stress at jacking R1"]["drivers"][0] == {"quantity": "force of R1", "rank_correlation": 1.0}
    assert found["rod force left R1"]["drivers"][0]["quantity"] == "shrinkage"
    assert found["cover R1"]["drivers"][0]["quantity"] == "height of R1"
    assert found["cover R1"]["drivers"][0]["rank_correlation"] < -0.9
    assert found["strength at stressing"]["drivers"][0]["quantity"] == "strength"


def test_chances_follow_the_numbers(piece: Piece) -> None:
    close = parse(
        document(criteria={"cover": 0.875})
    )  # the axis 1.25 in up, the sleeve 0.75 in: half the rods sit lower
    found = {check["name"]: check for check in run_study(close, 200, 5)["checks"]}
    assert found["cover R1"]["chance_of_fail"] == pytest.approx(0.5, abs=0.03)
    assert found["cover R1"]["ratio_low"] < 1 < found["cover R1"]["ratio_high"]


def test_missing_samples_are_refused(piece: Piece) -> None:
    with pytest.raises(ValueError, match="do not fit together"):
        joined([run_part(piece, SIZE, 3, 0, 5), run_part(piece, SIZE, 3, 6, 9)])
    with pytest.raises(ValueError, match="of 60 samples"):
        summary(piece, SIZE, 3, [run_part(piece, SIZE, 3, 0, 5)])
    with pytest.raises(ValueError, match="0 samples"):
        design(piece, 0, 1)


def test_a_piece_without_rods_can_be_studied() -> None:
    bare = parse(document(rods=None, stressing=None))
    assert run_study(bare, 20, 1)["samples"] == 20
