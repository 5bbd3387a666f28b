"""What the checks read: the analysis, and beside it what several checks derive from it, found once."""

from collections.abc import Callable
from functools import cached_property
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from engineering.core import concrete_limits
from engineering.core.anchor_faces import AnchorFaces, anchor_faces
from engineering.core.batching import BACK_HIGH, CHECK_VARIANTS, FRONT_HIGH, Array, first_of_equals, longest_span_in
from engineering.core.checks.pen import Pen
from engineering.core.contract.piece import Piece
from engineering.core.quantities import Analysis, Extremes, Whole
from engineering.core.strength_along import StrengthAlong, governing_stations, strengths

T = TypeVar("T")


class Worst(NamedTuple):
    """A largest value over stations, variant by variant."""

    value: Array  # (V,)
    station: NDArray[np.int64]  # (V,)
    at_in: Array  # (V,)


class Trace(NamedTuple):
    """How a stress at a corner comes about: rods plus a moment over the corner's own modulus."""

    corner_z_in: float
    corner_y_in: float
    rods_psi: float
    moment_lbf_in: float
    per_moment: float
    label: str

    def lines(self, pen: Pen) -> list[str]:
        """Where, the moment, and the sum of both parts."""
        place = f"corner at z = {pen(self.corner_z_in, 'length')}, y = {pen(self.corner_y_in, 'length')}"
        if self.per_moment == 0:
            return [place, f"stress = stress of the rods = {pen(self.rods_psi, 'stress')}"]
        modulus = 1.0 / self.per_moment
        part = f"{pen(self.moment_lbf_in, 'moment')} / ({pen(modulus, 'section modulus')})"
        total = self.rods_psi + self.moment_lbf_in * self.per_moment
        return [
            f"{place}; M = {self.label} = {pen(self.moment_lbf_in, 'moment')}; S of this corner, biaxial, "
            f"net section = {pen(modulus, 'section modulus')}",
            f"stress = rods + M/S = ({pen(self.rods_psi, 'stress')}) + {part} = {pen(total, 'stress')}",
        ]


class Reading:
    """An analysis as the checks see it. Nothing in it changes; derived values are kept after first use."""

    def __init__(self, analysis: Analysis) -> None:
        self.analysis = analysis
        self.batch = analysis.batch
        self.piece: Piece = analysis.batch.piece
        self._kept: dict[Callable[[Reading], Any], Any] = {}

    def once(self, work: "Callable[[Reading], T]") -> "T":
        """What `work` finds in this reading, done the first time it is asked for, so that checks can share it.
        Not for findings: they hold on to the reading, and each would keep the other in memory."""
        if work not in self._kept:
            self._kept[work] = work(self)
        found: T = self._kept[work]
        return found

    @property
    def variants(self) -> int:
        return self.batch.size

    @property
    def has_rods(self) -> bool:
        return bool(self.piece.rods)

    @cached_property
    def uneven(self) -> NDArray[np.bool_]:
        """The two uneven variants of a check run; none in a study, whose samples draw their own scatter. (V,)"""
        found = np.zeros(self.variants, bool)
        if self.batch.names == CHECK_VARIANTS:
            found[[FRONT_HIGH, BACK_HIGH]] = True
        return found

    @cached_property
    def strengths(self) -> StrengthAlong:
        return strengths(self.analysis)

    @cached_property
    def governing(self) -> tuple[Whole, Whole]:
        """Direction and station of the highest factored demand ratio between the outermost anchor faces (V,)."""
        return governing_stations(self.strengths, ~self.analysis.grid.bare)

    @cached_property
    def yield_k_psi(self) -> Array:
        """LOP_k at 28 days (V or 1,)."""
        return concrete_limits.characteristic(
            self.batch.concrete.flexural_yield_psi, self.batch.concrete.variation_yield
        )

    @cached_property
    def yield_k_at_stressing_psi(self) -> Array:
        concrete = self.batch.concrete
        return concrete_limits.characteristic(concrete.flexural_yield_at_stressing_psi, concrete.variation_yield)

    @cached_property
    def assumed_psi(self) -> Array:
        """f'u (V or 1,)."""
        c = self.batch.concrete
        return concrete_limits.assumed_flexural_strength(
            c.flexural_yield_psi, c.flexural_ultimate_psi, c.variation_yield, c.variation_ultimate
        )

    @cached_property
    def tension_stations(self) -> NDArray[np.bool_]:
        """Where the tension checks look: where stresses are taken, and bare ends as a section without rods. (S,)"""
        return np.asarray(self.analysis.grid.in_figures | self.analysis.grid.bare)

    @cached_property
    def faces(self) -> AnchorFaces:
        """What the plates of the rods find around them."""
        return anchor_faces(self.analysis)

    @property
    def longest_span_in(self) -> float:
        return longest_span_in(self.piece)

    def largest(self, values: Array, where: NDArray[np.bool_]) -> Worst:
        """Largest of `values` (V, S) over the stations `where` (S,); of equals the first one, whatever the rounding."""
        masked = np.where(where, values, -np.inf)
        station = first_of_equals(masked)
        return Worst(masked[np.arange(len(station)), station], station, self.analysis.grid.x_in[station])

    def trace(self, variant: int, station: int, rods: Array, moments: dict[str, float], stress: float) -> Trace:
        """The corner and the moment that give `stress`; rods (C, V, S), the moments there by what they are called."""
        stresses, here = self.analysis.stresses, (slice(None), variant, station)
        by_rods, per_moment = rods[here].tolist(), stresses.per_moment[here].tolist()
        cases = [
            (abs(own + moment * each - stress), label, corner)
            for label, moment in moments.items()
            for corner, (own, each) in enumerate(zip(by_rods, per_moment, strict=True))
        ]
        least = min(cases)[0] + 1e-9
        _, label, corner = next(case for case in cases if case[0] <= least)  # of equals the first
        return Trace(
            float(stresses.corner_z_in[corner, variant, station]),
            float(stresses.corner_y_in[corner, variant, station]),
            by_rods[corner],
            moments[label],
            per_moment[corner],
            label,
        )


def early_or_final(early: Extremes, final: Extremes, name: str) -> Array:
    """The greater of two stages' stress of that name (V, S); for a compression pass `any_min` and mind the sign."""
    first, second = getattr(early, name), getattr(final, name)
    return np.minimum(first, second) if name.endswith("min") else np.maximum(first, second)
