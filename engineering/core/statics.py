"""The piece as a beam on any number of supports that hold both ways, free to bow sideways.

Moments over the inner supports are the unknowns of a force method: hats (1 over one inner support, 0 over its
neighbours) as virtual moments, flexibility 1/(E I_free) integrated along the piece. Sagging moment and curvature +.
"""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.loads import (
    Effects,
    LivePlan,
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
    hat_slopes: Array  # (K, S) shear of a unit moment over the support [1/in]
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
    return Frame(at, hats, slopes, reactions, np.linalg.inv(flexibility), weights, free_inertia)


def effects_on(frame: Frame, basic: Effects, lead: int = 1) -> tuple[Array, Array, Array]:
    """Moments, shears (V or 1, rows, S) and reactions (V or 1, rows, N) on all supports."""
    if not len(frame.hats):
        return basic.moment[None], basic.shear[None], basic.reaction[None]
    unknown, moment = frame.held(basic.moment[None])
    return (
        moment,
        basic.shear + np.matmul(unknown, frame.hat_slopes),
        basic.reaction + np.matmul(unknown, frame.hat_reactions),
    )


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
    selves = [np.matmul(weight[:, None, :], part[:, :zones])[:, 0, :] for part in effects]
    deads = [part[:, zones] for part in effects]
    live = [part[:, zones + 1 :] for part in effects]
    live_most = [envelope([group_envelope(group, part) for group in plan.groups]) for part in live]
    sustained = piece.sustained_live * live[0][:, list(plan.sustained)].sum(1)
    modulus = batch.concrete.modulus_psi[:, None]
    drying = frame.restrained(drying_curvature(batch, grid, sections)) * modulus
    whole = wide
    size, stations, number = batch.size, len(grid.x_in), len(frame.supports_in)
    line, post = (size, stations), (size, number)
    loading = Loading(
        self_moment=whole(selves[0], line),
        dead_moment=whole(selves[0] + deads[0], line),
        live_moment_max=whole(live_most[0][0], line),
        live_moment_min=whole(live_most[0][1], line),
        sustained_moment=whole(sustained, line),
        self_shear=whole(selves[1], line),
        dead_shear=whole(selves[1] + deads[1], line),
        live_shear_max=whole(live_most[1][0], line),
        live_shear_min=whole(live_most[1][1], line),
        dead_reaction=whole(selves[2] + deads[2], post),
        live_reaction_max=whole(live_most[2][0], post),
        live_reaction_min=whole(live_most[2][1], post),
        settlement_moment=whole(frame.settled(piece.criteria.support_tolerance_in) * modulus, (number, *line)),
        drying_moment=whole(drying, line),
    )
    return LoadCases(weight, selves[0], deads[0], plan, live[0], sustained, loading)


def drying_curvature(batch: Batch, grid: Grid, sections: Sections) -> Array:
    """(Vg, S) curvature of one-sided drying: the bottom shrinks more, so the piece hogs (−)."""
    depth = sections.gross.top_in - sections.gross.bottom_in
    return (-batch.piece.environment.drying_difference / depth)[:, grid.zone]
