"""Which plots a result gives, and what the floor measured. Nothing is calculated but a percentage."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from engineering.core.contract.units import QUANTITIES
from reports.plots import Curve, Level, Plot, Spot
from reports.words import number_text

Result = Mapping[str, Any]

# Stage, its name, and the checks whose capacities are its limits: in tension, in compression.
STAGES = (
    ("transfer", "Stress just after stressing", "transfer tension", "transfer compression"),
    ("service_early", "Stress under full load, early", "tension under full load", "compression under full load"),
    ("service_final", "Stress under full load, end of life", "tension under full load", "compression under full load"),
    (
        "sustained_final",
        "Stress under sustained load, end of life",
        "tension under sustained load",
        "compression under sustained load",
    ),
)
FACES = (
    ("top", "top, greatest"),
    ("top_min", "top, least"),
    ("bottom", "bottom, greatest"),
    ("bottom_min", "bottom, least"),
)
NOMINAL = (
    "Curves are at nominal rod force; the diamonds are the worst of the five variants of force, as the checks take it."
)
LOADS = (
    ("first crack", "first_crack"),
    ("a rod yields", "yield"),
    ("peak", "peak"),
    ("lower bound for shear", "shear_bound"),
)


def result_plots(result: Result) -> list[Plot]:
    """Stress at every stage, moments, rod force and crown in time, load to failure: as far as the result has them."""
    found = [_stress(result, *stage) for stage in STAGES]
    found += [_moments(result), _forces_in_time(result), _crown_in_time(result), load_curve(result)]
    return [plot for plot in found if plot is not None]


def _series(result: Result, name: str) -> Mapping[str, Any]:
    return (result.get("series") or {}).get(name) or {"x": [], "y": [], "unit": ""}


def _along(result: Result) -> str:
    return f"x from the left end, {'mm' if result['units'] == 'si' else 'in'}"


def _stress(result: Result, stage: str, title: str, tension: str, compression: str) -> Plot | None:
    curves = []
    for number, (key, name) in enumerate(FACES):
        series = _series(result, f"stress.{stage}.{key}")
        curves.append(Curve(name, series["x"], series["y"], colour=number // 2, dash=number))
    unit = str(_series(result, f"stress.{stage}.top")["unit"])
    if not any(len(curve.x) > 1 for curve in curves):
        return None
    levels, spots = [], []
    for name, word, sign in ((tension, "tension", 1.0), (compression, "compression", -1.0)):
        check = next((c for c in result["checks"] if c["name"] == name and c.get("unit") == unit), None)
        if check is None or check.get("capacity") is None:
            continue
        levels.append(Level(f"limit in {word}", sign * check["capacity"]))
        if check.get("at") is not None and check.get("demand"):
            spots.append(Spot("worst of the variants", check["at"], sign * check["demand"]))
    return Plot(
        f"stress-{stage.replace('_', '-')}",
        title,
        _along(result),
        f"{unit}, tension +" if unit else "tension +",
        tuple(curves),
        tuple(levels),
        tuple(spots),
        note=NOMINAL,
    )


def _moments(result: Result) -> Plot | None:
    names = (
        ("service, greatest", "moment.service_max"),
        ("service, least", "moment.service_min"),
        ("factored, greatest", "moment.factored_max"),
        ("factored, least", "moment.factored_min"),
    )
    curves = [
        Curve(name, _series(result, key)["x"], _series(result, key)["y"], colour=number // 2, dash=number)
        for number, (name, key) in enumerate(names)
    ]
    if not any(len(curve.x) > 1 for curve in curves):
        return None
    unit = next(str(_series(result, key)["unit"]) for _, key in names if _series(result, key)["x"])
    return Plot("moment", "Moment from the loads", _along(result), f"{unit}, sagging +", tuple(curves))


def _forces_in_time(result: Result) -> Plot | None:
    names = [name for name in result.get("series") or {} if name.startswith("rod.") and name.endswith(".force_in_time")]
    # Rods that go the same way are one line under all their marks.
    alike: dict[tuple[Any, ...], list[str]] = {}
    for name in names:
        series = _series(result, name)
        alike.setdefault((tuple(series["x"]), tuple(series["y"])), []).append(name.split(".")[1])
    curves = tuple(Curve(", ".join(marks), x, y) for (x, y), marks in alike.items() if len(x) > 1)
    if not curves:
        return None
    return Plot(
        "rod-force",
        "Rod force in time, mean along the rod",
        "age from casting, by its logarithm (d: days, y: years)",
        str(_series(result, names[0])["unit"]),
        curves,
        ages=True,
    )


def _crown_in_time(result: Result) -> Plot | None:
    series = _series(result, "crown_in_time")
    if len(series["x"]) < 2:
        return None
    return Plot(
        "crown",
        "Crown in time",
        "age from casting, by its logarithm (d: days, y: years)",
        f"{series['unit']}, up +",
        (Curve("crown", series["x"], series["y"]),),
        ages=True,
    )


def load_curve(result: Result, measured: Sequence[tuple[float, float]] = ()) -> Plot | None:
    """Load over deflection to failure; `measured`: (deflection, load) of a test, in the units of the result."""
    series = _series(result, "load_test.curve")
    if len(series["x"]) < 2:
        return None
    figures = result["figures"]
    levels = [
        Level(name, figures[f"load_test.{key}"]["value"])
        for name, key in LOADS
        if figures.get(f"load_test.{key}", {}).get("value") is not None
    ]
    length = "mm" if result["units"] == "si" else "in"
    curves = [Curve("predicted", series["x"], series["y"])]
    if measured:
        curves.append(Curve("measured", [d for d, _ in measured], [load for _, load in measured], dots=True, colour=1))
    return Plot(
        "load-to-failure",
        "Uniform load to failure, besides self weight",
        f"deflection, {length}",
        str(series["unit"]),
        tuple(curves),
        tuple(levels),
    )


def load_test_curve(result: Result, measured: Sequence[tuple[float, float]], full: float | None = None) -> Plot | None:
    """The same curves as far as a test goes: to the load of the plan or of the last reading, whichever is more, and a
    quarter. Its measured points lie at the foot of the whole curve, where nobody can tell them from it.
    """
    plot = load_curve(result, measured)
    if plot is None or not measured:
        return None
    most = 1.25 * max(*(load for _, load in measured), full or 0.0, 0.0)
    predicted, read = plot.curves
    points = list(zip(predicted.x, predicted.y, strict=True))
    end = next((k for k, (_, load) in enumerate(points) if load is not None and load > most), len(points) - 1) + 1
    near = replace(predicted, x=predicted.x[:end], y=predicted.y[:end])
    levels = plot.levels if full is None else (*plot.levels, Level("full load of the plan", full))
    return replace(plot, key="load-test", title="Load test beside the prediction", curves=(near, read), levels=levels)


def stressing_plots(targets: Mapping[str, Any], rows: Sequence[Mapping[str, Any]], units: str) -> list[Plot]:
    """Readings against targets, turn by turn.

    rows: in the order of the turns, {rod, step (from 0), stretch_in, torque_lbf_ft, crown_in}; None where not read.
    """
    turns = [float(n) for n in range(1, len(rows) + 1)]
    if not turns:
        return []
    aims = [(targets["rods"][row["rod"]], targets["steps"][row["step"]]) for row in rows]
    shares = [
        Curve(
            name,
            turns,
            [_percent(row[key], aim[target] * step) for row, (aim, step) in zip(rows, aims, strict=True)],
            dots=True,
            colour=number,
        )
        for number, (name, key, target) in enumerate(
            (("stretch", "stretch_in", "elongation_in"), ("torque", "torque_lbf_ft", "torque_lbf_ft"))
        )
    ]
    note = "Turns in their order: " + ", ".join(
        f"{n} {row['rod']} to {number_text(100 * targets['steps'][row['step']])} %" for n, row in enumerate(rows, 1)
    )
    plots = [
        Plot(
            "readings",
            "Readings in percent of their targets",
            "turn",
            "%",
            tuple(shares),
            (Level("stretch, at most", 107.0), Level("stretch, at least", 93.0)),
            from_zero=False,
            note=note,
        )
    ]
    crown = _crown_readings(targets, rows, turns, units)
    return [*plots, crown] if crown else plots


def _crown_readings(
    targets: Mapping[str, Any], rows: Sequence[Mapping[str, Any]], turns: Sequence[float], units: str
) -> Plot | None:
    length = QUANTITIES["length"]
    read = [None if row["crown_in"] is None else length.from_us(row["crown_in"], units) for row in rows]
    if not any(value is not None for value in read):
        return None
    crown = {key: length.from_us(value, units) for key, value in targets["crown"].items()}
    return Plot(
        "crown-readings",
        "Crown read after each turn",
        "turn",
        f"{length.unit(units)}, up +",
        (Curve("crown", turns, read, dots=True),),
        (
            Level("limit", crown["limit_in"]),
            Level("expected at the end, high", max(crown["low_in"], crown["high_in"])),
            Level("expected at the end, low", min(crown["low_in"], crown["high_in"])),
        ),
    )


def _percent(value: float | None, target: float) -> float | None:
    return None if value is None or not target else 100 * value / target
