"""The curves of a result, at nominal force (`load_test.curve` comes from the load-to-failure analysis)."""

import numpy as np

from engineering.core.batching import NOMINAL, Array
from engineering.core.contract.results import Series
from engineering.core.figures import STAGES
from engineering.core.quantities import Analysis, Flags


def series(analysis: Analysis) -> dict[str, Series]:
    """Moments, shears, stresses and rod forces along x; rod forces and crown in time; side bow turn by turn."""
    return {**_along(analysis), **_stresses(analysis), **_rods(analysis), **_in_time(analysis)}


def _along(analysis: Analysis) -> dict[str, Series]:
    loading, everywhere = analysis.loading, np.ones(len(analysis.grid.x_in), bool)
    secondary = analysis.secondary_moment(analysis.tendons.transfer_lbf)
    curves = {
        "moment.dead": loading.dead_moment,
        "moment.service_max": loading.service_max,
        "moment.service_min": loading.service_min,
        "moment.factored_max": loading.factored_max,
        "moment.factored_min": loading.factored_min,
        "moment.secondary": secondary,
        "shear.dead": loading.dead_shear,
        "shear.service_max": loading.dead_shear + loading.live_shear_max,
        "shear.service_min": loading.dead_shear + loading.live_shear_min,
        "shear.factored_max": loading.factored_shear,
    }
    return {
        name: curve(analysis.grid.x_in, values[NOMINAL], everywhere, "moment" if name.startswith("moment") else "force")
        for name, values in curves.items()
    }


def _stresses(analysis: Analysis) -> dict[str, Series]:
    found = {}
    for stage in STAGES:
        extremes = getattr(analysis.stresses, stage)
        for face in ("top", "bottom"):
            for suffix, name in (("", "max"), ("_min", "min")):
                values = getattr(extremes, f"{face}_{name}")[NOMINAL]
                found[f"stress.{stage}.{face}{suffix}"] = curve(
                    analysis.grid.x_in, values, analysis.grid.in_figures, "stress"
                )
    return found


def _rods(analysis: Analysis) -> dict[str, Series]:
    tendons, x = analysis.tendons, analysis.grid.x_in
    profile = tendons.transfer_profile_lbf[NOMINAL]
    return {
        f"rod.{rod.mark}.force": curve(x, profile[:, k], tendons.active[:, k], "force")
        for k, rod in enumerate(analysis.batch.piece.rods)
    }


def _in_time(analysis: Analysis) -> dict[str, Series]:
    time, ages = analysis.time, analysis.time.ages_days.tolist()
    found = {
        f"rod.{rod.mark}.force_in_time": Series(ages, time.force_lbf[NOMINAL, :, k].tolist(), "force", "age")
        for k, rod in enumerate(analysis.batch.piece.rods)
    }
    found["crown_in_time"] = Series(ages, time.crown_in[NOMINAL].tolist(), "length", "age")
    bow = analysis.deflections.lateral[NOMINAL].tolist()
    found["bow.lateral"] = Series(list(range(1, len(bow) + 1)), bow, "length", "number")
    return found


def curve(x_in: Array, values: Array, where: Flags, quantity: str) -> Series:
    """A curve along the piece: two points where it jumps, one elsewhere."""
    x, y = x_in[where], values[where]
    if not len(x):
        return Series([], [], quantity)
    own = np.ones(len(x), bool)
    own[1:] = (x[1:] - x[:-1] > 1e-9 * x_in[-1]) | (np.abs(y[1:] - y[:-1]) > 1e-9 * (np.abs(y).max() + 1e-300))
    return Series(x[own].tolist(), y[own].tolist(), quantity)
