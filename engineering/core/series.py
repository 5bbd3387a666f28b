"""The curves of a result, at nominal force (`load_test.curve` comes from the load-to-failure analysis)."""

import numpy as np

from engineering.core.batching import NOMINAL, Array
from engineering.core.contract.results import Series
from engineering.core.quantities import STAGES, Analysis, Flags


def series(analysis: Analysis) -> dict[str, Series]:
    """Moments, shears, stresses and rod forces along x; rod forces and crown in time; side bow turn by turn."""
    return {**_along(analysis), **_stresses(analysis), **_rods(analysis), **_in_time(analysis)}


def _along(analysis: Analysis) -> dict[str, Series]:
    loading, everywhere = analysis.loading, np.ones(len(analysis.grid.x_in), bool)
    moments = {
        "moment.dead": loading.dead_moment,
        "moment.service_max": loading.service_max,
        "moment.service_min": loading.service_min,
        "moment.factored_max": loading.factored_max,
        "moment.factored_min": loading.factored_min,
        "moment.secondary": analysis.secondary_moment(analysis.tendons.transfer_lbf),
    }
    shears = {
        "shear.dead": loading.dead_shear,
        "shear.service_max": loading.dead_shear + loading.live_shear_max,
        "shear.service_min": loading.dead_shear + loading.live_shear_min,
        "shear.factored_max": loading.factored_shear,
    }
    return {
        **_nominal_curves(analysis, moments, everywhere, "moment"),
        **_nominal_curves(analysis, shears, everywhere, "force"),
    }


def _nominal_curves(analysis: Analysis, values: dict[str, Array], where: Flags, quantity: str) -> dict[str, Series]:
    """Curves of values (V, S) at nominal force."""
    found = curves(analysis.grid.x_in, np.array([one[NOMINAL] for one in values.values()]), where, quantity)
    return dict(zip(values, found, strict=True))


def _stresses(analysis: Analysis) -> dict[str, Series]:
    lines = [f"stress.{stage}.{face}" for stage in STAGES for face in ("top", "top_min", "bottom", "bottom_min")]
    rows = analysis.stresses.faces_of(NOMINAL).reshape(len(lines), -1)
    return dict(zip(lines, curves(analysis.grid.x_in, rows, analysis.grid.in_figures, "stress"), strict=True))


def _rods(analysis: Analysis) -> dict[str, Series]:
    tendons, x = analysis.tendons, analysis.grid.x_in
    profile = tendons.transfer_profile_lbf[NOMINAL]
    return {
        f"rod.{rod.mark}.force": curves(x, profile[None, :, k], tendons.active[:, k], "force")[0]
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


def curves(x_in: Array, values: Array, where: Flags, quantity: str) -> list[Series]:
    """Curves along the piece of values (n, S): two points where one jumps, one elsewhere."""
    x, y = x_in[where], values[:, where]
    own = np.ones(y.shape, bool)
    jump = 1e-9 * (np.abs(y).max(axis=1, keepdims=True, initial=0.0) + 1e-300)
    own[:, 1:] = (x[1:] - x[:-1] > 1e-9 * x_in[-1]) | (np.abs(y[:, 1:] - y[:, :-1]) > jump)
    places: dict[bytes, list[float]] = {}  # most curves have their points at the same x
    found = []
    for line, here in zip(y, own, strict=True):
        key = here.tobytes()
        if key not in places:
            places[key] = x[here].tolist()
        found.append(Series(places[key], line[here].tolist(), quantity))
    return found
