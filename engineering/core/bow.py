"""Lateral bow while tightening: the side deflection, by the rods alone, over the chord of the outer supports."""

import numpy as np

from engineering.core.batching import Array, Batch
from engineering.core.grid import deflection_matrix
from engineering.core.quantities import Grid, Properties, Tendons
from engineering.core.tendons import RodMoments, bending


def lateral_bow(
    batch: Batch, grid: Grid, net: Properties, moments: RodMoments, tendons: Tendons
) -> tuple[Array, Array]:
    """Greatest side bow between the outer supports after each turn (V, G), absolute, at the modulus at stressing;
    and its x."""
    first, last = batch.piece.supports[0].at_in, batch.piece.supports[-1].at_in
    between = np.flatnonzero((grid.x_in >= first) & (grid.x_in <= last))
    rise = deflection_matrix(grid, first, last)[between].T
    _, by_z = bending(net)
    secondary = tendons.secondary[: moments.by_z.shape[0]]
    bent = np.moveaxis(moments.by_z + secondary * by_z[..., None], -1, 1)
    side = np.matmul(bent, rise)  # (V, R, points)
    bow = np.abs(np.matmul(tendons.turn_lbf, side)) / batch.concrete.modulus_at_stressing_psi[:, None, None]
    if not tendons.turns:
        none = np.zeros((batch.size, 0))
        return none, none
    at = bow.argmax(-1)
    return np.take_along_axis(bow, at[..., None], -1)[..., 0], grid.x_in[between][at]
