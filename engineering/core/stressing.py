"""The rods as stressed: forces along them, one tightened after another, elongation, turns of the nut."""

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.contract.piece import Rod
from engineering.core.coupled import inverse, times, without_pushing
from engineering.core.quantities import Grid, Tendons
from engineering.core.statics import Frame
from engineering.core.tendons import (
    Layout,
    Lever,
    RodMoments,
    axis_shortening,
    jacking_shares,
    rod_moments,
    seated_share,
    stacked,
    with_secondary,
)


def tighten(batch: Batch, shortening: Array, seated: Array) -> tuple[tuple[tuple[float, int], ...], Array]:
    """Forces after each turn (G, R, V): at each step every rod, in order, is brought to step × its seated force (R, V);
    the rods already tight follow the strain at their own axes, or go slack. One not yet tightened takes no part."""
    stressing, rods = batch.piece.stressing, batch.piece.rods
    count = len(rods)
    if stressing is None or not count:
        return (), np.zeros((0, count, batch.size))
    marks = [rod.mark for rod in rods]
    turns = tuple((step, marks.index(mark)) for step in stressing.steps for mark in stressing.order)
    stiffness = (batch.rods.area_in2 * batch.rods.modulus_psi).T / batch.concrete.modulus_at_stressing_psi
    matrix = np.eye(count)[..., None] + stiffness[:, None] * shortening
    forces, drawn = np.zeros((len(turns), count, batch.size)), np.zeros((count, batch.size))
    tight: list[int] = []
    responses: dict[tuple[int, ...], Array] = {}  # by the rods that follow
    for force, (step, turned) in zip(forces, turns, strict=True):
        others = tuple(k for k in tight if k != turned)
        if others not in responses:
            responses[others] = _response(matrix, others)
        drawn[turned] = step * seated[turned]  # the force it is brought to, until its nut is left
        force[:] = times(responses[others], drawn)
        if np.count_nonzero(force < 0.0):
            right = drawn[[*others]] - matrix[others, turned] * drawn[turned]
            force[[*others]] = without_pushing(matrix[others, :][:, others], right)
        drawn[turned] = np.add.reduce(matrix[turned] * force, 0)  # by the nut, of the concrete not yet shortened
        tight += [turned] if turned not in tight else []
    return turns, forces


def _response(matrix: Array, others: tuple[int, ...]) -> Array:
    """Forces of the rods (R, R, V) for a unit force in the rod being turned and a unit drawn into each that follows."""
    follows = np.zeros((len(matrix), 1, 1), bool)
    follows[[*others]] = True
    return inverse(np.where(follows, matrix, np.eye(len(matrix))[..., None]))


def stress_rods(batch: Batch, grid: Grid, layout: Layout, at: Lever, frame: Frame) -> tuple[Tendons, RodMoments]:
    """Everything about the rods up to and just after stressing."""
    size, count, stations = batch.size, len(batch.piece.rods), len(grid.x_in)
    profile, seated = force_shares(batch, layout, stations)
    mean, seated_mean = (np.matmul(p, layout.mean_weight[..., None])[..., 0] for p in (profile, seated))  # (R, V or 1)
    slack = seated_mean <= 0.0
    shape = np.where(slack[..., None], layout.active[:, None], seated / np.where(slack, 1.0, seated_mean)[..., None])
    moments = rod_moments(layout, at, shape)
    unknown, whole = frame.held(np.swapaxes(moments.vertical, 0, 1))
    if len(frame.hats):
        moments = with_secondary(moments, layout, at, np.swapaxes(whole, 0, 1) - moments.vertical)
    shortening = axis_shortening(layout, at, moments)
    jacking = wide(batch.rods.jacking_lbf.T, (count, size))
    turns, turn_forces = tighten(batch, shortening, wide(seated_mean * jacking, (count, size)))
    stiffness = (batch.rods.area_in2 * batch.rods.modulus_psi).T
    elongation = mean * jacking * layout.span_in[:, None] / stiffness
    own = np.einsum("rrv->rv", shortening) * mean * jacking / batch.concrete.modulus_at_stressing_psi
    pitch = np.array([rod.thread.pitch_in for rod in batch.piece.rods]).reshape(-1, 1)
    least = np.where(layout.active[:, None], profile, np.inf).min(axis=-1, initial=np.inf)

    def by_variant(values: Array) -> Array:
        return wide(values, (count, size)).T

    def along(values: Array) -> Array:
        return wide(values, (count, size, stations)).transpose(1, 2, 0)

    reactions = np.matmul(unknown, frame.hat_reactions).swapaxes(1, 2)
    tendons = Tendons(
        active=layout.active.T,
        height_in=along(layout.height_in),
        jacking_profile_lbf=along(profile * jacking[..., None]),
        shape=along(shape),
        far_lbf=by_variant(least * jacking),
        mean_lbf=by_variant(mean * jacking),
        seated_lbf=by_variant(seated_mean * jacking),
        transfer_lbf=turn_forces[-1].T if turns else np.zeros((size, count)),
        elongation_in=by_variant(elongation),
        nut_turns=by_variant((elongation + own * layout.span_in[:, None]) / pitch),
        length_in=by_variant(layout.arc_in + _beyond_faces(batch)[:, None]),
        face_span_in=layout.span_in,
        turns=turns,
        turn_lbf=turn_forces.transpose(2, 0, 1),
        secondary=along(moments.secondary),
        secondary_reaction=wide(reactions, (size, len(batch.piece.supports), count)),
        shortening=wide(shortening, (count, count, size)).transpose(2, 0, 1),
    )
    return tendons, moments


def force_shares(batch: Batch, layout: Layout, stations: int) -> tuple[Array, Array]:
    """Force along each rod over that under its nut, before and after seating, 0 beyond the faces (R, V or 1, S)."""
    if not batch.piece.rods:
        return np.zeros((0, 1, stations)), np.zeros((0, 1, stations))
    inside, shares = layout.active[:, None], jacking_shares(batch.piece.rods, layout)
    profile = shares * inside
    if batch.piece.stressing is None or batch.piece.stressing.seating_in == 0.0:
        return profile, profile
    return profile, stacked([seated_share(batch, layout, k, share) for k, share in enumerate(shares)]) * inside


def _beyond_faces(batch: Batch) -> Array:
    """Plate and nut (one diameter) at each end, the tail at a stressed end, two pitches at a dead end. (R,)"""

    def one(rod: Rod) -> float:
        stressed = 2 if rod.stressed_from == "both" else 1
        return (
            2 * (rod.anchor.thickness_in + rod.thread.diameter_in)
            + stressed * rod.tail_in
            + (2 - stressed) * 2 * rod.thread.pitch_in
        )

    return np.array([one(rod) for rod in batch.piece.rods])
