"""How far two sleeves stay apart. in"""

from itertools import combinations
from typing import NamedTuple

import numpy as np

from engineering.core.batching import Array
from engineering.core.quantities import Analysis


class Spacing(NamedTuple):
    """Least clear distance of a sleeve to another where both run and its x (V,), inf where none runs beside it; the
    nearest other rod in the first variant, -1 without one."""

    clear_in: Array
    at_in: Array
    other: int

    def or_nearer(self, clear_in: Array, at_in: Array, other: int) -> "Spacing":
        nearer = clear_in < self.clear_in
        return Spacing(
            np.minimum(clear_in, self.clear_in),
            np.where(nearer, at_in, self.at_in),
            other if nearer[0] else self.other,
        )


def sleeve_spacings(analysis: Analysis) -> list[Spacing]:
    """Of every rod."""
    size, rods, across = analysis.batch.size, analysis.batch.piece.rods, analysis.batch.rods.across_in
    found = [Spacing(np.full(size, np.inf), np.zeros(size), -1) for _ in rods]
    first = analysis.alike.first  # a station of every section there is
    active, height, x = analysis.tendons.active[first], analysis.tendons.height_in[:, first], analysis.grid.x_in[first]
    for one, other in combinations(range(len(rods)), 2):
        both = np.flatnonzero(active[:, one] & active[:, other])
        if not both.size:
            continue
        up = height[:, both, other] - height[:, both, one]
        apart = np.hypot((across[:, other] - across[:, one])[:, None], up)
        nearest = apart.argmin(axis=1)
        clear = apart[np.arange(size), nearest] - 0.5 * (rods[one].sleeve.outside_in + rods[other].sleeve.outside_in)
        at = x[both[nearest]]
        found[one], found[other] = (
            found[rod].or_nearer(clear, at, beside) for rod, beside in ((one, other), (other, one))
        )
    return found
