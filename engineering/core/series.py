"""The curves of a result, at nominal force (`load_test.curve` comes from the load-to-failure analysis)."""

import numpy as np

from engineering.core.batching import NOMINAL, Array
from engineering.core.contract.results import Series
from engineering.core.quantities import STAGES, Analysis, Flags

MOMENTS = ("dead", "service_max", "service_min", "factored_max", "factored_min", "secondary")
SHEARS = ("dead", "service_max", "service_min", "factored_max")
FACES = ("top", "top_min", "bottom", "bottom_min")


def series(analysis: Analysis) -> dict[str, Series]:
    """Moments, shears, stresses and rod forces along x; rod forces and crown in time; side bow turn by turn."""
    return {**_along(analysis), **_in_time(analysis)}


def _along(analysis: Analysis) -> dict[str, Series]:
    """The curves along the piece: loads everywhere, stresses where they are taken, each rod between its anchors."""
    names = {
        **{f"moment.{name}": "moment" for name in MOMENTS},
        **{f"shear.{name}": "force" for name in SHEARS},
        **{f"stress.{stage}.{face}": "stress" for stage in STAGES for face in FACES},
        **{f"rod.{rod.mark}.force": "force" for rod in analysis.batch.piece.rods},
    }
    x, tendons = analysis.grid.x_in, analysis.tendons
    stresses = analysis.stresses.nominal_faces.reshape(-1, len(x))
    of_loads, of_stresses = len(MOMENTS) + len(SHEARS), len(stresses)
    values, where = np.empty((len(names), len(x))), np.ones((len(names), len(x)), bool)
    values[:of_loads] = _of_loads(analysis)
    values[of_loads : of_loads + of_stresses] = stresses
    values[of_loads + of_stresses :] = tendons.transfer_profile_lbf[NOMINAL].T
    where[of_loads : of_loads + of_stresses] = analysis.grid.in_figures
    where[of_loads + of_stresses :] = tendons.active.T
    points = zip(names.items(), curves(x, values, where), strict=True)
    return {name: Series(at, line, quantity) for (name, quantity), (at, line) in points}


def _of_loads(analysis: Analysis) -> list[Array]:
    """In the order of `MOMENTS` and `SHEARS`, each (S,)."""
    loading = analysis.loading
    shear = loading.dead_shear[NOMINAL]
    return [
        loading.dead_moment[NOMINAL],
        loading.service_max[NOMINAL],
        loading.service_min[NOMINAL],
        loading.factored_max[NOMINAL],
        loading.factored_min[NOMINAL],
        analysis.secondary_at_transfer[NOMINAL],
        shear,
        shear + loading.live_shear_max[NOMINAL],
        shear + loading.live_shear_min[NOMINAL],
        loading.factored_shear[NOMINAL],
    ]


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


def curves(x_in: Array, values: Array, where: Flags) -> list[tuple[list[float], list[float]]]:
    """Points (x, y) of curves (n, S), each over its own stations `where` (n, S): two where it jumps, one elsewhere."""
    size = np.maximum.reduce(np.abs(values), 1, keepdims=True, where=where, initial=0.0)
    moved = x_in[1:] - x_in[:-1] > 1e-9 * x_in[-1]
    jumps = np.abs(values[:, 1:] - values[:, :-1]) > 1e-9 * (size + 1e-300)
    own = where.copy()
    own[:, 1:] &= moved | jumps | ~where[:, :-1]
    y, start, found = values[own].tolist(), 0, []
    places: dict[bytes, list[float]] = {}  # most curves have their points at the same x
    for here in own:
        key = here.tobytes()
        if key not in places:
            places[key] = x_in[here].tolist()
        stop = start + len(places[key])
        found.append((places[key], y[start:stop]))
        start = stop
    return found
