"""Rods: where they lie, friction, seating, tightening one after another, elongation.

P(x) = P0·exp(−(μ α + K x)) (ACI 318; FR-01 to FR-05 of the validation data). A rod acts on the net section from its
anchor face on; its effect on the strain of every rod's axis is the matrix `shortening`.
"""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array, Batch
from engineering.core.contract.piece import Rod
from engineering.core.grid import panel_middle
from engineering.core.quantities import Flags, Grid, Properties, Tendons
from engineering.core.statics import Frame

SEATING_HALVINGS = 50


@dataclass(frozen=True)
class Layout:
    """Where the rods lie. active (S, R); height_in, friction exponents from either end (Vg, S, R)."""

    active: Flags
    height_in: Array
    from_left: Array
    from_right: Array
    mean_weight: Array  # (S, R): sum(weight·f) is the mean of f between the anchor faces
    span_in: Array  # (R,)
    arc_in: Array  # (Vg, R)


def lay_out(batch: Batch, grid: Grid) -> Layout:
    size = len(grid.x_in)
    parts = [_rod_layout(batch, grid, number) for number in range(len(batch.piece.rods))]
    if not parts:
        none = np.zeros((1, size, 0))
        return Layout(np.zeros((size, 0), bool), none, none, none, np.zeros((size, 0)), np.zeros(0), np.zeros((1, 0)))
    active = np.stack([part[0] for part in parts], -1)
    height, left, right, arc = (np.stack(np.broadcast_arrays(*(part[k] for part in parts)), -1) for k in (1, 2, 3, 4))
    span = np.array([rod.profile[-1][0] - rod.profile[0][0] for rod in batch.piece.rods])
    return Layout(active, height, left, right, grid.weight_in[:, None] * active / span, span, arc)


def _rod_layout(batch: Batch, grid: Grid, number: int) -> tuple[Flags, Array, Array, Array, Array]:
    rod = batch.piece.rods[number]
    points = np.array([x for x, _ in rod.profile])
    y = batch.rods.y_in[number]
    middle = panel_middle(grid)
    active = (middle > points[0]) & (middle < points[-1])
    x = np.clip(grid.x_in, points[0], points[-1])
    if rod.curve == "parabola":
        height, turned, whole, arc = _parabola(x, points, y)
    else:
        height, turned, whole, arc = _polyline(x, middle, points, y)
    friction, wobble = batch.rods.friction[:, number, None], batch.rods.wobble_per_in[:, number, None]
    left = friction * turned + wobble * (x - points[0])
    right = friction * (whole - turned) + wobble * (points[-1] - x)
    return active, height, left, right, arc


def _polyline(x: Array, middle: Array, points: Array, y: Array) -> tuple[Array, Array, Array, Array]:
    """Height and angle turned so far (V, S), whole angle (V, 1), arc (V,)."""
    share = np.stack([np.interp(x, points, unit) for unit in np.eye(len(points))])
    run, rise = np.diff(points), np.diff(y, axis=1)
    kinks = np.abs(np.diff(np.arctan(rise / run), axis=1))
    passed = (middle > points[1:-1, None]).astype(float)
    return y @ share, kinks @ passed, kinks.sum(1, keepdims=True), np.hypot(run, rise).sum(1)


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
        y @ share,
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
    left, right = np.exp(-layout.from_left[..., number]), np.exp(-layout.from_right[..., number])
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
    for end, exponent in (("left", layout.from_left[..., number]), ("right", layout.from_right[..., number])):
        if rod.stressed_from in (end, "both"):
            seated = np.minimum(seated, _reflected(share, np.exp(-exponent), lost, layout.mean_weight[:, number]))
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
    """Effect of a unit mean force of each rod on the section: stress = axial + by_y·(y − yc) + by_z·(z − zc). (V,
    S, R)"""

    axial: Array
    by_y: Array
    by_z: Array
    vertical: Array  # moment that bends the piece vertically as loads would, primary, sagging + [in]


def rod_moments(batch: Batch, net: Properties, height: Array, shape: Array) -> RodMoments:
    n = {name: array[..., None] for name, array in vars(net).items()}
    dy = height - n["centroid_in"]
    dz = batch.rods.across_in[:, None, :] - n["across_in"]
    square = n["inertia_in4"] * n["lateral_in4"] - n["product_in4"] ** 2
    by_y = -shape * (dy * n["lateral_in4"] - dz * n["product_in4"]) / square
    by_z = -shape * (dz * n["inertia_in4"] - dy * n["product_in4"]) / square
    vertical = shape * (dy - dz * n["product_in4"] / n["lateral_in4"])
    return RodMoments(-shape / n["area_in2"], by_y, by_z, vertical)


def bending(net: Properties) -> tuple[Array, Array]:
    """Slope of the stress of a unit sagging moment upward and across, sideways free: by_y, by_z (Vg, S) [1/in4]."""
    square = net.inertia_in4 * net.lateral_in4 - net.product_in4**2
    return -net.lateral_in4 / square, net.product_in4 / square


def axis_strain_of_moment(batch: Batch, layout: Layout, net: Properties, moment: Array) -> Array:
    """Modulus × mean shortening strain on each rod's axis by moments (V, S): (V, R)."""
    by_y, by_z = bending(net)
    dy = layout.height_in - net.centroid_in[..., None]
    dz = batch.rods.across_in[:, None, :] - net.across_in[..., None]
    stress = moment[..., None] * (by_y[..., None] * dy + by_z[..., None] * dz)
    return -np.sum(stress * layout.mean_weight, axis=1)


def tighten(
    batch: Batch, layout: Layout, shortening: Array, seated: Array
) -> tuple[tuple[tuple[float, int], ...], Array]:
    """Forces after each turn (V, G, R): at each step every rod, in order, is brought to step × its seated force;
    the rods
    already tight follow the strain at their own axes. A rod not yet tightened, or slack, takes no part."""
    stressing, rods = batch.piece.stressing, batch.piece.rods
    count = len(rods)
    if stressing is None or not count:
        return (), np.zeros((batch.size, 0, count))
    marks = [rod.mark for rod in rods]
    turns = tuple((step, marks.index(mark)) for step in stressing.steps for mark in stressing.order)
    stiffness = batch.rods.area_in2 * batch.rods.modulus_psi / batch.concrete.modulus_at_stressing_psi[:, None]
    coupling = stiffness[..., None] * shortening
    force = np.zeros((batch.size, count))
    tight = np.zeros(count, bool)
    forces = []
    for step, turned in turns:
        rise = step * seated[:, turned] - force[:, turned]
        others = np.flatnonzero(tight & (np.arange(count) != turned))
        change = np.zeros_like(force)
        change[:, turned] = rise
        if len(others):
            matrix = np.eye(len(others)) + coupling[:, others[:, None], others]
            pull = -coupling[:, others, turned] * rise[:, None]
            change[:, others] = np.linalg.solve(matrix, pull[..., None])[..., 0]
        force = np.maximum(force + change, 0.0)
        tight[turned] = True
        forces.append(force)
    return turns, np.stack(forces, axis=1)


def stress_rods(batch: Batch, grid: Grid, layout: Layout, net: Properties, frame: Frame) -> tuple[Tendons, RodMoments]:
    """Everything about the rods up to and just after stressing."""
    rods, piece = batch.rods, batch.piece
    size, stations, count = batch.size, len(grid.x_in), len(piece.rods)
    shares = [jacking_share(rod, layout, k) for k, rod in enumerate(piece.rods)]
    seats = [seated_share(batch, layout, k, share) for k, share in enumerate(shares)]
    active = layout.active
    profile = _stacked(shares, stations) * active
    seated = _stacked(seats, stations) * active
    mean, seated_mean = (np.sum(p * layout.mean_weight, axis=1) for p in (profile, seated))
    least = np.min(np.where(active, profile, np.inf), axis=1) if count else mean
    safe = np.where(seated_mean > 0.0, seated_mean, 1.0)
    shape = np.where(seated_mean[:, None, :] > 0.0, seated / safe[:, None, :], active)
    moments = rod_moments(batch, net, layout.height_in, shape)
    unknown, whole = frame.held(np.moveaxis(moments.vertical, -1, 1))
    secondary = np.moveaxis(whole, 1, -1) - moments.vertical
    shortening = axis_shortening(batch, layout, net, moments, secondary)
    jacking = rods.jacking_lbf
    turns, turn_forces = tighten(batch, layout, shortening, np.broadcast_to(seated_mean * jacking, (size, count)))
    elongation = mean * jacking * layout.span_in / (rods.area_in2 * rods.modulus_psi)
    own = (
        np.einsum("vrr->vr", shortening)
        * mean
        * jacking
        / batch.concrete.modulus_at_stressing_psi[:, None]
        * layout.span_in
    )
    pitch = np.array([rod.thread.pitch_in for rod in piece.rods])
    wide = np.broadcast_to
    tendons = Tendons(
        active=active,
        height_in=wide(layout.height_in, (size, stations, count)),
        jacking_profile_lbf=wide(profile * jacking[:, None, :], (size, stations, count)),
        shape=wide(shape, (size, stations, count)),
        far_lbf=wide(least * jacking, (size, count)),
        mean_lbf=wide(mean * jacking, (size, count)),
        seated_lbf=wide(seated_mean * jacking, (size, count)),
        transfer_lbf=turn_forces[:, -1] if turns else np.zeros((size, count)),
        elongation_in=wide(elongation, (size, count)),
        nut_turns=wide((elongation + own) / pitch, (size, count)),
        length_in=wide(layout.arc_in + _beyond_faces(batch), (size, count)),
        face_span_in=layout.span_in,
        turns=turns,
        turn_lbf=turn_forces,
        secondary=wide(secondary, (size, stations, count)),
        secondary_reaction=wide(
            np.moveaxis(np.matmul(unknown, frame.hat_reactions), 1, -1), (size, len(piece.supports), count)
        ),
        shortening=wide(shortening, (size, count, count)),
    )
    return tendons, moments


def _stacked(parts: list[Array], stations: int) -> Array:
    return np.stack(np.broadcast_arrays(*parts), -1) if parts else np.zeros((1, stations, 0))


def axis_shortening(batch: Batch, layout: Layout, net: Properties, moments: RodMoments, secondary: Array) -> Array:
    """(V, R, R): modulus × mean shortening strain on axis r by a unit mean force of rod s, restraint included."""
    by_y, by_z = bending(net)
    full_y = moments.by_y + secondary * by_y[..., None]
    full_z = moments.by_z + secondary * by_z[..., None]
    dy = (layout.height_in - net.centroid_in[..., None]) * layout.mean_weight
    dz = (batch.rods.across_in[:, None, :] - net.across_in[..., None]) * layout.mean_weight
    flat = layout.mean_weight[None]
    return -(
        np.matmul(flat.swapaxes(1, 2), moments.axial)
        + np.matmul(dy.swapaxes(1, 2), full_y)
        + np.matmul(dz.swapaxes(1, 2), full_z)
    )


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
