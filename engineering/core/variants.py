"""Many designs of one piece in one batch, each judged as a check run judges it: five variants, the worst counts.

Designs of a batch share a layout (number of rods, thread, plates, ages, every x) and differ in numbers: forces, places
across, heights, steel strengths, concrete. They go through the same `analyse` and the same CHECKS as a check run.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engineering.core.analysis import analyse
from engineering.core.batching import BACK_HIGH, CHECK_VARIANTS, FRONT_HIGH, Array, Batch, rod_sides
from engineering.core.checks.finding import Finding, Verdict
from engineering.core.checks.reading import Reading
from engineering.core.contract.piece import Piece
from engineering.core.pipeline import findings
from engineering.core.quantities import Analysis

FIVE = len(CHECK_VARIANTS)
ROWS = 1000  # most variants in one pass through the engine: keeps memory small whatever the number
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Numbers:
    """What differs between V designs of a layout; None: as the piece has it.

    jacking_lbf, across_in : (V, R). lift_in : (V,) by which every rod is moved up. yield_psi, ultimate_psi,
    modulus_psi : (V,) of all rods' steel. concrete : factors (V,) on fields of `ConcreteBatch`, by name.
    """

    count: int
    jacking_lbf: Array | None = None
    across_in: Array | None = None
    lift_in: Array | None = None
    yield_psi: Array | None = None
    ultimate_psi: Array | None = None
    modulus_psi: Array | None = None
    concrete: tuple[tuple[str, Array], ...] = ()

    def part(self, start: int, stop: int) -> "Numbers":
        """Designs start to stop."""
        return self.chosen(np.arange(start, min(stop, self.count)))

    def chosen(self, which: Whole) -> "Numbers":
        """These designs, in this order."""
        picked: dict[str, Any] = {
            f.name: value[which]
            for f in fields(self)
            if f.name not in ("count", "concrete") and (value := getattr(self, f.name)) is not None
        }
        return replace(
            self,
            count=len(which),
            concrete=tuple((name, factor[which]) for name, factor in self.concrete),
            **picked,
        )


def batch_of(piece: Piece, numbers: Numbers) -> Batch:
    """One variant a design, at nominal force."""
    batch = Batch.of(piece, tuple(str(k) for k in range(numbers.count)))
    rods = batch.rods
    count = len(piece.rods)
    steel = {
        name: np.repeat(value[:, None], count, axis=1)
        for name in ("yield_psi", "ultimate_psi", "modulus_psi")
        if (value := getattr(numbers, name)) is not None
    }
    moved = {name: value for name in ("jacking_lbf", "across_in") if (value := getattr(numbers, name)) is not None}
    heights = rods.y_in if numbers.lift_in is None else tuple(y + numbers.lift_in[:, None] for y in rods.y_in)
    concrete = {name: getattr(batch.concrete, name) * factor for name, factor in numbers.concrete}
    return replace(
        batch,
        rods=replace(rods, y_in=heights, **steel, **moved),
        concrete=replace(batch.concrete, **concrete),
    )


def as_check_runs(batch: Batch) -> Batch:
    """Each variant five times, as `Batch.check_run` scatters the rods: variant v becomes rows 5 v to 5 v + 4."""
    piece, size = batch.piece, batch.size

    def again(array: Array) -> Array:
        return array if array.shape[0] == 1 else np.repeat(array, FIVE, axis=0)

    def all_again(values: Any) -> Any:
        return replace(
            values,
            **{
                f.name: tuple(map(again, v)) if isinstance(v := getattr(values, f.name), tuple) else again(v)
                for f in fields(values)
            },
        )

    names = tuple(f"{name} {variant}" for name in batch.names for variant in CHECK_VARIANTS)
    rods = all_again(batch.rods)
    if piece.rods and piece.stressing is not None:
        force = np.broadcast_to(batch.rods.jacking_lbf, (size, len(piece.rods)))
        rods = replace(rods, jacking_lbf=np.repeat(force, FIVE, axis=0) * _scatter(batch).reshape(-1, len(piece.rods)))
    rings = tuple(tuple(again(ring) for ring in zone) for zone in batch.rings)
    return replace(batch, names=names, concrete=all_again(batch.concrete), rods=rods, rings=rings)


def _scatter(batch: Batch) -> Array:
    """Factors on the rods' forces (V, 5, R): which rods are in front depends on where each design has them."""
    piece, across = batch.piece, batch.rods.across_in
    places, which = np.unique(across, axis=0, return_inverse=True)
    sides = np.array(
        [
            rod_sides(
                replace(piece, rods=tuple(replace(r, across_in=float(z)) for r, z in zip(piece.rods, row, strict=True)))
            )
            for row in places
        ]
    )[np.ravel(which)]
    scatter = piece.stressing.scatter if piece.stressing is not None else 0.0
    rows = np.stack([0 * sides, 0 * sides + 1, 0 * sides - 1, -sides, sides], axis=1)
    return np.asarray(np.broadcast_to(1.0 + scatter * rows, (batch.size, *rows.shape[1:])))


class RunsReading(Reading):
    """An analysis of many check runs side by side."""

    @cached_property
    def uneven(self) -> NDArray[np.bool_]:
        return np.isin(np.arange(self.variants) % FIVE, (FRONT_HIGH, BACK_HIGH))


@dataclass(frozen=True)
class Judged:
    """What the checks say of V designs, K lines each: as `Verdict` numbers, the ratio of the worst variant (nan: none
    or yes and no), and which variant that is. kinds: V, R or C of each line."""

    names: tuple[str, ...]
    kinds: tuple[str, ...]
    verdicts: NDArray[np.int8]  # (V, K)
    ratios: Array  # (V, K)
    piece_verdict: NDArray[np.int8]  # (V,) PASS, REVIEW or FAIL
    force_left_lbf: Array  # (V, R) at the end of life, nominal
    transfer_lbf: Array  # (V, R)
    crown_in: Array  # (V, 3) after transfer, installed, at the end of life
    rod_length_in: Array  # (V, R)

    @property
    def counting(self) -> NDArray[np.bool_]:
        """Lines that can fail the piece or send it to an engineer (K,)."""
        return np.array([kind in ("V", "R") for kind in self.kinds])

    @property
    def worst_ratio(self) -> Array:
        """Greatest ratio of the lines of kind V and R (V,); a check that fails without a ratio counts as 1e6."""
        bare = np.where(self.verdicts == int(Verdict.FAIL), 1e6, 0.0)
        known = np.where(np.isnan(self.ratios), bare, self.ratios)
        return np.asarray(np.max(np.where(self.counting, known, 0.0), axis=1))

    def line(self, name: str) -> int:
        return self.names.index(name)


def judge(
    piece: Piece, numbers: Numbers, *, scattered: bool = True, tick: Callable[[int], None] | None = None
) -> Judged:
    """Every check of these designs. `scattered` False: the nominal variant alone, a fifth of the work; a design that
    fails so fails its check run too, the reverse does not hold. tick: told after every pass how many designs it had.
    """
    step = ROWS // FIVE if scattered else ROWS
    parts = []
    for start in range(0, max(numbers.count, 1), step):
        parts.append(_judge(piece, numbers.part(start, start + step), scattered))
        if tick is not None:
            tick(parts[-1].verdicts.shape[0])
    return joined(parts)


def _judge(piece: Piece, numbers: Numbers, scattered: bool) -> Judged:
    batch = batch_of(piece, numbers)
    analysis = analyse(as_check_runs(batch) if scattered else batch)
    lines = findings(RunsReading(analysis) if scattered else Reading(analysis))
    many = FIVE if scattered else 1
    read = [_worst(line, numbers.count, many) for line in lines]
    verdicts = np.stack([codes for codes, _ in read], axis=1).astype(np.int8)
    at_best = Verdict.REVIEW if piece.concrete.modulus_defaulted or piece.handling is None else Verdict.PASS
    gravest = np.max(np.where(verdicts == int(Verdict.CAUTION), 0, verdicts), axis=1)
    return Judged(
        tuple(line.name for line in lines),
        tuple(line.kind.value for line in lines),
        verdicts,
        np.stack([ratio for _, ratio in read], axis=1),
        np.maximum(gravest, int(at_best)).astype(np.int8),
        **_figures(analysis, many),
    )


def _figures(analysis: Analysis, many: int) -> dict[str, Array]:
    """Of the nominal variant of each design."""
    d, nominal = analysis.deflections, slice(None, None, many)
    return {
        "force_left_lbf": analysis.time.final_lbf[nominal],
        "transfer_lbf": analysis.tendons.transfer_lbf[nominal],
        "crown_in": np.stack([d.crown_transfer, d.crown_installed, d.crown_final], axis=1)[nominal],
        "rod_length_in": analysis.tendons.length_in[nominal],
    }


def _worst(line: Finding, count: int, many: int) -> tuple[Whole, Array]:
    """Verdict and ratio of the worst variant of each design, as `Judgement.worst` picks it: gravest verdict, then the
    greatest ratio. (V,), (V,)"""
    shape = (count, many)
    if not line.applies:
        return np.full(count, int(Verdict.NOT_APPLICABLE)), np.full(count, np.nan)
    judgement = line.judgement()
    codes, ratio = (
        np.broadcast_to(found[0], (count * many,)).reshape(shape) for found in (judgement.verdicts, judgement.ratios)
    )
    counts = np.ones(shape, bool) if line.among is None else np.broadcast_to(line.among, (count * many,)).reshape(shape)
    gravest = np.max(np.where(counts, codes, -9), axis=1)
    rank = np.where(counts & (codes == gravest[:, None]), np.where(np.isnan(ratio), np.inf, ratio), -np.inf)
    top = rank.max(axis=1)
    return gravest, np.full(count, np.nan) if line.met is not None else np.where(np.isinf(top), np.nan, top)


def joined(parts: Sequence[Judged]) -> Judged:
    """Parts of one layout, one behind another."""
    first = parts[0]
    if any(part.names != first.names for part in parts):
        raise ValueError("these designs do not share a layout")
    arrays: dict[str, Any] = {
        f.name: np.concatenate([getattr(part, f.name) for part in parts])
        for f in fields(Judged)
        if f.name not in ("names", "kinds")
    }
    return replace(first, **arrays)


def steps(start: float, stop: float, step: float) -> Iterator[float]:
    """start, start + step … up to and with stop."""
    for k in range(round((stop - start) / step) + 1):
        yield start + k * step
