"""Tolerance study: thousands of pieces as they may come out of the shop, through the same `analyse` and the same
checks.

Latin hypercube: each quantity's range is cut into as many equally likely slices as there are samples, each slice is
drawn from once. The whole design follows from seed and size, so sample i is the same however the set is split over
workers, and samples are always worked in the same chunks. A sample draws the scatter itself: it is one variant, and the
coefficients of variation of the concrete are not taken off a second time.
"""

from base64 import b64decode, b64encode
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engineering.core.analysis import analyse
from engineering.core.batching import Array, Batch
from engineering.core.checks.finding import judge
from engineering.core.checks.reading import Reading
from engineering.core.contract.piece import Piece
from engineering.core.pipeline import findings

CHUNK = 800  # large enough that the work common to a chunk is small beside its variants


@dataclass(frozen=True)
class Tolerances:
    """How far things scatter. Lengths are bounds either way, evenly likely; shares are standard deviations of the
    mean."""

    position_in: float = 0.125  # of a rod, up and across, basis p
    thickness_in: float = 0.125  # of the piece, at its top face, basis p
    strength: float = 0.08
    modulus: float = 0.10
    shrinkage: float = 0.15
    creep: float = 0.20


@dataclass(frozen=True)
class StudyPart:
    """Samples start to stop: verdicts (n, checks) as numbers of `Verdict`, ratios (n, checks), nan where there is
    none."""

    start: int
    names: tuple[str, ...]
    verdicts: NDArray[np.int8]
    ratios: Array

    def to_json(self) -> dict[str, Any]:
        """Both arrays row by row as base64 of little-endian numbers, bit for bit: as digits a part is slower to write
        than to work."""
        return {
            "start": self.start,
            "names": list(self.names),
            "verdicts": b64encode(self.verdicts.astype("<i1").tobytes()).decode(),
            "ratios": b64encode(self.ratios.astype("<f8").tobytes()).decode(),
        }

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> "StudyPart":
        names = tuple(document["names"])
        verdicts = np.frombuffer(b64decode(document["verdicts"]), dtype="<i1").reshape(-1, len(names))
        ratios = np.frombuffer(b64decode(document["ratios"]), dtype="<f8").reshape(-1, len(names))
        return cls(int(document["start"]), names, verdicts, ratios)


def quantities(piece: Piece) -> tuple[str, ...]:
    """What scatters, by name: one column of the design each."""
    per_rod = tuple(f"{what} of {rod.mark}" for rod in piece.rods for what in ("force", "height", "place across"))
    return (
        *per_rod,
        "thickness",
        "strength",
        "limit of proportionality",
        "modulus of rupture",
        "modulus",
        "shrinkage",
        "creep",
    )


def design(piece: Piece, size: int, seed: int) -> Array:
    """Latin hypercube (size, quantities) of shares between 0 and 1."""
    if size < 1:
        raise ValueError(f"a study of {size} samples")
    random = np.random.default_rng(seed)
    columns = [(random.permutation(size) + random.random(size)) / size for _ in quantities(piece)]
    return np.stack(columns, axis=1)


def sampled(piece: Piece, shares: Array, tolerances: Tolerances) -> Batch:
    """The batch of these rows of a design. Force: the method's scatter is two standard deviations."""
    names = quantities(piece)
    column = {name: shares[:, k] for k, name in enumerate(names)}
    batch = Batch.of(piece, tuple(str(k) for k in range(len(shares))))
    return replace(
        batch,
        concrete=_concrete(batch, column, tolerances),
        rods=_rods(batch, column, tolerances),
        rings=_rings(batch, tolerances.thickness_in * (2.0 * column["thickness"] - 1.0)),
    )


def _factor(share: Array, deviation: float) -> Array:
    """1 + deviation × the standard normal value of that share, within three deviations, not under a tenth. (n,)"""
    inverse = NormalDist().inv_cdf
    normal = np.array([inverse(one) for one in np.clip(share, 1e-9, 1.0 - 1e-9).tolist()])
    return np.maximum(1.0 + deviation * np.clip(normal, -3.0, 3.0), 0.1)


def _concrete(batch: Batch, column: dict[str, Array], tolerances: Tolerances) -> Any:
    c, none = batch.concrete, np.zeros(1)
    strength, modulus = _factor(column["strength"], tolerances.strength), _factor(column["modulus"], tolerances.modulus)
    lop = _factor(column["limit of proportionality"], float(c.variation_yield[0]))
    mor = _factor(column["modulus of rupture"], float(c.variation_ultimate[0]))
    return replace(
        c,
        strength_psi=c.strength_psi * strength,
        strength_at_stressing_psi=c.strength_at_stressing_psi * strength,
        modulus_psi=c.modulus_psi * modulus,
        modulus_at_stressing_psi=c.modulus_at_stressing_psi * modulus,
        flexural_yield_psi=c.flexural_yield_psi * lop,
        flexural_yield_at_stressing_psi=c.flexural_yield_at_stressing_psi * lop,
        flexural_ultimate_psi=c.flexural_ultimate_psi * mor,
        variation_yield=none,
        variation_ultimate=none,
        shrinkage=c.shrinkage * _factor(column["shrinkage"], tolerances.shrinkage),
        creep=c.creep * _factor(column["creep"], tolerances.creep),
    )


def _rods(batch: Batch, column: dict[str, Array], tolerances: Tolerances) -> Any:
    piece, rods = batch.piece, batch.rods
    if not piece.rods or piece.stressing is None:
        return rods
    force = np.stack(
        [_factor(column[f"force of {rod.mark}"], 0.5 * piece.stressing.scatter) for rod in piece.rods], axis=1
    )
    off = {
        what: [tolerances.position_in * (2.0 * column[f"{what} of {rod.mark}"] - 1.0) for rod in piece.rods]
        for what in ("height", "place across")
    }
    return replace(
        rods,
        jacking_lbf=rods.jacking_lbf * force,
        across_in=rods.across_in + np.stack(off["place across"], axis=1),
        y_in=tuple(y + move[:, None] for y, move in zip(rods.y_in, off["height"], strict=True)),
    )


def _rings(batch: Batch, thicker_in: Array) -> tuple[tuple[Array, ...], ...]:
    """Every corner on a zone's top face moved up or down with the thickness."""
    moved = []
    for zone, rings in zip(batch.piece.zones, batch.rings, strict=True):
        new = []
        for ring in rings:
            on_top = np.abs(ring[..., 1] - zone.top_in) < 1e-9
            points = np.repeat(ring, len(thicker_in), axis=0)
            points[..., 1] += on_top * thicker_in[:, None]
            new.append(points)
        moved.append(tuple(new))
    return tuple(moved)


def chunks(size: int) -> Iterator[tuple[int, int]]:
    """The bounds in which samples are always worked; a worker takes any number of them."""
    for start in range(0, size, CHUNK):
        yield start, min(start + CHUNK, size)


def run_part(
    piece: Piece,
    size: int,
    seed: int,
    start: int,
    stop: int,
    tolerances: Tolerances | None = None,
    progress: Callable[[int], None] = lambda done: None,
) -> StudyPart:
    """Samples start to stop of a study of `size`. Works the whole chunks they lie in, so any split gives the same
    numbers. `progress` is told after each chunk how many samples are done."""
    shares, given = design(piece, size, seed), tolerances or Tolerances()
    found: list[StudyPart] = []
    for first, last in chunks(size):
        if last > start and first < stop:
            whole = _chunk(piece, shares[first:last], first, given)
            keep = slice(max(start, first) - first, min(stop, last) - first)
            found.append(
                replace(whole, start=max(start, first), verdicts=whole.verdicts[keep], ratios=whole.ratios[keep])
            )
            progress(min(stop, last) - start)
    return joined(found)


def _chunk(piece: Piece, shares: Array, start: int, tolerances: Tolerances) -> StudyPart:
    lines = findings(Reading(analyse(sampled(piece, shares, tolerances))))
    judgement = judge(lines, len(shares))
    without = np.array([not line.applies or line.met is not None for line in lines])
    ratios = np.where(without, np.nan, judgement.ratios.T)
    return StudyPart(start, tuple(line.name for line in lines), judgement.verdicts.T.astype(np.int8), ratios)


def joined(parts: Sequence[StudyPart]) -> StudyPart:
    """Parts of one study put together in order of their samples. Raises ValueError for a gap or parts of different
    pieces."""
    if not parts:
        raise ValueError("a study without samples")
    ordered = sorted(parts, key=lambda part: part.start)
    at = ordered[0].start
    for part in ordered:
        if part.start != at or part.names != ordered[0].names:
            raise ValueError(f"the parts of the study do not fit together at sample {part.start}")
        at += len(part.verdicts)
    return StudyPart(
        ordered[0].start,
        ordered[0].names,
        np.concatenate([p.verdicts for p in ordered]),
        np.concatenate([p.ratios for p in ordered]),
    )
