"""Rods: where they lie, friction, seating, and what a force in them does to the sections.

P(x) = P0·exp(−(μ α + K x)) (ACI 318; FR-01 to FR-05 of the validation data). A rod acts on the net section from its
anchor face on; its effect on the strain of every rod's axis is the matrix `shortening`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.contract.piece import Rod
from engineering.core.quantities import Alike, Flags, Grid, Properties, Whole

SEATING_HALVINGS = 50


@dataclass(frozen=True)
class Layout:
    """Where the rods lie, rods first. active, mean_weight (R, S); height_in, friction exponents from either end
    (R, Vg, S); sum(mean_weight·f) is the mean of f between the anchor faces."""

    active: Flags
    alike: Alike
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
        alike = alike_stations(batch.sorts[1][grid.zone], flat, flat)
        return Layout(flat.astype(bool), alike, none, none, none, flat, np.zeros(0), np.zeros((0, 1)))
    active, places = np.array([part[0] for part in parts]), np.concatenate([part[1] for part in parts])
    alike = alike_stations(batch.sorts[1][grid.zone], active, places)
    height, left, right, arc = (stacked(list(column)) for column in list(zip(*parts, strict=True))[2:])
    span = np.array([rod.profile[-1][0] - rod.profile[0][0] for rod in batch.piece.rods])
    return Layout(active, alike, height, left, right, grid.weight_in * active / span[:, None], span, arc)


def alike_stations(sort: Whole, active: Array | Flags, places: Array) -> Alike:
    """Stations in one sort of section (S,), with the same rods at the same heights in every variant. active (R, S);
    places (rows, S): stations with the same column have every rod at the same height."""
    columns = np.ascontiguousarray(np.concatenate([sort[None], active, places]).T)
    number: dict[bytes, int] = {}
    again = [number.setdefault(column, len(number)) for column in columns.view(f"V{columns[0].nbytes}")[:, 0].tolist()]
    return Alike(np.array([again.index(kind) for kind in range(len(number))]), np.array(again))


def stacked(parts: list[Array]) -> Array:
    """Arrays (V or 1, ...) of the rods, one behind another (R, V or 1, ...)."""
    lead = max(part.shape[0] for part in parts)
    return np.array([wide(part, (lead, *part.shape[1:])) for part in parts])


def _rod_layout(batch: Batch, grid: Grid, number: int) -> tuple[Flags, Array, Array, Array, Array, Array]:
    rod = batch.piece.rods[number]
    points = np.array([x for x, _ in rod.profile])
    y = batch.rods.y_in[number]
    middle = grid.panel_middle_in
    active = (middle > points[0]) & (middle < points[-1])
    x = np.minimum(np.maximum(grid.x_in, points[0]), points[-1])
    level = bool((y == y[:, :1]).all())
    turned, whole, share = np.zeros((1, 1)), np.zeros((1, 1)), np.zeros((0, len(x)))
    if level:
        arc = np.full(len(y), points[-1] - points[0])
    elif rod.curve == "parabola":
        share, turned, whole, arc = _parabola(x, points, y)
    else:
        turned, whole, arc = _polyline(middle, points, y)
        share = _shares(x, points)
    friction, wobble = batch.rods.friction[:, number, None], batch.rods.wobble_per_in[:, number, None]
    left = friction * turned + wobble * (x - points[0])
    right = friction * (whole - turned) + wobble * (points[-1] - x)
    return (
        active,
        share,
        wide(y[:, :1], (len(y), len(x))) if level else y @ share,
        left,
        right,
        arc,
    )


def _shares(x: Array, points: Array) -> Array:
    """Of each point of a polyline in the height at x (points, S)."""
    return np.array([np.interp(x, points, unit) for unit in np.eye(len(points))])


def _polyline(middle: Array, points: Array, y: Array) -> tuple[Array, Array, Array]:
    """Angle turned so far (V, S), whole angle (V, 1), arc (V,)."""
    run, rise = points[1:] - points[:-1], y[:, 1:] - y[:, :-1]
    turn = np.arctan(rise / run)
    kinks = np.abs(turn[:, 1:] - turn[:, :-1])
    passed = (middle > points[1:-1, None]).astype(float)
    return kinks @ passed, kinks.sum(1, keepdims=True), np.hypot(run, rise).sum(1)


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


def jacking_shares(rods: Sequence[Rod], layout: Layout) -> Array:
    """Force along the rods over the force under their nuts, before seating (R, Vg, S)."""
    left, right = (
        np.where(np.array([[[rod.stressed_from in (end, "both")]] for rod in rods]), exponent, np.inf)
        for end, exponent in (("left", layout.from_left), ("right", layout.from_right))
    )
    return np.exp(-np.minimum(left, right))


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
    """Effect of a unit mean force of each rod on the section: stress = axial + by_y·(y − yc) + by_z·(z − zc), those
    three in one array (3, R, V or 1, S): `primary` by the rod's place alone, `whole` with what the supports do to it;
    and the moment that bends the piece vertically as loads would, sagging + [in], each (R, V or 1, S)."""

    primary: Array
    whole: Array
    vertical: Array  # primary
    secondary: Array


@dataclass(frozen=True)
class Lever:
    """The sections of `Layout.alike`, sleeves taken out, and where the rods lie in them: y − yc and z − zc of the axes
    (R, V or 1, K); what a unit sagging moment makes of stress upward and across, sideways free (V or 1, K) [1/in4]."""

    net: Properties
    dy: Array
    dz: Array
    by_y: Array
    by_z: Array


def lever(batch: Batch, layout: Layout, own: Properties) -> Lever:
    """own: of the sections of `Layout.alike`, sleeves taken out (V or 1, K)."""
    dy = layout.height_in[..., layout.alike.first] - own.centroid_in
    return Lever(own, dy, batch.rods.across_in.T[:, :, None] - own.across_in, *bending(own))


def rod_moments(layout: Layout, at: Lever, shape: Array) -> RodMoments:
    net, dy, dz = at.net, at.dy, at.dz
    square = net.inertia_in4 * net.lateral_in4 - net.product_in4**2
    by_y = (dz * net.product_in4 - dy * net.lateral_in4) / square
    by_z = (dy * net.product_in4 - dz * net.inertia_in4) / square
    vertical = dy - dz * (net.product_in4 / net.lateral_in4)
    sections = np.array([wide(-1.0 / net.area_in2, by_y.shape), by_y, by_z, vertical])
    along = sections[..., layout.alike.again] * shape
    return RodMoments(along[:3], along[:3], along[3], np.zeros((len(dy), 1, shape.shape[-1])))


def with_secondary(moments: RodMoments, layout: Layout, at: Lever, secondary: Array) -> RodMoments:
    """The same on more than two supports: secondary moments (R, V or 1, S)."""
    turned = np.array([at.by_y, at.by_z])[..., layout.alike.again]
    held = np.concatenate([moments.primary[:1], moments.primary[1:] + secondary * turned[:, None]])
    return replace(moments, whole=held, secondary=secondary)


def bending(net: Properties) -> tuple[Array, Array]:
    """Slope of the stress of a unit sagging moment upward and across, sideways free: by_y, by_z (Vg, S) [1/in4]."""
    square = net.inertia_in4 * net.lateral_in4 - net.product_in4**2
    return -net.lateral_in4 / square, net.product_in4 / square


def axis_strain_of_moment(layout: Layout, at: Lever, moment: Array) -> Array:
    """Modulus × mean shortening strain on each rod's axis by moments (V, S): (R, V)."""
    per_moment = at.by_y * at.dy + at.by_z * at.dz
    return -np.matmul(per_moment[..., layout.alike.again] * moment, layout.mean_weight[..., None])[..., 0]


def axis_shortening(layout: Layout, at: Lever, moments: RodMoments) -> Array:
    """(R, R, V or 1): modulus × mean shortening strain on axis r by a unit mean force of rod s, restraint included.

    Summed section by section: within one, a rod's lever is the same all along.
    """
    count, sections = len(layout.mean_weight), len(layout.alike.first)
    if not count:
        return np.zeros((0, 0, 1))
    belongs = np.eye(sections)[layout.alike.again]  # (S, K)
    weights = (layout.mean_weight.T[..., None] * belongs[:, None]).reshape(len(belongs), count * sections)
    axial, by_y, by_z = np.matmul(moments.whole, weights).reshape(3, count, -1, count, sections)
    dy, dz = at.dy.swapaxes(0, 1), at.dz.swapaxes(0, 1)
    strain = np.add.reduce(axial + by_y * dy + by_z * dz, -1)  # (rod that pulls, V or 1, rod whose axis it is)
    return np.ascontiguousarray(-strain.transpose(2, 0, 1))
