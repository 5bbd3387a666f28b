"""Lateral bow while tightening: the side deflection, by the rods alone, over the chord of the outer supports."""

import numpy as np

from engineering.core.batching import Array, Batch, greatest_along
from engineering.core.quantities import Grid, Tendons
from engineering.core.stresses import Corners


def lateral_bow(batch: Batch, grid: Grid, rise: Array, unit: Corners, tendons: Tendons) -> tuple[Array, Array]:
    """Greatest side bow between the outer supports after each turn (V, G), absolute, at the modulus at stressing; and
    its x. rise (S, S): `grid.deflection_matrix` over the outer supports."""
    if not tendons.turns:
        none = np.zeros((batch.size, 0))
        return none, none
    first, last = batch.piece.supports[0].at_in, batch.piece.supports[-1].at_in
    between = np.flatnonzero((grid.x_in >= first) & (grid.x_in <= last) & (np.arange(len(grid.x_in)) % 3 < 2))
    side = np.matmul(unit.rods[2], rise[between].T).swapaxes(0, 1)  # (V or 1, R, points)
    bow = np.abs(np.matmul(tendons.turn_lbf, side)) / batch.concrete.modulus_at_stressing_psi[:, None, None]
    found, at = greatest_along(bow)
    return found, grid.x_in[between][at]
