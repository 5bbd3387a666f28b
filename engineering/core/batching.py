"""Many variants of one piece in one set of arrays.

Variants share a layout (number and kind of zones, supports, loads, rods, and every x) and differ in numbers. Every
array has the variants as its first axis: length V, or 1 where all variants agree, so that work common to all is done
once and numpy's broadcasting does the rest. Units: in, lbf, psi, lb/ft3, days.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cache, cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engineering.core.contract.piece import Concrete, Piece, Zone

Array = NDArray[np.float64]

CHECK_VARIANTS = ("nominal", "high", "low", "front_high", "back_high")
NOMINAL, HIGH, LOW, FRONT_HIGH, BACK_HIGH = range(5)


@dataclass(frozen=True)
class ConcreteBatch:
    """The numbers of `contract.piece.Concrete` as arrays (V or 1,), same names, same units."""

    density_pcf: Array
    strength_psi: Array
    strength_at_stressing_psi: Array
    modulus_psi: Array
    modulus_at_stressing_psi: Array
    flexural_yield_psi: Array
    flexural_ultimate_psi: Array
    flexural_yield_at_stressing_psi: Array
    variation_yield: Array
    variation_ultimate: Array
    residual_tension_psi: Array
    shrinkage: Array
    creep: Array

    @classmethod
    def of(cls, concrete: Concrete) -> "ConcreteBatch":
        return cls(*np.array([[getattr(concrete, f.name)] for f in fields(cls)], dtype=float))


@dataclass(frozen=True)
class RodBatch:
    """Rods of all variants, in the order of `piece.rods`. Shapes (V or 1, R); y_in: one array (V or 1, points) a
    rod."""

    jacking_lbf: Array
    area_in2: Array
    modulus_psi: Array
    yield_psi: Array
    ultimate_psi: Array
    friction: Array  # per radian
    wobble_per_in: Array
    across_in: Array
    y_in: tuple[Array, ...] = field(default=())

    @classmethod
    def of(cls, piece: Piece) -> "RodBatch":
        def row(pick: Callable[[Any], float]) -> Array:
            return np.array([[float(pick(rod)) for rod in piece.rods]])

        return cls(
            jacking_lbf=row(lambda r: r.jacking_force_lbf),
            area_in2=row(lambda r: r.area_in2),
            modulus_psi=row(lambda r: r.grade.modulus_psi),
            yield_psi=row(lambda r: r.grade.yield_psi),
            ultimate_psi=row(lambda r: r.grade.ultimate_psi),
            friction=row(lambda r: r.sleeve.friction),
            wobble_per_in=row(lambda r: r.sleeve.wobble_per_ft / 12.0),
            across_in=row(lambda r: r.across_in),
            y_in=tuple(np.array([[float(y) for _, y in rod.profile]]) for rod in piece.rods),
        )


@dataclass(frozen=True)
class Batch:
    """V variants of one piece.

    rings: for each zone its rings, each (V or 1, corners, 2) of z and y, in the order of `piece.zones[k].rings`.
    front: for each rod -1 in front of the centroid of the longest span's middle section, +1 behind it, 0 on it.
    """

    piece: Piece
    names: tuple[str, ...]
    concrete: ConcreteBatch
    rods: RodBatch
    rings: tuple[tuple[Array, ...], ...]

    @property
    def size(self) -> int:
        return len(self.names)

    @classmethod
    def of(cls, piece: Piece, names: Sequence[str] = ("nominal",)) -> "Batch":
        """Variants that all equal the piece as specified; scatter them with `dataclasses.replace` on `concrete`,
        `rods`, `rings`."""
        rings = tuple(tuple(np.array([ring.points], dtype=float) for ring in zone.rings) for zone in piece.zones)
        return cls(piece, tuple(names), ConcreteBatch.of(piece.concrete), RodBatch.of(piece), rings)

    @classmethod
    def check_run(cls, piece: Piece) -> "Batch":
        """The five variants of a check run: nominal, high, low and two uneven ones, by the scatter of the rod
        forces."""
        batch = cls.of(piece, CHECK_VARIANTS)
        if not piece.rods or piece.stressing is None:
            return batch
        side = rod_sides(piece)
        factors = 1.0 + piece.stressing.scatter * np.array([0 * side, 0 * side + 1, 0 * side - 1, -side, side])
        return replace(batch, rods=replace(batch.rods, jacking_lbf=batch.rods.jacking_lbf * factors))

    @cached_property
    def sorts(self) -> tuple[tuple[int, ...], NDArray[np.int64]]:
        """Zones whose rings are the same in every variant are one sort of section: the first zone of each sort, and
        which of those each zone is like (Z,)."""
        own: list[int] = []
        sort: list[int] = []
        for number in range(len(self.rings)):
            found = next((n for n, k in enumerate(own) if self._same(number, k)), len(own))
            if found == len(own):
                own.append(number)
            sort.append(found)
        return tuple(own), np.array(sort)

    def _same(self, one: int, other: int) -> bool:
        roles = ([ring.role for ring in self.piece.zones[k].rings] for k in (one, other))
        return next(roles) == next(roles) and all(map(np.array_equal, self.rings[one], self.rings[other]))

    def part(self, start: int, stop: int) -> "Batch":
        """Variants start to stop of this batch, as a batch of their own."""

        def cut(array: Array) -> Array:
            return array if array.shape[0] == 1 else array[start:stop]

        def cut_all(values: Any) -> Any:
            return replace(
                values,
                **{
                    f.name: tuple(map(cut, v)) if isinstance(v := getattr(values, f.name), tuple) else cut(v)
                    for f in fields(values)
                },
            )

        rings = tuple(tuple(cut(ring) for ring in zone) for zone in self.rings)
        return replace(
            self, names=self.names[start:stop], concrete=cut_all(self.concrete), rods=cut_all(self.rods), rings=rings
        )


LARGE_BLOCK_BYTES = 31 * 2**20


@cache
def keep_freed_memory() -> None:
    """Have the process keep freed arrays for the next ones. The C library of Linux gives every block larger than the
    largest one freed so far back to the system, and fetching it again page by page costs a third of a large batch;
    one large block, never touched, raises that bound. Elsewhere it does nothing."""
    np.empty(LARGE_BLOCK_BYTES, np.uint8)


SMALL = 8_000  # numbers: under this a copy is sooner made than a view


def wide(array: Array, shape: tuple[int, ...]) -> Array:
    """The array in this shape, by broadcasting; itself where it has it."""
    if array.shape == shape:
        return array
    if math.prod(shape) > SMALL:
        return np.broadcast_to(array, shape)
    copy = np.empty(shape, array.dtype)
    copy[...] = array
    return copy


def greatest_along(values: Array) -> tuple[Array, NDArray[np.int64]]:
    """The greatest along the last axis and its place, the first of equals. (...)

    Picked by its place: a maximum along a short last axis takes numpy far longer than finding where it stands.
    """
    at = values.argmax(-1)
    lines = values.reshape(-1, values.shape[-1])
    return lines[np.arange(len(lines)), at.ravel()].reshape(at.shape), at


EQUAL = 1e-10  # values nearer than this share of themselves are equal but for rounding


def first_of_equals(values: Array) -> NDArray[np.int64]:
    """Place of the greatest in each line of values (n, m); of those that only rounding tells apart, the first. (n,)"""
    most = np.maximum.reduce(values, 1, keepdims=True)
    return (values >= most * (1.0 - np.copysign(EQUAL, most))).argmax(axis=1)


def longest_span(piece: Piece) -> int:
    """Number of the longest span, from 0; the first of equals (within a millionth of the length)."""
    at = [support.at_in for support in piece.supports]
    spans = [right - left for left, right in pairwise(at)]
    least = max(spans) - 1e-6 * piece.length_in
    return next(number for number, span in enumerate(spans) if span >= least)


def longest_span_in(piece: Piece) -> float:
    """Length of the longest span [in]."""
    return max(right.at_in - left.at_in for left, right in pairwise(piece.supports))


def zone_number(piece: Piece, x_in: float) -> int:
    """The zone at x; where two meet, the right one."""
    for number, zone in enumerate(piece.zones):
        if x_in < zone.end_in:
            return number
    return len(piece.zones) - 1


def rod_sides(piece: Piece) -> Array:
    """-1 for a rod in front of the centroid of the longest span's middle section, +1 behind, 0 on it. (R,)"""
    span = longest_span(piece)
    middle = 0.5 * (piece.supports[span].at_in + piece.supports[span + 1].at_in)
    centre = _centroid_across(piece.zones[zone_number(piece, middle)])
    offset = np.array([rod.across_in - centre for rod in piece.rods])
    return np.where(np.abs(offset) < 1e-6 * max(1.0, piece.zones[0].width_in), 0.0, np.sign(offset))


def _centroid_across(zone: Zone) -> float:
    area = moment = 0.0
    for ring in zone.rings:
        sign = 1.0 if ring.role == "concrete" else -1.0
        for (z0, y0), (z1, y1) in zip(ring.points, (*ring.points[1:], ring.points[0]), strict=True):
            cross = sign * (z0 * y1 - z1 * y0)
            area += cross / 2
            moment += (z0 + z1) * cross / 6
    return moment / area
