"""The space the rod finder looks through, cut into layouts: what a batch of the engine can hold side by side.

A layout has one thread, a number of rods and ages of re-stressing; its designs differ in grade, height, spread and
force. Layouts are worked whole and each for itself, so any split over workers gives the same numbers.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from engineering.core.analysis import analyse
from engineering.core.batching import Array, Batch, longest_span, zone_number
from engineering.core.contract import SpecificationRefused, parse
from engineering.core.contract.piece import Grade, Piece, Thread
from engineering.core.contract.units import QUANTITIES, SI
from engineering.core.corrosion import protected
from engineering.core.drafts import Document, RodSet, read, tidy, with_rods
from engineering.core.lanes import lanes, nearest
from engineering.core.shelf import RIM_IN, Shelf, ShelfItem, faces_of, shelf_of
from engineering.core.tables.grades import find_grade
from engineering.core.tables.threads import find_thread
from engineering.core.variants import Numbers

MOST_DESIGNS = 200_000
MOST_HEIGHTS = 12
NEW_STRESSING: Mapping[str, Any] = {"age": 7, "method": "torque"}
SHARES = (0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.75, 0.85)  # of the yield force, while tightening
SPREADS = (0.6, 0.8, 1.0)  # of what the section leaves room for


@dataclass(frozen=True)
class Space:
    """What is looked through. shelf: (thread, grades); heights_in: y of the rods' axes; spreads: share of the room
    between the outermost places; shares: force over the yield force; restress: ages in days, one tuple a choice."""

    shelf: Shelf
    numbers: tuple[int, ...]
    heights_in: tuple[float, ...]
    spreads: tuple[float, ...] = SPREADS
    shares: tuple[float, ...] = SHARES
    restress: tuple[tuple[float, ...], ...] = ((),)

    def to_json(self) -> dict[str, Any]:
        return {
            "shelf": [[thread, list(grades)] for thread, grades in self.shelf],
            "numbers": list(self.numbers),
            "heights_in": list(self.heights_in),
            "spreads": list(self.spreads),
            "shares": list(self.shares),
            "restress": [list(ages) for ages in self.restress],
        }

    @classmethod
    def from_json(cls, document: Mapping[str, Any]) -> "Space":
        return cls(
            tuple((thread, tuple(grades)) for thread, grades in document["shelf"]),
            tuple(int(n) for n in document["numbers"]),
            tuple(float(y) for y in document["heights_in"]),
            tuple(float(s) for s in document["spreads"]),
            tuple(float(s) for s in document["shares"]),
            tuple(tuple(float(age) for age in ages) for ages in document["restress"]),
        )

    @property
    def size(self) -> int:
        """Designs at most; places that leave a rod no concrete fall away."""
        each = len(self.numbers) * len(self.heights_in) * len(self.spreads) * len(self.shares) * len(self.restress)
        return each * sum(len(grades) for _, grades in self.shelf)


def usual_space(piece: Piece, shelf: Shelf | None = None) -> Space:
    """A space that suits a piece: its shelf, up to one rod more than every 6 in, heights in even steps of the depth."""
    items = shelf_of(piece, shelf)
    most = min(6, max(2, len(piece.rods) + 1, round(min(zone.width_in for zone in piece.zones) / 6)))
    start = max(piece.stressing.age_days if piece.stressing else 7.0, 1.0)
    ages = tuple(age for age in (28.0, 90.0) if age > start)
    return Space(
        tuple((item.thread, item.grades) for item in items),
        tuple(range(1, most + 1)),
        heights(piece),
        restress=((), ages) if ages else ((),),
    )


def heights(piece: Piece) -> tuple[float, ...]:
    """Heights a level rod can have all along: in eighths of an inch or 3 mm, thinned to `MOST_HEIGHTS`."""
    start, stop = faces_of(piece)
    crossed = [zone for zone in piece.zones if min(stop, zone.end_in) > max(start, zone.start_in)]
    low, high = max(zone.soffit_in for zone in crossed), min(zone.top_in for zone in crossed)
    step = 3 / 25.4 if piece.units == SI else 0.125
    margin = piece.criteria.cover_in + 0.25
    first, last = int(np.ceil((low + margin) / step - 1e-9)), int(np.floor((high - margin) / step + 1e-9))
    every = max(1, -(-(last - first + 1) // MOST_HEIGHTS))
    return tuple(tidy(k * step, "length", piece.units) for k in range(first, last + 1, every))


@dataclass(frozen=True)
class Layout:
    """One batch's worth. first: number of its first design in the whole space (by the space's own count)."""

    item: int
    grades: tuple[str, ...]  # protected alike against the surroundings
    count: int
    restress: tuple[float, ...]
    first: int


def layouts(piece: Piece, space: Space) -> list[Layout]:
    """All layouts in order. Raises ValueError for a space too large or empty, or a name that is in no table."""
    if not 0 < space.size <= MOST_DESIGNS:
        raise ValueError(f"the search has {space.size} designs; it should be 1 to {MOST_DESIGNS}")
    items = shelf_of(piece, space.shelf)
    found, at = [], 0
    per_grade = len(space.heights_in) * len(space.spreads) * len(space.shares)
    for number, count, ages in itertools.product(range(len(items)), space.numbers, space.restress):
        for grades in _alike(piece, items[number]):
            found.append(Layout(number, grades, count, ages, at))
            at += len(grades) * per_grade
    return found


def _alike(piece: Piece, item: ShelfItem) -> list[tuple[str, ...]]:
    """Grades of an item grouped by what the corrosion check says of them: the one check that knows their names."""
    thread, groups = _thread(item.thread), dict[bool, list[str]]()
    coating = str(item.like.get("coating", "plain"))
    for name in item.grades:
        grade = _grade(name, thread)
        fit, _ = protected(piece.environment.exposure, coating, name, grade.stainless, grade.ultimate_psi)
        groups.setdefault(fit, []).append(name)
    return [tuple(names) for names in groups.values()]


def _thread(name: str) -> Thread:
    thread = find_thread(name)
    if thread is None:
        raise ValueError(f"{name} is not in the table of threads")
    return thread


def _grade(name: str, thread: Thread) -> Grade:
    grade = find_grade(name, thread)
    if grade is None:
        raise ValueError(f"{name} is not made as {thread.name}")
    return grade


@dataclass(frozen=True)
class Design:
    """One design of a layout."""

    index: int
    thread: str
    grade: str
    across_in: tuple[float, ...]
    height_in: float
    jacking_lbf: float
    restress_days: tuple[float, ...]


def designs_of(document: Document, piece: Piece, space: Space, layout: Layout) -> list[Design]:
    """The designs of a layout that leave every rod a place of its own in concrete, in order."""
    item = shelf_of(piece, space.shelf)[layout.item]
    thread, places = _thread(item.thread), _places(piece, space, item, layout.count)
    found, index = [], layout.first
    for name, height, spread, share in itertools.product(layout.grades, space.heights_in, space.spreads, space.shares):
        across = places[height, spread]
        if across and not (layout.count == 1 and spread != space.spreads[0]):
            force = _even(share * _grade(name, thread).yield_psi * thread.tensile_area_in2, piece.units)
            found.append(Design(index, thread.name, name, across, height, force, layout.restress))
        index += 1
    return found


def _even(force_lbf: float, units: str) -> float:
    """Down to 10 lbf or 50 N, not under one step."""
    step = 50.0 if units == SI else 10.0
    kind = QUANTITIES["force"]
    return kind.to_us(max(step, math.floor(kind.from_us(force_lbf, units) / step + 1e-9) * step), units)


def _places(piece: Piece, space: Space, item: ShelfItem, count: int) -> dict[tuple[float, float], tuple[float, ...]]:
    """z of the rods for every height and spread; empty where they find no place each. Even about the centroid of the
    longest span's middle, each moved to the nearest place in concrete."""
    needed = room_needed(item, piece)
    centre, found = centroid_across(piece), {}
    for height in space.heights_in:
        free = lanes(piece, faces_of(piece), height, *needed)
        half = min(centre - free[0][0], free[-1][1] - centre) if free else 0.0
        for spread in space.spreads:
            wishes = centre + spread * max(half, 0.0) * (np.linspace(-1, 1, count) if count > 1 else np.zeros(1))
            places = tuple(tidy(nearest(free, float(z)), "length", piece.units) for z in wishes) if free else ()
            apart = all(b - a > 1e-3 for a, b in itertools.pairwise(places))
            found[height, spread] = places if apart else ()
    return found


def room_needed(item: ShelfItem, piece: Piece) -> tuple[float, tuple[float, float]]:
    """Room a rod of this item needs: sleeve radius and cover; half width and half height of plate or pocket and rim."""

    def length(value: Any) -> float:
        return read(value, "length", piece.units)

    big = item.like.get("pocket") or item.like["anchor"]
    plate = (length(big["width"]) / 2 + RIM_IN, length(big["height"]) / 2 + RIM_IN)
    return length(item.like["sleeve"]["outside"]) / 2 + piece.criteria.cover_in, plate


@lru_cache(maxsize=16)
def centroid_across(piece: Piece) -> float:
    """z of the centroid of the longest span's middle section."""
    span = longest_span(piece)
    middle = 0.5 * (piece.supports[span].at_in + piece.supports[span + 1].at_in)
    bare = replace(piece, rods=(), stressing=None)
    return float(analyse(Batch.of(bare)).gross.across_in[0, zone_number(piece, middle)])


def draft_of(document: Document, piece: Piece, space: Space, design: Design) -> Document:
    """The specification that says this design."""
    item = next(one for one in shelf_of(piece, space.shelf) if one.thread == design.thread)
    left, right = faces_of(piece)
    rods = RodSet(
        {**item.like, "grade": design.grade},
        design.across_in,
        ((left, design.height_in), (right, design.height_in)),
        design.jacking_lbf,
        design.restress_days,
    )
    return with_rods(document, rods, NEW_STRESSING)


def as_batch(document: Document, piece: Piece, space: Space, designs: Sequence[Design]) -> tuple[Piece, Numbers] | None:
    """The first design's piece and the numbers in which the others differ. None where the specification refuses it."""
    try:
        base = parse(draft_of(document, piece, space, designs[0]))
    except SpecificationRefused:
        return None
    thread = _thread(designs[0].thread)
    steel = [_grade(design.grade, thread) for design in designs]

    def column(values: Sequence[float]) -> Array:
        return np.array(values, dtype=float)

    count = len(designs[0].across_in)
    return base, Numbers(
        count=len(designs),
        jacking_lbf=np.repeat(column([d.jacking_lbf for d in designs])[:, None], count, axis=1),
        across_in=np.array([d.across_in for d in designs]),
        lift_in=column([d.height_in - designs[0].height_in for d in designs]),
        yield_psi=column([g.yield_psi for g in steel]),
        ultimate_psi=column([g.ultimate_psi for g in steel]),
        modulus_psi=column([g.modulus_psi for g in steel]),
    )
