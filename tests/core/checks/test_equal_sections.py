"""Where two sections are alike but for rounding, the first governs: a result must not hang on the last digit."""

import numpy as np

from engineering.core.analysis import analyse
from engineering.core.batching import first_of_equals
from engineering.core.checks.flexure import after_first_crack
from engineering.core.checks.reading import Reading
from engineering.core.contract import parse
from engineering.core.studies import Tolerances, design, sampled
from tests.core.checks.variety import VARIETY


def test_of_equals_the_first_is_taken_and_a_greater_one_still_wins() -> None:
    values = np.array([[1.0, 2.0, 2.0 * (1 + 1e-13)], [-2.0, -1.0 * (1 + 1e-13), -1.0], [1.0, 2.0, 2.001]])
    assert first_of_equals(values).tolist() == [1, 1, 2]


def test_a_symmetric_piece_is_looked_at_in_its_left_half() -> None:
    """Every sample is the same from both ends, so each section of the right half has an equal in the left one."""
    piece = parse(VARIETY["three supports, off level"])
    reading = Reading(analyse(sampled(piece, design(piece, 60, 3), Tolerances())))
    at = after_first_crack(reading)[0].at_in
    assert at is not None
    assert at.max() <= 0.5 * piece.length_in
