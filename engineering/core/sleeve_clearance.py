"""How much concrete a sleeve has around it along its way, and how far two sleeves stay apart. in"""

import numpy as np

from engineering.core.anchor_faces import face_rings
from engineering.core.batching import Array
from engineering.core.clearances import edge_distance
from engineering.core.quantities import Analysis


def sleeve_cover(analysis: Analysis, number: int) -> tuple[Array, Array]:
    """Least distance from the sleeve of a rod to any face or core of the zones it runs through, and its x (V,).

    Taken at every station between the anchor faces, on both sides of a zone's end; negative in foam or outside.
    """
    size, active = analysis.batch.size, analysis.tendons.active[:, number]
    least, at = np.full(size, np.inf), np.zeros(size)
    across = np.broadcast_to(analysis.batch.rods.across_in[:, number], (size,))
    radius = 0.5 * analysis.batch.piece.rods[number].sleeve.outside_in
    for zone in range(len(analysis.batch.piece.zones)):
        stations = np.flatnonzero(active & (analysis.grid.zone == zone))
        if not stations.size:
            continue
        level = analysis.tendons.height_in[:, stations, number]
        if np.ptp(level, axis=1).max() < 1e-12:
            stations, level = stations[:1], level[:, :1]
        rings = [(sign, points[:, None]) for sign, points in face_rings(analysis, zone)]
        gap = edge_distance(rings, np.broadcast_to(across[:, None], level.shape), level) - radius
        nearest = gap.argmin(axis=1)
        here = gap[np.arange(size), nearest]
        at = np.where(here < least, analysis.grid.x_in[stations[nearest]], at)
        least = np.minimum(here, least)
    return least, at


def sleeve_spacing(analysis: Analysis, number: int) -> tuple[Array, Array, int]:
    """Least clear distance to another sleeve where both run (V,), its x, and the nearest other rod; inf where none
    runs beside it."""
    size, rods = analysis.batch.size, analysis.batch.piece.rods
    least, at, other = np.full(size, np.inf), np.zeros(size), -1
    for second, rod in enumerate(rods):
        both = analysis.tendons.active[:, number] & analysis.tendons.active[:, second]
        if second == number or not both.any():
            continue
        across = analysis.batch.rods.across_in[:, second] - analysis.batch.rods.across_in[:, number]
        up = analysis.tendons.height_in[:, both, second] - analysis.tendons.height_in[:, both, number]
        gap = np.hypot(np.broadcast_to(across, (size,))[:, None], up) - 0.5 * (
            rod.sleeve.outside_in + rods[number].sleeve.outside_in
        )
        nearest = gap.argmin(axis=1)
        here = gap[np.arange(size), nearest]
        if float(here[0]) < float(least[0]):
            other = second
        at = np.where(here < least, analysis.grid.x_in[both][nearest], at)
        least = np.minimum(here, least)
    return least, at, other
