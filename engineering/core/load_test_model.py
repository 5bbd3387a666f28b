"""What the load-to-failure analysis knows of a piece: stations, fibres, rods, moments. Nominal variant, two supports
or more.

Vertical bending of net sections. Moments of a unit load are those of 1 lbf spread over the whole length [in].
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engineering.core.batching import NOMINAL, Array, Batch
from engineering.core.fibres import ConcreteLaw, RodLaw, circle_below, gauss_fibres, sleeve_fibres, thin_layers
from engineering.core.grid import deflection_matrix, middle_of_longest_span, station_at
from engineering.core.loads import Patch, apart, live_plan, patch_effects
from engineering.core.quantities import Analysis, Grid
from engineering.core.statics import build_frame, effects_on


@dataclass(frozen=True)
class TestModel:
    """S stations, K fibres, R rods. Levels y as in the piece; fibre levels about the station's own centroid."""

    grid: Grid
    concrete: ConcreteLaw
    rods: RodLaw
    fibre_in: Array  # (S, K) level over the net centroid
    fibre_in2: Array  # (S, K) area, sleeves negative
    centroid_in: Array  # (S,)
    top_in: Array  # (S,)
    bottom_in: Array
    rod_in: Array  # (S, R) level over the net centroid
    active: Array  # (S, R) 1 between the anchor faces
    rod_weight: Array  # (S, R) mean along the rod
    start_lbf: Array  # (R,) forces after transfer, not over yield
    self_moment: Array  # (S,)
    service_moment: Array  # (S,) self weight, dead and all live loads that are not alone, all spans
    unit_moment: Array  # (S,)
    unit_shear: Array  # (S,)
    self_shear: Array
    middle: int  # station in the middle of the longest span
    span_in: tuple[float, float]  # the longest span
    faces_in: Array  # (R, 2) anchor faces
    sleeve_in: Array  # (R,) outside diameters
    sleeve_share: Array  # (S,) part of the sleeves that lies in concrete
    zone_layers: tuple[tuple[Array, Array, Array], ...]  # thin layers of each zone's gross section: edges, areas
    rise: Array  # (S,) turns curvature [1/in] into the rise of that station over its chord [in]

    def layers_at(self, station: int) -> tuple[Array, Array, Array]:
        """Thin layers of the net section: lower edges, upper edges [in, as in the piece], areas [in2]."""
        low, high, area = self.zone_layers[int(self.grid.zone[station])]
        for level, outside, active in zip(
            self.rod_in[station] + self.centroid_in[station], self.sleeve_in, self.active[station], strict=True
        ):
            cut = circle_below(high - level, 0.5 * outside) - circle_below(low - level, 0.5 * outside)
            area = area - cut * active * self.sleeve_share[station]
        return low, high, area

    @cached_property
    def fibre_moments(self) -> Array:
        """Of each fibre: area, area × level, area × level² (3, S, K)."""
        return self.fibre_in2 * self.fibre_in ** np.arange(3.0)[:, None, None]

    @cached_property
    def fibre_arms(self) -> Array:
        """What a unit stress in each fibre gives to force and sagging moment: area, -area × level (2, S, K)."""
        return self.fibre_moments[:2] * np.array([1.0, -1.0])[:, None, None]

    @cached_property
    def flexibility_terms(self) -> Array:
        """What the tangent modulus of each fibre gives to a station's 2 × 2 matrix that turns force and sagging moment
        off balance into strain and curvature, before it is divided by the determinant (2, 2, S, K)."""
        area, first, second = self.fibre_moments
        return np.array([[second, first], [first, area]])

    @cached_property
    def rod_arms(self) -> Array:
        """What a unit force in each rod asks of the concrete: force, sagging moment (2, S, R)."""
        return self.active * np.array([-np.ones_like(self.rod_in), self.rod_in])

    @cached_property
    def mean_along(self) -> Array:
        """Turns strain at the centroid and curvature of all stations, one behind the other, into the mean strain along
        each rod's axis (R, 2 S)."""
        return np.concatenate([self.rod_weight, -self.rod_weight * self.rod_in]).T

    @cached_property
    def farthest_in(self) -> float:
        return float(np.abs(self.fibre_in).max())

    @cached_property
    def start_strain(self) -> Array:
        """Strain of each rod at its force after transfer (R,)."""
        return self.start_lbf / (self.rods.area_in2 * self.rods.modulus_psi)


def test_model(analysis: Analysis) -> TestModel:
    """Read once from the analysis, at nominal force with 28-day properties."""
    piece, grid = analysis.batch.piece, analysis.grid
    fibre, area, share = _fibres(analysis)
    centroid = analysis.net.centroid_in[NOMINAL]
    span = (piece.supports, middle_of_longest_span(piece))
    left = max(s.at_in for s in span[0] if s.at_in < span[1])
    right = min(s.at_in for s in span[0] if s.at_in > span[1])
    middle = station_at(grid, span[1])
    active = analysis.tendons.active.astype(float)
    weight = active * grid.weight_in[:, None] / np.maximum(analysis.tendons.face_span_in, 1e-9)
    unit, shear, live = moments_of_spread_load(analysis)
    c, r = analysis.batch.concrete, analysis.batch.rods
    yields = (analysis.batch.rods.area_in2 * analysis.batch.rods.yield_psi)[NOMINAL]
    return TestModel(
        grid=grid,
        concrete=ConcreteLaw(
            *(float(v[NOMINAL]) for v in (c.strength_psi, c.modulus_psi, c.flexural_yield_psi, c.residual_tension_psi))
        ),
        rods=RodLaw(
            r.area_in2[NOMINAL],
            r.modulus_psi[NOMINAL],
            r.yield_psi[NOMINAL],
            r.ultimate_psi[NOMINAL],
            np.array([rod.grade.elongation for rod in piece.rods]),
        ),
        fibre_in=fibre - centroid[:, None],
        fibre_in2=area,
        centroid_in=centroid,
        top_in=analysis.gross.top_in[NOMINAL][grid.zone],
        bottom_in=analysis.gross.bottom_in[NOMINAL][grid.zone],
        rod_in=analysis.tendons.height_in[NOMINAL] - centroid[:, None],
        active=active,
        rod_weight=weight,
        start_lbf=np.minimum(analysis.tendons.transfer_lbf[NOMINAL], yields),
        self_moment=analysis.loading.self_moment[NOMINAL],
        service_moment=analysis.loading.dead_moment[NOMINAL] + live,
        unit_moment=unit,
        unit_shear=shear,
        self_shear=analysis.loading.self_shear[NOMINAL],
        middle=middle,
        span_in=(left, right),
        faces_in=np.array([[r.profile[0][0], r.profile[-1][0]] for r in piece.rods]).reshape(-1, 2),
        sleeve_in=np.array([r.sleeve.outside_in for r in piece.rods]),
        sleeve_share=share,
        zone_layers=tuple(thin_layers(_rings(analysis.batch, k)) for k in range(len(piece.zones))),
        rise=deflection_matrix(grid, left, right, np.array([middle]))[0],
    )


def _fibres(analysis: Analysis) -> tuple[Array, Array, Array]:
    """Levels and areas (S, K): Gauss points of the zone's section, less the sleeves; and the part of them in
    concrete (S,)."""
    grid, batch = analysis.grid, analysis.batch
    zones = [gauss_fibres(_rings(batch, number)) for number in range(len(batch.piece.zones))]
    most = max(len(level) for level, _ in zones)
    level = np.stack([np.pad(a, (0, most - len(a)), mode="edge") for a, _ in zones])[grid.zone]
    area = np.stack([np.pad(b, (0, most - len(b))) for _, b in zones])[grid.zone]
    holes = [
        sleeve_fibres(analysis.tendons.height_in[NOMINAL, :, k][:, None], rod.sleeve.outside_in)
        for k, rod in enumerate(batch.piece.rods)
    ]
    lost = analysis.gross.area_in2[NOMINAL][grid.zone] - analysis.net.area_in2[NOMINAL]
    whole = sum(
        (-2.0 * a[0] * analysis.tendons.active[:, k] for k, (_, a) in enumerate(holes)), np.zeros(len(grid.x_in))
    )
    share = np.where(whole > 0, lost / np.where(whole > 0, whole, 1.0), 0.0)
    for k, (at, a) in enumerate(holes):
        level = np.hstack([level, at])
        area = np.hstack([area, a * (share * analysis.tendons.active[:, k])[:, None]])
    return level, area, share


def _rings(batch: Batch, number: int) -> list[tuple[float, Array]]:
    return [
        (1.0 if ring.role == "concrete" else -1.0, points[0])
        for ring, points in zip(batch.piece.zones[number].rings, batch.rings[number], strict=True)
    ]


def moments_of_spread_load(analysis: Analysis) -> tuple[Array, Array, Array]:
    """Moment and shear of 1 lbf over the whole length; moment of all live loads that are not alone, in all spans."""
    piece, grid = analysis.batch.piece, analysis.grid
    frame = build_frame(analysis.batch, grid, analysis.net.free_inertia_in4[:1])
    plan = live_plan(piece, grid)
    spread = (Patch(1.0 / piece.length_in, 0.0, piece.length_in),)
    rows = (spread, *(plan.rows[k] for k in plan.sustained))
    moment, shear, _ = apart(effects_on(frame, patch_effects(grid, frame.supports_in, rows)), len(grid.x_in))
    return moment[0, 0], shear[0, 0], moment[0, 1:].sum(axis=0)
