"""Standard pieces: a template with a few measures that may vary, and every point of a grid over their limits checked.

A point is a whole document, read by `parse` and judged like a check run. What lies between two points is not proven:
a piece that is made has a check run of its own.
"""

import copy
import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from engineering.core import preview
from engineering.core.contract import Piece, SpecificationRefused, parse
from engineering.core.contract.units import QUANTITIES
from engineering.core.drafts import Document, changed, deeper, read, tidy, written

FORMAT = "standard-piece/1"
MOST_POINTS = 1_000
MOST_SHOWN = 12
BADNESS = ("pass", "review", "fail", "refused")


@dataclass(frozen=True)
class Measure:
    """What may vary. of: its value in a piece. set_to: the document with this value, both in the engine's units."""

    words: str
    quantity: str
    of: Callable[[Piece], float]
    set_to: Callable[[Document, float], Document]


@dataclass(frozen=True)
class Limit:
    """One measure from low to high, in the engine's units."""

    measure: str
    low: float
    high: float

    def to_json(self) -> dict[str, Any]:
        return {"measure": self.measure, "low": self.low, "high": self.high}

    @classmethod
    def from_json(cls, given: Mapping[str, Any]) -> "Limit":
        if given.get("measure") not in MEASURES:
            raise ValueError(f"{str(given.get('measure'))[:40]} is no measure of a standard piece")
        low, high = float(given["low"]), float(given["high"])
        if not (np.isfinite(low) and np.isfinite(high) and low <= high):
            raise ValueError(f"the limits of the {MEASURES[given['measure']].words} should rise")
        return cls(given["measure"], low, high)


def stretched(document: Document, at_in: float, by_in: float) -> Document:
    """Every x beyond `at_in` moved by so much; one right at it half as far. Zones, supports, loads, rods, lift points.

    Raises ValueError where something beyond would come to lie before it.
    """
    found = copy.deepcopy(document)
    units = found["units"]

    def moved(x_in: float) -> float:
        if abs(x_in - at_in) < 1e-6:
            return x_in + by_in / 2
        if x_in > at_in and x_in + by_in <= at_in:
            raise ValueError("the piece cannot be made as much shorter")
        return x_in + by_in if x_in > at_in else x_in

    changed(found, "length", "length", units, moved)
    for zone in found["zones"]:
        changed(zone, "to", "length", units, moved)
    for support in found["supports"]:
        changed(support, "at", "length", units, moved)
    for load in found.get("loads", []):
        for key in ("from", "to", "at"):
            if load.get(key) != "anywhere":
                changed(load, key, "length", units, moved)
    for rod in found.get("rods", []):
        for point in rod.get("profile", []):
            point[0] = written(moved(read(point[0], "length", units)), "length", units)
    lifted = found.get("handling", {})
    if "lift_points" in lifted:
        places = (moved(read(x, "length", units)) for x in lifted["lift_points"])
        lifted["lift_points"] = [written(x, "length", units) for x in places]
    return found


def _longer(document: Document, length_in: float) -> Document:
    """The longest span stretched in its middle until the whole piece is so long; overhangs stay."""
    piece = parse(document)
    spans = list(itertools.pairwise(support.at_in for support in piece.supports))
    left, right = max(spans, key=lambda ends: ends[1] - ends[0])
    return stretched(document, 0.5 * (left + right), length_in - piece.length_in)


def _overhang(document: Document, overhang_in: float) -> Document:
    """What reaches past the last support made so long; the spans stay."""
    piece = parse(document)
    last = piece.supports[-1]
    past = last.at_in + last.bearing_in / 2 + 1e-3
    return stretched(document, past, overhang_in - (piece.length_in - last.at_in))


def _crowded(document: Document, load_psf: float) -> Document:
    found = copy.deepcopy(document)
    for load in found.get("loads", []):
        if load["case"] == "live" and load["type"] == "area":
            changed(load, "value", "area load", found["units"], lambda _: load_psf)
    return found


def _live_load(piece: Piece) -> float:
    return max((load.value for load in piece.loads if load.case == "live" and load.kind == "area"), default=0.0)


def _depth(piece: Piece) -> float:
    return max(zone.depth_in for zone in piece.zones)


MEASURES: dict[str, Measure] = {  # in the order in which they are set
    "depth": Measure("depth", "length", _depth, lambda doc, d: deeper(doc, d - _depth(parse(doc)))),
    "cantilever": Measure(
        "overhang past the last support", "length", lambda p: p.length_in - p.supports[-1].at_in, _overhang
    ),
    "length": Measure("length", "length", lambda p: p.length_in, _longer),
    "live load": Measure("live load", "area load", _live_load, _crowded),
}


def varied(document: Document, values: Mapping[str, float]) -> Document:
    """The template with these measures, engine's units. Raises ValueError or SpecificationRefused where none can be."""
    found = document
    units = str(document["units"])
    for name, measure in MEASURES.items():
        if name in values:
            found = measure.set_to(found, tidy(values[name], measure.quantity, units))
    parse(found)
    return found


def outside(limits: Sequence[Limit], values: Mapping[str, float]) -> list[tuple[Limit, float]]:
    """Limits that these values break, with the value. Every measure of the limits must be there: KeyError."""
    slack = 1e-6
    return [
        (one, values[one.measure])
        for one in limits
        if not one.low * (1 - slack) - slack <= values[one.measure] <= one.high * (1 + slack) + slack
    ]


def points(limits: Sequence[Limit], steps: int) -> list[dict[str, float]]:
    """All combinations of so many even steps of each measure, both ends among them. ValueError: none or too many."""
    names = [one.measure for one in limits]
    if not names or len(set(names)) != len(names) or not 2 <= steps <= 9:
        raise ValueError("a standard piece has each of its measures once, and 2 to 9 steps of each")
    grids = [np.linspace(one.low, one.high, steps if one.high > one.low else 1) for one in limits]
    count = int(np.prod([len(grid) for grid in grids]))
    if count > MOST_POINTS:
        raise ValueError(f"{count} combinations; {MOST_POINTS} at most are checked. Take fewer steps")
    return [dict(zip(names, map(float, combination), strict=True)) for combination in itertools.product(*grids)]


def checked(document: Document, values: Mapping[str, float]) -> dict[str, Any]:
    """One point: values, verdict (refused: no such piece can be), worst ratio and its check."""
    try:
        seen = preview.preview(varied(document, values))
    except (ValueError, SpecificationRefused) as refusal:
        return {"values": dict(values), "verdict": "refused", "ratio": None, "by": " ".join(str(refusal).split())[:200]}
    worst = next(figure for figure in seen["figures"] if figure["name"] == "worst ratio")
    by = ", ".join(check["name"] for check in seen["checks"][:3]) or worst["note"]
    return {"values": dict(values), "verdict": seen["verdict"], "ratio": worst["value"], "by": by}


def report(document: Document, limits: Sequence[Limit], rows: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The answer: how many points pass, the worst of them, those that do not. `holds`: every point passes."""
    units = str(document["units"])
    rank = [(BADNESS.index(row["verdict"]), row["ratio"] if row["ratio"] is not None else 1e9) for row in rows]
    order = sorted(range(len(rows)), key=lambda k: rank[k], reverse=True)
    passing = sum(row["verdict"] == "pass" for row in rows)
    return {
        "format": FORMAT,
        "units": units,
        "limits": [one.to_json() for one in limits],
        "points": len(rows),
        "passing": passing,
        "holds": passing == len(rows),
        "worst": [_shown(rows[k], units) for k in order[: MOST_SHOWN if passing < len(rows) else 3]],
    }


def _shown(row: Mapping[str, Any], units: str) -> dict[str, Any]:
    """A point with its values in the document's units."""
    kinds = {name: QUANTITIES[MEASURES[name].quantity] for name in row["values"]}
    shown = {name: float(f"{kinds[name].from_us(value, units):.6g}") for name, value in row["values"].items()}
    return {**row, "shown": shown}
