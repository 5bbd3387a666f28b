"""The piece as a beam on any number of supports that hold both ways, free to bow sideways.

Moments over the inner supports are the unknowns of a force method: hats (1 over one inner support, 0 over its
neighbours) as virtual moments, flexibility 1/(E I_free) integrated along the piece. Sagging moment and curvature +.
"""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.loads import (
    LivePlan,
    apart,
    dead_patches,
    envelope,
    group_envelope,
    live_plan,
    patch_effects,
    zone_patches,
)
from engineering.core.quantities import Grid, Loading
from engineering.core.sections import Sections


@dataclass(frozen=True)
class Frame:
    """What the supports do to any moment or curvature. K inner supports; Vg 1 where geometry is common."""

    supports_in: Array  # (N,)
    hats: Array  # (K, S)
    hat_effects: Array  # (K, 2 S + N) moments, shears, reactions of a unit moment over the support
    hat_reactions: Array  # (K, N)
    solver: Array  # (Vg, K, K) inverse flexibility for modulus 1
    weights: Array  # (K, S) hats times integration weight
    free_inertia: Array  # (Vg, S)

    def held(self, moment: Array) -> tuple[Array, Array]:
        """Moments over the inner supports (V, rows, K), and the whole moment (V, rows, S), that follow from moments
        (V, rows, S) on the outer supports alone. Works for any constant modulus."""
        if not len(self.hats):
            return np.zeros((*moment.shape[:2], 0)), moment
        turned = np.matmul(moment / self.free_inertia[:, None, :], self.weights.T)
        unknown = -np.matmul(turned, self.solver.swapaxes(1, 2))
        return unknown, moment + np.matmul(unknown, self.hats)

    def restrained(self, curvature: Array) -> Array:
        """Moment (V, S), for modulus 1, by which the inner supports hold an imposed curvature (V, S) back."""
        if not len(self.hats):
            return np.zeros_like(curvature)
        turned = np.matmul(curvature[:, None, :], self.weights.T)
        return -np.matmul(np.matmul(turned, self.solver.swapaxes(1, 2)), self.hats)[:, 0, :]

    def settled(self, drop_in: float) -> Array:
        """(N, Vg, S) moments, for modulus 1, when one support in turn is lower than the others."""
        number = len(self.supports_in)
        if not len(self.hats) or drop_in == 0.0:
            return np.zeros(
                (
                    number,
                    self.free_inertia.shape[0],
                    self.hats.shape[1] if len(self.hats) else self.free_inertia.shape[1],
                )
            )
        rise = -drop_in * np.eye(number)
        tilt = np.diff(rise, axis=1) / np.diff(self.supports_in)
        unknown = np.matmul(self.solver[:, None], np.diff(tilt, axis=1)[None, :, :, None])[..., 0]
        return np.matmul(unknown, self.hats).swapaxes(0, 1)


def build_frame(batch: Batch, grid: Grid, free_inertia: Array) -> Frame:
    at = np.array([support.at_in for support in batch.piece.supports])
    hats = np.array([np.interp(grid.x_in, at, np.eye(len(at))[k]) for k in range(1, len(at) - 1)]).reshape(
        -1, len(grid.x_in)
    )
    spans = np.diff(at)
    reactions = np.zeros((len(hats), len(at)))
    slopes = np.zeros_like(hats)
    middle = grid.panel_middle_in
    for k in range(len(hats)):
        left, right = 1.0 / spans[k], 1.0 / spans[k + 1]
        reactions[k, k : k + 3] = left, -left - right, right
        slopes[k] = left * ((middle > at[k]) & (middle < at[k + 1])) - right * (
            (middle > at[k + 1]) & (middle < at[k + 2])
        )
    weights = hats * grid.weight_in
    flexibility = np.matmul(weights / free_inertia[:, None, :], hats.T)
    effects = np.concatenate([hats, slopes, reactions], axis=1)
    return Frame(at, hats, effects, reactions, np.linalg.inv(flexibility), weights, free_inertia)


def effects_on(frame: Frame, basic: Array) -> Array:
    """Effects on all supports (V or 1, rows, 2 S + N) of those on the outer ones alone (rows, 2 S + N)."""
    if not len(frame.hats):
        return basic[None]
    unknown, _ = frame.held(basic[None, :, : frame.hats.shape[1]])
    return basic + np.matmul(unknown, frame.hat_effects)


@dataclass(frozen=True)
class LoadCases:
    """Loads on all supports, for statics and deflection. weight: of each zone [lbf/in] (V, Z)."""

    weight_lbf_per_in: Array
    self_moment: Array  # (V, S)
    dead_moment: Array  # (V, S) dead loads without self weight
    plan: LivePlan
    live_rows: Array  # (V or 1, rows, S) moments
    sustained_moment: Array  # (V, S)
    loading: Loading


def load_cases(batch: Batch, grid: Grid, frame: Frame, sections: Sections) -> LoadCases:
    piece = batch.piece
    concrete, core = sections.gross.area_in2, sections.core_area_in2
    weight = (concrete * batch.concrete.density_pcf[:, None] + core * piece.core_density_pcf) / 1728.0
    plan = live_plan(piece, grid)
    zones = len(piece.zones)
    rows = (*zone_patches(piece), dead_patches(piece), *plan.rows)
    effects = effects_on(frame, patch_effects(grid, frame.supports_in, rows))
    own = np.matmul(weight[:, None, :], effects[:, :zones])[:, 0]
    dead, live = effects[:, zones], effects[:, zones + 1 :]
    size, stations, number = batch.size, len(grid.x_in), len(frame.supports_in)
    whole = [
        apart(wide(part, (size, effects.shape[-1])), stations)
        for part in (own, own + dead, *envelope([group_envelope(group, live) for group in plan.groups]))
    ]
    selves, deads, most, least = whole
    sustained = piece.sustained_live * live[:, list(plan.sustained), :stations].sum(1)
    modulus, line = batch.concrete.modulus_psi[:, None], (size, stations)
    drying = frame.restrained(drying_curvature(batch, grid, sections)) * modulus
    settled = frame.settled(piece.criteria.support_tolerance_in) * modulus
    loading = Loading(
        self_moment=selves.moment,
        dead_moment=deads.moment,
        live_moment_max=most.moment,
        live_moment_min=least.moment,
        sustained_moment=wide(sustained, line),
        self_shear=selves.shear,
        dead_shear=deads.shear,
        live_shear_max=most.shear,
        live_shear_min=least.shear,
        dead_reaction=deads.reaction,
        live_reaction_max=most.reaction,
        live_reaction_min=least.reaction,
        settlement_moment=wide(settled, (number, *line)),
        drying_moment=wide(drying, line),
    )
    moments = [part[..., :stations] for part in (own, dead, live)]
    return LoadCases(weight, moments[0], moments[1], plan, moments[2], sustained, loading)


def drying_curvature(batch: Batch, grid: Grid, sections: Sections) -> Array:
    """(Vg, S) curvature of one-sided drying: the bottom shrinks more, so the piece hogs (−)."""
    depth = sections.gross.top_in - sections.gross.bottom_in
    return (-batch.piece.environment.drying_difference / depth)[:, grid.zone]
