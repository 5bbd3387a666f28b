"""The proof load of a piece: what a load test on the floor has to bring, as figures with their working.

Greater of 1.15 D + 1.5 L and 1.3 D, the piece's own weight in D (ACI 318-19 27.4.6.2, from memory, basis m), spread
over the whole piece as bags are. Loads that lift, point loads and loads that act alone are not in that sum; `reach`
tells how much of what they and the worst pattern ask for the spread load brings: where it is under 1, an engineer
writes the plan.
in, lbf.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engineering.core.analysis import analyse
from engineering.core.batching import NOMINAL, Batch, longest_span
from engineering.core.checks.pen import Pen
from engineering.core.contract.piece import Load, Piece
from engineering.core.contract.results import Figure
from engineering.core.load_test_acceptance import DEAD, DEAD_ALONE, LIVE, deflection_limit, load_to_apply
from engineering.core.load_test_model import moments_of_spread_load
from engineering.core.quantities import Analysis

CLAUSE = "ACI 318-19 27.4.6.2 (from memory, basis m)"
ROUNDING = 1e-6
SHORT = "An engineer must say where to put the load: spread out it does not reach that."
ENOUGH = 0.98  # of the moment asked for: as near as bags come


@dataclass(frozen=True)
class ProofLoad:
    """dead_lbf has the weight in it; live_lbf: spread live loads that act together and press down. span, depth: of the
    longest span. reach: moment under the proof load over the one asked for, where it falls shortest, at reach_at_in;
    sagging or hogging."""

    dead_lbf: float
    live_lbf: float
    weight_lbf: float
    span_in: float
    depth_in: float
    reach: float
    reach_at_in: float
    sagging: bool

    @cached_property
    def total_lbf(self) -> float:
        """Greater of 1.15 D + 1.5 L and 1.3 D."""
        return float(load_to_apply(self.dead_lbf, self.live_lbf))

    @property
    def to_put_on_lbf(self) -> float:
        """The total less what weighs on it already: its own weight."""
        return self.total_lbf - self.weight_lbf

    @property
    def limit_in(self) -> float:
        """Deflection up to which nothing need recover, l²/(20,000 h)."""
        return float(deflection_limit(self.span_in, self.depth_in))

    @property
    def enough(self) -> bool:
        """Whether the spread load tries the piece as hard, everywhere, as all its loads together ask for."""
        return self.reach >= ENOUGH

    def figures(self) -> dict[str, Figure]:
        """By name, in US units: total, what to put on, limit on deflection, reach."""
        return {
            "proof_load.total": Figure(self.total_lbf, "force"),
            "proof_load.to_put_on": Figure(self.to_put_on_lbf, "force"),
            "proof_load.deflection_limit": Figure(self.limit_in, "length"),
            "proof_load.reach": Figure(self.reach, "number", self.reach_at_in),
        }

    def working(self, pen: Pen) -> tuple[str, ...]:
        """Formula, numbers, answer, in the reader's units, so that a person can follow it by hand."""
        dead, live, total = (pen(value, "force") for value in (self.dead_lbf, self.live_lbf, self.total_lbf))
        weight, on = pen(self.weight_lbf, "force"), pen(self.to_put_on_lbf, "force")
        span, depth = pen(self.span_in, "length"), pen(self.depth_in, "length")
        way = "sagging" if self.sagging else "hogging"
        return (
            f"D = own weight + dead loads = {weight} + {pen(self.dead_lbf - self.weight_lbf, 'force')} = {dead}",
            f"L, spread live loads that act together and press down: {live}",
            f"load = max(1.15 D + 1.5 L, 1.3 D) = max(1.15 × {dead} + 1.5 × {live}, 1.3 × {dead}) = {total}",
            f"to put on = load - own weight = {total} - {weight} = {on}",
            f"deflection without recovery = l²/(20,000 h) = ({span})² / (20000 × {depth}) = "
            f"{pen(self.limit_in, 'length')}",
            f"{way} {pen.at(self.reach_at_in)} it brings {pen.number(self.reach)} of the moment that 1.15 D + 1.5 L of "
            "the worst pattern asks for, point loads and loads that act alone with it",
            *([] if self.enough else [SHORT]),
        )


def proof_load(piece: Piece) -> ProofLoad:
    """What the test of a piece has to bring, from its drawing alone."""
    return proof_load_of(analyse(Batch.of(piece)))


def proof_load_of(analysis: Analysis) -> ProofLoad:
    """The same of an analysis, for its first variant."""
    piece = analysis.batch.piece
    weight = float(analysis.weight_lbf[NOMINAL])
    sums = {"dead": weight, "live": 0.0}
    for load in piece.loads:
        if load.kind != "point" and not load.alone:
            sums[load.case] += max(spread_total(piece, load), 0.0)
    span = longest_span(piece)
    at = [support.at_in for support in piece.supports]
    middle = 0.5 * (at[span] + at[span + 1])
    depth = next(zone.depth_in for zone in piece.zones if middle <= zone.end_in)
    put_on = float(load_to_apply(sums["dead"], sums["live"])) - weight
    return ProofLoad(sums["dead"], sums["live"], weight, at[span + 1] - at[span], depth, *_reach(analysis, put_on))


def spread_total(piece: Piece, load: Load) -> float:
    """An area or line load over its length, with its sign. [lbf]"""
    total = 0.0
    for zone in piece.zones:
        length = min(load.to_in, zone.end_in) - max(load.from_in, zone.start_in)
        if length > 0:
            per_in = load.value / 144.0 * zone.load_width_in if load.kind == "area" else load.value / 12.0
            total += per_in * length
    return total


def _reach(analysis: Analysis, put_on_lbf: float) -> tuple[float, float, bool]:
    """Least of moment under own weight and the spread load over the moment asked for, of sections within a tenth of the
    greatest of its sign; its x; whether it sags there."""
    loading, found = analysis.loading, (np.inf, 0.0, True)
    own, dead = loading.self_moment[NOMINAL], loading.dead_moment[NOMINAL]
    there = own + put_on_lbf * moments_of_spread_load(analysis)[0]
    sides = ((1.0, loading.live_moment_max[NOMINAL]), (-1.0, loading.live_moment_min[NOMINAL]))
    both = [np.maximum(sign * (DEAD * dead + LIVE * live), sign * DEAD_ALONE * dead) for sign, live in sides]
    tiny = ROUNDING * max(float(asked.max()) for asked in both)
    for (sign, _), asked in zip(sides, both, strict=True):
        most = float(asked.max())
        if most <= tiny:
            continue
        near = asked >= 0.9 * most
        share = np.where(near, sign * there / np.where(near, asked, 1.0), np.inf)
        worst = int(share.argmin())
        if share[worst] < found[0]:
            found = float(share[worst]), float(analysis.grid.x_in[worst]), sign > 0
    return found if np.isfinite(found[0]) else (1.0, 0.0, True)
