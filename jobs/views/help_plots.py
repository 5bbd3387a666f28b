"""Plots of design help as plain shapes in a box, drawn by a template. Nothing is calculated here but the scale."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

WIDTH, HEIGHT, LEFT, BOTTOM, TOP, RIGHT = 640.0, 320.0, 64.0, 44.0, 14.0, 18.0


@dataclass
class Shape:
    """kind: rect, line, dot. words: read out, and shown on pointing."""

    kind: str
    css: str
    words: str
    x: float
    y: float
    width: float = 0.0
    height: float = 0.0


@dataclass
class Plot:
    key: str
    title: str
    x_label: str
    y_label: str
    words: str  # what there is to see, for those who do not
    shapes: list[Shape] = field(default_factory=list)
    x_ticks: list[tuple[float, str]] = field(default_factory=list)
    y_ticks: list[tuple[float, str]] = field(default_factory=list)
    path: str = ""
    second_path: str = ""

    width, height, left, top = WIDTH, HEIGHT, LEFT, TOP
    bottom, right = HEIGHT - BOTTOM, WIDTH - RIGHT


@dataclass
class Scale:
    """A linear scale over values, with round ticks."""

    low: float
    high: float
    start: float
    stop: float

    def at(self, value: float) -> float:
        span = self.high - self.low or 1.0
        return round(self.start + (value - self.low) / span * (self.stop - self.start), 2)

    def ticks(self) -> list[tuple[float, str]]:
        rough = (self.high - self.low or 1.0) / 5
        size = 10.0 ** math.floor(math.log10(rough))
        step = next(size * k for k in (1, 2, 5, 10) if size * k >= rough)
        first = math.ceil(self.low / step - 1e-9)
        count = int((self.high - first * step) / step + 1e-9) + 1
        places = max(0, -math.floor(math.log10(step)))
        return [(self.at((first + k) * step), f"{(first + k) * step:,.{places}f}") for k in range(count)]


def across(low: float, high: float) -> Scale:
    return Scale(low, high, LEFT, WIDTH - RIGHT)


def upward(low: float, high: float) -> Scale:
    return Scale(low, high, HEIGHT - BOTTOM, TOP)


def plots_of(kind: str, result: dict[str, Any]) -> list[Plot]:
    """The plots of a finished study."""
    if kind == "find-rods":
        return [plot for name in ("steel", "force") if (plot := _trade_off(result, name)) is not None]
    if kind == "region":
        return [_region(result)]
    return [_in_time(result)] if kind == "re-tightening" else []


def _trade_off(result: dict[str, Any], name: str) -> Plot | None:
    """Steel or force against the worst ratio: each dot is beaten by no other design in both."""
    designs = result["fronts"][name]
    if len(designs) < 2:
        return None
    unit, what = result["unit"][name], {"steel": "Steel", "force": "Total force"}[name]
    xs, ys = [one[name] for one in designs], [one["margin"] for one in designs]
    x, y = across(0.95 * min(xs), 1.05 * max(xs)), upward(0.9 * min(ys), max(1.05 * max(ys), 1.02))
    plot = Plot(
        f"trade-off-{name}",
        f"{what} against margin",
        f"{what.lower()}, {unit}",
        "worst ratio",
        f"{len(designs)} designs: less {what.lower()} costs margin. From {min(xs):,.0f} {unit} at a worst ratio of "
        f"{max(ys):.2f} to {max(xs):,.0f} {unit} at {min(ys):.2f}.",
        x_ticks=x.ticks(),
        y_ticks=y.ticks(),
    )
    for one in designs:
        words = f"{one['number']} × {one['thread']} {one['grade']}: {one[name]:,.0f} {unit}, ratio {one['margin']:.3f}"
        plot.shapes.append(Shape("dot", "dot", words, x.at(one[name]), y.at(one["margin"])))
    return plot


def _region(result: dict[str, Any]) -> Plot:
    present, force, height = result["present"], result["unit"]["force"], result["unit"]["height"]
    heights, rows = result["heights"], result["region"] + result["without_scatter"]
    most = max([present["high"], *(row["to"] for row in rows)])
    x, y = across(0.0, 1.08 * min(most, result["largest"])), upward(min(heights), max(heights))
    thick = abs(y.at(heights[1]) - y.at(heights[0])) if len(heights) > 1 else 10.0
    plot = Plot(
        "region",
        "Where the stress checks hold",
        f"total force at jacking, {force}",
        f"height of the rods, {height}",
        f"The present design, {present['force']:,.0f} {force} at {present['height']:.3g} {height}, lies "
        f"{'inside' if present['holds'] else 'outside'}; its band of scatter runs from {present['low']:,.0f} to "
        f"{present['high']:,.0f} {force}.",
        x_ticks=x.ticks(),
        y_ticks=y.ticks(),
    )
    for css, name in (("bare", "without_scatter"), ("held", "region")):
        for row in result[name]:
            left, right = x.at(row["from"]), x.at(min(row["to"], x.high))
            ends = " and ".join(check for check in (row["from_check"], row["to_check"]) if check)
            words = f"{row['height']:.3g} {height}: {row['from']:,.0f} to {row['to']:,.0f} {force}; ended by {ends}"
            box = Shape("rect", css, words, left, round(y.at(row["height"]) - thick / 2, 2), right - left, thick)
            plot.shapes.append(box)
    level = y.at(present["height"])
    band = f"the present design with its scatter, {present['low']:,.0f} to {present['high']:,.0f} {force}"
    plot.shapes.append(
        Shape("line", "band", band, x.at(present["low"]), level, x.at(min(present["high"], x.high)), level)
    )
    plot.shapes.append(Shape("dot", "now", "the present design", x.at(present["force"]), level))
    if result["rods"]["force"] < x.high:
        limit = x.at(result["rods"]["force"])
        plot.shapes.append(Shape("line", "limit", "all the rods take", limit, TOP, limit, HEIGHT - BOTTOM))
    return plot


def _in_time(result: dict[str, Any]) -> Plot:
    """Total force over age, ages as logarithms, with and without visits, over the need."""
    with_plan, without = result["with"], result["without"]
    ages = [math.log10(age) for age in (*with_plan["age"], *without["age"])]
    need = result["need"]["force"]
    x = across(min(ages), max(ages))
    y = upward(0.0, 1.05 * max([need, *with_plan["force"], *without["force"]]))
    unit = result["unit"]["force"]
    plot = Plot(
        "in-time",
        "Force in time",
        "age, days",
        f"total force, {unit}",
        f"Service needs {need:,.0f} {unit}. At the end of life {result['left']:,.0f} {unit} are left with the visits, "
        f"{result['left_without_visits']:,.0f} {unit} without.",
        y_ticks=y.ticks(),
    )
    marks = (7, 14, 28, 90, 365, 1_000, 3_650, 10_000, 18_262)
    plot.x_ticks = [(x.at(math.log10(d)), f"{d:,}") for d in marks if x.low <= math.log10(d) <= x.high]
    plot.shapes.append(Shape("line", "limit", "what service needs", LEFT, y.at(need), WIDTH - RIGHT, y.at(need)))
    plot.path, plot.second_path = _path(with_plan, x, y), _path(without, x, y)
    return plot


def _path(course: dict[str, Any], x: Scale, y: Scale) -> str:
    points = [f"{x.at(math.log10(age))},{y.at(f)}" for age, f in zip(course["age"], course["force"], strict=True)]
    return " ".join(points)
