"""Rods: where they lie, friction, seating, tightening one after another, elongation.

P(x) = P0·exp(−(μ α + K x)) (ACI 318; FR-01 to FR-05 of the validation data). A rod acts on the net section from its
anchor face on; its effect on the strain of every rod's axis is the matrix `shortening`.
"""

from dataclasses import dataclass, replace

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.contract.piece import Rod
from engineering.core.coupled import solved
from engineering.core.grid import panel_middle
from engineering.core.quantities import Flags, Grid, Properties, Tendons
from engineering.core.statics import Frame

SEATING_HALVINGS = 50


@dataclass(frozen=True)
class Layout:
    """Where the rods lie, rods first. active, mean_weight (R, S); height_in, friction exponents from either end
    (R, Vg, S); sum(mean_weight·f) is the mean of f between the anchor faces. places (rows, S): stations with the same
    column have every rod at the same height in every variant."""

    active: Flags
    places: Array
    height_in: Array
    from_left: Array
    from_right: Array
    mean_weight: Array
    span_in: Array  # (R,)
    arc_in: Array  # (R, Vg)


def lay_out(batch: Batch, grid: Grid) -> Layout:
    size = len(grid.x_in)
    parts = [_rod_layout(batch, grid, number) for number in range(len(batch.piece.rods))]
    if not parts:
        none = np.zeros((0, 1, size))
        flat = np.zeros((0, size))
        return Layout(flat.astype(bool), flat, none, none, none, flat, np.zeros(0), np.zeros((0, 1)))
    active, places = np.stack([part[0] for part in parts]), np.concatenate([part[1] for part in parts])
    height, left, right, arc = (stacked(list(column)) for column in list(zip(*parts, strict=True))[2:])
    span = np.array([rod.profile[-1][0] - rod.profile[0][0] for rod in batch.piece.rods])
    return Layout(active, places, height, left, right, grid.weight_in * active / span[:, None], span, arc)


def stacked(parts: list[Array]) -> Array:
    """Arrays (V or 1, ...) of the rods, one behind another (R, V or 1, ...)."""
    lead = max(part.shape[0] for part in parts)
    return np.stack([wide(part, (lead, *part.shape[1:])) for part in parts])


def _rod_layout(batch: Batch, grid: Grid, number: int) -> tuple[Flags, Array, Array, Array, Array, Array]:
    rod = batch.piece.rods[number]
    points = np.array([x for x, _ in rod.profile])
    y = batch.rods.y_in[number]
    middle = panel_middle(grid)
    active = (middle > points[0]) & (middle < points[-1])
    x = np.clip(grid.x_in, points[0], points[-1])
    if rod.curve == "parabola":
        share, turned, whole, arc = _parabola(x, points, y)
    else:
        share, turned, whole, arc = _polyline(x, middle, points, y)
    friction, wobble = batch.rods.friction[:, number, None], batch.rods.wobble_per_in[:, number, None]
    left = friction * turned + wobble * (x - points[0])
    right = friction * (whole - turned) + wobble * (points[-1] - x)
    level = bool(np.all(y == y[:, :1]))
    return (
        active,
        share[:0] if level else share,
        wide(y[:, :1], (len(y), len(x))) if level else y @ share,
        left,
        right,
        arc,
    )


def _polyline(x: Array, middle: Array, points: Array, y: Array) -> tuple[Array, Array, Array, Array]:
    """Share of each point in the height (points, S), angle turned so far (V, S), whole angle (V, 1), arc (V,)."""
    share = np.stack([np.interp(x, points, unit) for unit in np.eye(len(points))])
    run, rise = np.diff(points), np.diff(y, axis=1)
    kinks = np.abs(np.diff(np.arctan(rise / run), axis=1))
    passed = (middle > points[1:-1, None]).astype(float)
    return share, kinks @ passed, kinks.sum(1, keepdims=True), np.hypot(run, rise).sum(1)


def _parabola(x: Array, points: Array, y: Array) -> tuple[Array, Array, Array, Array]:
    a, b, c = points
    bottoms = (a - b) * (a - c), (b - a) * (b - c), (c - a) * (c - b)
    others = (b, c), (a, c), (a, b)
    share = np.stack([(x - p) * (x - q) / bottom for (p, q), bottom in zip(others, bottoms, strict=True)])
    slopes = np.stack([(2 * x - p - q) / bottom for (p, q), bottom in zip(others, bottoms, strict=True)])
    ends = np.array(
        [[(2 * e - p - q) / bottom for e in (a, c)] for (p, q), bottom in zip(others, bottoms, strict=True)]
    )
    first, last = (y @ ends).T[..., None]
    arc = _parabola_primitive(last, first, c - a)
    return (
        share,
        np.abs(np.arctan(y @ slopes) - np.arctan(first)),
        np.abs(np.arctan(last) - np.arctan(first)),
        arc[:, 0],
    )


def _parabola_primitive(last: Array, first: Array, run: float) -> Array:
    """Arc length of a parabola from its end slopes: Gauss-Legendre over the slope, exact to rounding at these
    slopes."""
    nodes, weights = np.polynomial.legendre.leggauss(12)
    slope = first + (last - first) * (nodes + 1) / 2
    return run * np.sum(np.sqrt(1 + slope**2) * weights / 2, axis=-1, keepdims=True)


def jacking_share(rod: Rod, layout: Layout, number: int) -> Array:
    """Force along the rod over the force under the nut, before seating (Vg, S)."""
    left, right = np.exp(-layout.from_left[number]), np.exp(-layout.from_right[number])
    return {"left": left, "right": right, "both": np.maximum(left, right)}[rod.stressed_from]


def seated_share(batch: Batch, layout: Layout, number: int, share: Array) -> Array:
    """The same after the nut has seated (V, S): at each stressed end the friction curve is reflected about the level at
    which the area between the two curves is slip·E·A (FR-02, FR-05); level by halving. Not below 0."""
    rod, slip = batch.piece.rods[number], batch.piece.stressing.seating_in if batch.piece.stressing else 0.0
    if slip == 0.0:
        return share
    rods = batch.rods
    stiffness = rods.modulus_psi[:, number] * rods.area_in2[:, number]
    lost = slip * stiffness / rods.jacking_lbf[:, number] / layout.span_in[number]
    seated = share
    for end, exponent in (("left", layout.from_left[number]), ("right", layout.from_right[number])):
        if rod.stressed_from in (end, "both"):
            seated = np.minimum(seated, _reflected(share, np.exp(-exponent), lost, layout.mean_weight[number]))
    return seated


def _reflected(share: Array, falling: Array, lost: Array, weight: Array) -> Array:
    low, high = np.zeros_like(lost), np.ones_like(lost)
    for _ in range(SEATING_HALVINGS):
        level = 0.5 * (low + high)
        reflected = np.maximum(2.0 * level[:, None] - falling, 0.0)
        area = np.matmul(share - np.minimum(share, reflected), weight)
        low, high = np.where(area > lost, level, low), np.where(area > lost, high, level)
    return np.maximum((low + high)[:, None] - falling, 0.0)


@dataclass(frozen=True)
class RodMoments:
    """Effect of a unit mean force of each rod on the section: stress = axial + by_y·(y − yc) + by_z·(z − zc), and the
    moment that bends the piece vertically as loads would, primary and secondary, sagging + [in]. (R, V or 1, S)."""

    axial: Array
    by_y: Array
    by_z: Array
    vertical: Array
    secondary: Array


def arms(batch: Batch, layout: Layout, net: Properties) -> tuple[Array, Array]:
    """y − yc and z − zc of the axes (R, V or 1, S)."""
    return layout.height_in - net.centroid_in, batch.rods.across_in.T[:, :, None] - net.across_in


def rod_moments(net: Properties, dy: Array, dz: Array, shape: Array) -> RodMoments:
    square = net.inertia_in4 * net.lateral_in4 - net.product_in4**2
    by_y = -shape * (dy * net.lateral_in4 - dz * net.product_in4) / square
    by_z = -shape * (dz * net.inertia_in4 - dy * net.product_in4) / square
    vertical = shape * (dy - dz * (net.product_in4 / net.lateral_in4))
    return RodMoments(-shape / net.area_in2, by_y, by_z, vertical, np.zeros_like(vertical))


def bending(net: Properties) -> tuple[Array, Array]:
    """Slope of the stress of a unit sagging moment upward and across, sideways free: by_y, by_z (Vg, S) [1/in4]."""
    square = net.inertia_in4 * net.lateral_in4 - net.product_in4**2
    return -net.lateral_in4 / square, net.product_in4 / square


def axis_strain_of_moment(batch: Batch, layout: Layout, net: Properties, moment: Array) -> Array:
    """Modulus × mean shortening strain on each rod's axis by moments (V, S): (R, V)."""
    by_y, by_z = bending(net)
    dy, dz = arms(batch, layout, net)
    stress = (by_y * moment) * dy + (by_z * moment) * dz
    return -np.matmul(stress, layout.mean_weight[..., None])[..., 0]


def axis_shortening(layout: Layout, net: Properties, dy: Array, dz: Array, moments: RodMoments) -> Array:
    """(R, R, V or 1): modulus × mean shortening strain on axis r by a unit mean force of rod s, restraint included."""
    by_y, by_z = bending(net)
    full_y, full_z = moments.by_y + moments.secondary * by_y, moments.by_z + moments.secondary * by_z
    rows = []
    for weight, y, z in zip(layout.mean_weight, dy, dz, strict=True):
        stress = moments.axial + full_y * y + full_z * z
        rows.append(-np.matmul(stress, weight))
    lead = max((row.shape[-1] for row in rows), default=1)
    return np.stack([wide(row, (len(rows), lead)) for row in rows]) if rows else np.zeros((0, 0, 1))


def tighten(batch: Batch, shortening: Array, seated: Array) -> tuple[tuple[tuple[float, int], ...], Array]:
    """Forces after each turn (G, R, V): at each step every rod, in order, is brought to step × its seated force (R, V);
    the rods already tight follow the strain at their own axes. One not yet tightened, or slack, takes no part."""
    stressing, rods = batch.piece.stressing, batch.piece.rods
    count = len(rods)
    if stressing is None or not count:
        return (), np.zeros((0, count, batch.size))
    marks = [rod.mark for rod in rods]
    turns = tuple((step, marks.index(mark)) for step in stressing.steps for mark in stressing.order)
    stiffness = (batch.rods.area_in2 * batch.rods.modulus_psi).T / batch.concrete.modulus_at_stressing_psi
    coupling = stiffness[:, None] * shortening
    unit = np.eye(count)[..., None]
    forces = np.zeros((len(turns), count, batch.size))
    force = np.zeros((count, batch.size))
    tight: list[int] = []
    for turn, (step, turned) in enumerate(turns):
        rise = step * seated[turned] - force[turned]
        others = [k for k in tight if k != turned]
        change = np.zeros_like(force)
        if others:
            pick = np.ix_(others, others)
            pull = -coupling[others, turned] * rise
            change[others] = solved(wide(unit[pick] + coupling[pick], (len(others), *pull.shape)), pull)
        change[turned] = rise
        force = np.maximum(force + change, 0.0)
        tight += [turned] if turned not in tight else []
        forces[turn] = force
    return turns, forces


def stress_rods(batch: Batch, grid: Grid, layout: Layout, net: Properties, frame: Frame) -> tuple[Tendons, RodMoments]:
    """Everything about the rods up to and just after stressing."""
    size, count, stations = batch.size, len(batch.piece.rods), len(grid.x_in)
    profile, seated = force_shares(batch, layout, stations)
    mean, seated_mean = (np.matmul(p, layout.mean_weight[..., None])[..., 0] for p in (profile, seated))  # (R, V or 1)
    slack = seated_mean <= 0.0
    shape = np.where(slack[..., None], layout.active[:, None], seated / np.where(slack, 1.0, seated_mean)[..., None])
    dy, dz = arms(batch, layout, net)
    moments = rod_moments(net, dy, dz, shape)
    unknown, whole = frame.held(np.swapaxes(moments.vertical, 0, 1))
    if len(frame.hats):
        moments = replace(moments, secondary=np.swapaxes(whole, 0, 1) - moments.vertical)
    shortening = axis_shortening(layout, net, dy, dz, moments)
    jacking = wide(batch.rods.jacking_lbf.T, (count, size))
    turns, turn_forces = tighten(batch, shortening, wide(seated_mean * jacking, (count, size)))
    stiffness = (batch.rods.area_in2 * batch.rods.modulus_psi).T
    elongation = mean * jacking * layout.span_in[:, None] / stiffness
    own = np.einsum("rrv->rv", shortening) * mean * jacking / batch.concrete.modulus_at_stressing_psi
    pitch = np.array([rod.thread.pitch_in for rod in batch.piece.rods]).reshape(-1, 1)
    least = np.min(np.where(layout.active[:, None], profile, np.inf), axis=-1, initial=np.inf)

    def by_variant(values: Array) -> Array:
        return wide(values, (count, size)).T

    def along(values: Array) -> Array:
        return np.moveaxis(wide(values, (count, size, stations)), 0, -1)

    reactions = np.moveaxis(np.matmul(unknown, frame.hat_reactions), 1, -1)
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
        turn_lbf=np.moveaxis(turn_forces, -1, 0),
        secondary=along(moments.secondary),
        secondary_reaction=wide(reactions, (size, len(batch.piece.supports), count)),
        shortening=np.moveaxis(wide(shortening, (count, count, size)), -1, 0),
    )
    return tendons, moments


def force_shares(batch: Batch, layout: Layout, stations: int) -> tuple[Array, Array]:
    """Force along each rod over that under its nut, before and after seating, 0 beyond the faces (R, V or 1, S)."""
    if not batch.piece.rods:
        return np.zeros((0, 1, stations)), np.zeros((0, 1, stations))
    shares = [jacking_share(rod, layout, k) for k, rod in enumerate(batch.piece.rods)]
    seats = [seated_share(batch, layout, k, share) for k, share in enumerate(shares)]
    inside = layout.active[:, None]
    return stacked(shares) * inside, stacked(seats) * inside


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
