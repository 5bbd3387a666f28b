"""How far two sleeves stay apart. in"""

import numpy as np

from engineering.core.batching import Array
from engineering.core.quantities import Analysis


def sleeve_spacing(analysis: Analysis, number: int) -> tuple[Array, Array, int]:
    """Least clear distance to another sleeve where both run (V,), its x, and the nearest other rod; inf where none
    runs beside it."""
    size, rods = analysis.batch.size, analysis.batch.piece.rods
    least, at, other = np.full(size, np.inf), np.zeros(size), -1
    first = analysis.alike.first  # a station of every section there is
    active, height = analysis.tendons.active[first], analysis.tendons.height_in[:, first]
    for second, rod in enumerate(rods):
        both = active[:, number] & active[:, second]
        if second == number or not both.any():
            continue
        across = analysis.batch.rods.across_in[:, second] - analysis.batch.rods.across_in[:, number]
        up = height[:, both, second] - height[:, both, number]
        gap = np.hypot(across[:, None], up) - 0.5 * (
            rod.sleeve.outside_in + rods[number].sleeve.outside_in
        )
        nearest = gap.argmin(axis=1)
        here = gap.min(axis=1)
        if float(here[0]) < float(least[0]):
            other = second
        at = np.where(here < least, analysis.grid.x_in[first[both]][nearest], at)
        least = np.minimum(here, least)
    return least, at, other
