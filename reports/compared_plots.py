"""Plots of two results, or of two studies of one kind, over one another. Both keep their own curves; nothing is
calculated. Limits and worst points are left out where the two have their own: they are in the table of checks."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from reports.plot_data import Result, result_plots
from reports.plots import Curve, Level, Plot

FACES = 2  # of a stress plot, where top and bottom alone are compared: more than eight lines cannot be told apart


def compared_results(left: Result, right: Result, names: tuple[str, str]) -> list[Plot]:
    """Each plot that both have, in one unit, with the curves of both; the right one dashed."""
    others = {plot.key: plot for plot in result_plots(right)}
    return [
        _over(plot, others[plot.key], names)
        for plot in result_plots(left)
        if plot.key in others and plot.y_label == others[plot.key].y_label
    ]


def _over(left: Plot, right: Plot, names: tuple[str, str]) -> Plot:
    curves = []
    for side, (plot, name) in enumerate(zip((left, right), names, strict=True)):
        for number, curve in enumerate(_few(plot.curves)):
            curves.append(replace(curve, name=f"{name}: {curve.name}", colour=number, dash=side))
    levels = [level for level in left.levels if level in right.levels]
    own = [
        Level(f"{name}: {level.name}", level.value)
        for plot, name in zip((left, right), names, strict=True)
        for level in plot.levels
        if level not in levels
    ]
    return replace(left, curves=tuple(curves), levels=(*levels, *own), spots=(), note=f"Dashed: {names[1]}.")


def _few(curves: Sequence[Curve]) -> Sequence[Curve]:
    """At most four of one result, so that both fit: of a stress plot the worst side of each face."""
    return curves if len(curves) <= 2 * FACES else curves[: 2 * FACES]


def compared_studies(kind: str, left: Result, right: Result, names: tuple[str, str]) -> list[Plot]:
    """What a kind of study can show in one field; nothing where the two are in different units."""
    if left.get("unit") != right.get("unit"):
        return []
    sides = list(zip((left, right), names, strict=True))
    if kind == "find-rods":
        found = [_front(name, sides) for name in ("steel", "force")]
    elif kind == "region":
        found = [_regions(sides)]
    elif kind == "re-tightening":
        found = [_courses(sides)]
    else:
        found = []
    return [plot for plot in found if plot is not None]


def _front(name: str, sides: Sequence[tuple[Mapping[str, Any], str]]) -> Plot | None:
    curves = [
        Curve(words, [one[name] for one in answer["fronts"][name]], [one["margin"] for one in answer["fronts"][name]],
              dots=True, colour=number, dash=number)
        for number, (answer, words) in enumerate(sides)
    ]  # fmt: skip
    if not any(curve.x for curve in curves):
        return None
    unit, what = sides[0][0]["unit"][name], {"steel": "Steel", "force": "Total force"}[name]
    return Plot(
        f"front-{name}", f"{what} against worst ratio", f"{what.lower()}, {unit}", "worst ratio", tuple(curves),
        (Level("what is allowed", 1.0),), from_zero=False,
    )  # fmt: skip


def _regions(sides: Sequence[tuple[Mapping[str, Any], str]]) -> Plot | None:
    curves = []
    for number, (answer, words) in enumerate(sides):
        rows = answer["region"]
        for end in ("from", "to"):
            heights = [row["height"] for row in rows]
            forces = [row[end] for row in rows]
            curves.append(Curve(f"{words}: {end}", heights, forces, colour=number, dash=number))
        now = answer["present"]
        curves.append(Curve(f"{words}: as it is", [now["height"]], [now["force"]], dots=True, colour=number))
    unit = sides[0][0]["unit"]
    return Plot(
        "regions", "Force that may be at each height", f"height of the rods, {unit['height']}", unit["force"],
        tuple(curves), note="Between “from” and “to” every stress check of the concrete holds, scatter included.",
    )  # fmt: skip


def _courses(sides: Sequence[tuple[Mapping[str, Any], str]]) -> Plot:
    curves, levels = [], []
    for number, (answer, words) in enumerate(sides):
        for key, said in (("with", "with the visits"), ("without", "without")):
            course = answer[key]
            dash = 0 if key == "with" else 1
            curves.append(Curve(f"{words}: {said}", course["age"], course["force"], colour=number, dash=dash))
        levels.append(Level(f"{words}: needed", answer["need"]["force"]))
    unit = sides[0][0]["unit"]["force"]
    return Plot("courses", "Force in time", "age from casting, by its logarithm (d: days, y: years)", unit,
                tuple(curves), tuple(levels), ages=True)  # fmt: skip
