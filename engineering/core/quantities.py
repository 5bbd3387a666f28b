"""What an analysis holds: every shared quantity of a batch in one frozen `Analysis`, filled in by `analysis.analyse`.

Shapes: V variants, S stations, Z zones, N supports, R rods, C corners, T times, G turns of the nuts. Every float array
of an `Analysis` has its full leading axis V (corner arrays: C first, then V). Units: in, lbf, psi, lbf·in, days. Signs:
tension stress +, sagging moment +, rod force + in tension, deflection + down, crown + up, reaction + up.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from engineering.core.batching import NOMINAL, Array, Batch
from engineering.core.block import Edges

STAGES = ("transfer", "service_early", "service_final", "sustained_final")  # whose stresses are figures and curves
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Grid:
    """Stations along the piece, common to all variants. Panels run between neighbouring breakpoints (zone ends,
    supports, load ends, point loads, rod points, anchor faces, ...); each has three stations: start, middle, end. So a
    place where something jumps has two stations at one x, and station 3 p + 1 is the middle of panel p."""

    x_in: Array  # (S,)
    weight_in: Array  # (S,) Simpson weights: sum(weight·f) is the integral over the whole piece
    zone: Whole  # (S,) zone of the station's panel
    field: Whole  # (S,) 0 left overhang, 1 … N-1 the spans from the left, N right overhang
    in_figures: Flags  # (S,) where stresses are taken (section 3, "Where")
    bare: Flags  # (S,) beyond the outermost anchor faces: a section without rods; none where there are no rods
    longest: Flags  # (S,) within the longest span
    smooth: Flags  # (S,) a panel's start where nothing but shear may jump: the station before it over again

    @cached_property
    def panel_middle_in(self) -> Array:
        """x of the middle of each station's panel: on which side of a jump the station lies. (S,)"""
        return self.x_in[1::3].repeat(3)

    @cached_property
    def tension_stations(self) -> Whole:
        """Numbers of the stations where tension is looked for: where stresses are taken, and the bare ends beyond the
        anchors; panel ends only, each once."""
        ends = ~self.smooth
        ends[1::3] = False
        return np.flatnonzero((self.in_figures | self.bare) & ends)


@dataclass(frozen=True)
class Outlines:
    """The gross sections' edges, zone by zone (E, V or 1, 1); zones of one sort share them. own: the first zone of each
    sort; sort (Z,): which of those a zone is like."""

    edges: tuple[Edges, ...]
    own: tuple[int, ...]
    sort: Whole

    @cached_property
    def sloping(self) -> tuple[Edges, ...]:
        """Of each sort, the edges that a level can cross."""
        return tuple(self.edges[number].sloping() for number in self.own)


@dataclass(frozen=True)
class Alike:
    """Stations whose cross-sections are one and the same, with sleeves and rods. first (K,): a station of each section;
    again (S,): which section a station has."""

    first: Whole
    again: Whole


@dataclass(frozen=True)
class Properties:
    """Properties of sections. Gross: (V, Z) by zone. Net of sleeves in concrete: (V, S) by station."""

    area_in2: Array
    centroid_in: Array  # y
    across_in: Array  # z of the centroid
    inertia_in4: Array  # vertical bending
    lateral_in4: Array
    product_in4: Array
    top_in: Array  # y of the highest and lowest point
    bottom_in: Array

    @property
    def free_inertia_in4(self) -> Array:
        """Inertia in vertical bending of a piece free to bow sideways: I_y - I_yz²/I_z."""
        return self.inertia_in4 - self.product_in4**2 / self.lateral_in4


@dataclass(frozen=True)
class Loading:
    """Effects of loads alone (no rods). Moments, shears (V, S); reactions (V, N). Live: unfactored, zero included
    (max ≥ 0, min ≤ 0), over patterns and over each `alone` load by itself."""

    self_moment: Array
    dead_moment: Array  # self weight and dead loads
    live_moment_max: Array
    live_moment_min: Array
    sustained_moment: Array  # sustained_live × live loads that are not alone, all spans; without dead
    self_shear: Array
    dead_shear: Array
    live_shear_max: Array
    live_shear_min: Array
    dead_reaction: Array
    live_reaction_max: Array
    live_reaction_min: Array
    # (N, V, S) moments when support k alone is support_tolerance low, 28-day modulus; zeros with two supports
    settlement_moment: Array
    drying_moment: Array  # (V, S) restraint of the drying bow (three or more supports), just after it came on

    @cached_property
    def service_max(self) -> Array:
        return self.dead_moment + self.live_moment_max

    @cached_property
    def service_min(self) -> Array:
        return self.dead_moment + self.live_moment_min

    @cached_property
    def factored_max(self) -> Array:
        return np.maximum(1.4 * self.dead_moment, 1.2 * self.dead_moment + 1.6 * self.live_moment_max)

    @cached_property
    def factored_min(self) -> Array:
        return np.minimum(1.4 * self.dead_moment, 1.2 * self.dead_moment + 1.6 * self.live_moment_min)

    @cached_property
    def factored_shear(self) -> Array:
        """Largest absolute factored shear of loads."""
        most = np.maximum(1.4 * self.dead_shear, 1.2 * self.dead_shear + 1.6 * self.live_shear_max)
        least = np.minimum(1.4 * self.dead_shear, 1.2 * self.dead_shear + 1.6 * self.live_shear_min)
        return np.maximum(most, -least)


@dataclass(frozen=True)
class Tendons:
    """The rods as stressed. Forces are means along the rod unless a line says otherwise; profiles at stations are 0
    outside the rod's anchor faces. `shape` × mean force = force at a station."""

    active: Flags  # (S, R) between the rod's anchor faces
    height_in: Array  # (V, S, R) y of the axis
    jacking_profile_lbf: Array  # (V, S, R) before seating
    shape: Array  # (V, S, R) after seating, mean 1
    far_lbf: Array  # (V, R) least along the rod, before seating
    mean_lbf: Array  # (V, R) before seating
    seated_lbf: Array  # (V, R) after seating
    transfer_lbf: Array  # (V, R) after seating and the tightening of the others
    elongation_in: Array  # (V, R)
    nut_turns: Array  # (V, R)
    length_in: Array  # (V, R)
    face_span_in: Array  # (R,) x from anchor face to anchor face
    turns: tuple[tuple[float, int], ...]  # (step, rod number) turn by turn
    turn_lbf: Array  # (V, G, R) forces after each turn
    secondary: Array  # (V, S, R) secondary moment of a unit mean force [in]; zeros for two supports
    secondary_reaction: Array  # (V, N, R) per unit mean force
    shortening: Array  # (V, R, R) modulus × mean shortening strain on axis r by a unit mean force of rod s [1/in2]

    @cached_property
    def transfer_profile_lbf(self) -> Array:
        return self.shape * self.transfer_lbf[:, None, :]


@dataclass(frozen=True)
class TimeCourse:
    """Rod forces and crown from stressing to the end of life. Losses are stresses (V, R), + lost, from transfer on."""

    ages_days: Array  # (T,) from the stressing age; an age at which something jumps is there twice
    force_lbf: Array  # (V, T, R) mean forces, 0 slack
    crown_in: Array  # (V, T) where `crown_at` says; of the longest span
    final_lbf: Array  # (V, R)
    creep_psi: Array
    shrinkage_psi: Array
    relaxation_psi: Array
    installed_lbf: Array  # (V, R) just before the dead loads come on
    handling_lbf: Array  # (V, R) at the handling age (transfer forces if not later than stressing; 0 if not stressed)
    drying_left: Array  # (V,) share of `Loading.drying_moment` that creep has left at the end of life


@dataclass(frozen=True)
class Reach:
    """Stress at corners (C, V, S) of any moment between least and most (V, S); worked out when asked for."""

    per_moment: Array  # (C, V or 1, S), corners as in `Stresses`
    most: Array
    least: Array

    @cached_property
    def high(self) -> Array:
        return self._of(np.maximum)

    @cached_property
    def low(self) -> Array:
        return self.high if self.most is self.least else self._of(np.minimum)

    def _of(self, pick: np.ufunc) -> Array:
        reached = self.per_moment * self.most
        if self.most is not self.least:
            pick(reached, self.per_moment * self.least, out=reached)
        return reached


@dataclass(frozen=True)
class Extremes:
    """Stresses at corners (C, V, S) and over all corners (V, S), over all patterns: of the rods, with what the loads
    reach. Worked out when asked for; the stages of one load share its reach."""

    rods: Array  # (C, V, S)
    loads: Reach

    @cached_property
    def high(self) -> Array:
        return self.rods + self.loads.high

    @cached_property
    def low(self) -> Array:
        return self.high if self.loads.low is self.loads.high else self.rods + self.loads.low

    @cached_property
    def any_max(self) -> Array:
        return np.asarray(self.high.max(axis=0))

    @cached_property
    def any_min(self) -> Array:
        return np.asarray(self.low.min(axis=0))


@dataclass(frozen=True)
class Stresses:
    """Stress stages on net sections, biaxial. Corner arrays (C, V, S): the first two corners lie on the top face, the
    next two on the bottom face, the rest are the hull's other corners (repeated where a zone has fewer)."""

    corner_z_in: Array  # (C, V, S)
    corner_y_in: Array
    per_moment: Array  # (C, V, S) stress of a unit sagging moment [1/in3]
    rods_transfer: Array  # (C, V, S) of the rods, primary and secondary
    rods_final: Array
    drying_final: Array  # (V, S) moment left of `Loading.drying_moment`
    transfer: Extremes  # self weight + rods
    service_early: Extremes  # D + L, transfer forces
    service_final: Extremes  # D + L, final forces
    sustained_final: Extremes  # D + sustained live, final forces
    factored_early: Extremes  # max(1.4 D, 1.2 D + 1.6 L) + rods as they are
    factored_final: Extremes
    tightening_max: Array  # (V, G) largest tension after each turn, self weight acting, where stresses are taken
    tightening_at_in: Array  # (V, G)
    # (V, N) largest tension under D + L with support k off by the tolerance, either way; nan with two supports
    uneven_early: Array
    uneven_final: Array
    uneven_at_in: Array  # (V, N) of the greater of the two
    rod_lost: Array  # (V, R) largest tension under D + 0.5 L with that rod gone and the others at their final forces
    rod_lost_at_in: Array  # (V, R)
    handling: Array  # (V,) largest tension on the lift points; nan where no handling is given
    handling_at_in: Array  # (V,)

    @cached_property
    def nominal_faces(self) -> Array:
        """Of every stage of `STAGES` at nominal force: greatest and least on the top face, then on the bottom face
        (4, 4, S)."""
        stages = [getattr(self, name) for name in STAGES]
        high = np.array([stage.high[:4, NOMINAL] for stage in stages])
        low = np.array([stage.low[:4, NOMINAL] for stage in stages])
        found = np.empty(high.shape)
        for pair in (slice(0, 2), slice(2, 4)):
            np.maximum(high[:, pair.start], high[:, pair.start + 1], out=found[:, pair.start])
            np.minimum(low[:, pair.start], low[:, pair.start + 1], out=found[:, pair.start + 1])
        return found


@dataclass(frozen=True)
class Deflections:
    """In the longest span the value of greatest magnitude with its sign (V,), and its x; tips: live load only."""

    crown_transfer: Array
    crown_transfer_at: Array
    crown_drying: Array
    crown_drying_at: Array
    crown_installed: Array
    crown_installed_at: Array
    crown_final: Array
    crown_final_at: Array
    live: Array
    live_at: Array
    long: Array
    tip_left: Array  # nan without an overhang
    tip_right: Array
    lateral: (
        Array  # (V, G) greatest side bow over the chord of the outer supports after each turn, by the rods, absolute
    )
    lateral_at: Array  # (V, G)


@dataclass(frozen=True)
class Analysis:
    batch: Batch
    grid: Grid
    gross: Properties  # (V, Z)
    net: Properties  # (V, S)
    outlines: Outlines
    alike: Alike
    clearance_in: Array  # (V, R) least distance from each sleeve to a face or core in the zones it runs through
    clearance_at_in: Array  # (V, R) its x
    weight_lbf: Array  # (V,)
    volume_ft3: Array  # (V,) concrete
    loading: Loading
    tendons: Tendons
    time: TimeCourse
    stresses: Stresses
    deflections: Deflections
    reaction_rods: Array  # (V, N) with the forces after transfer
    reaction_rods_final: Array  # (V, N)
    contact_width_in: Array  # (V, N) of the section's foot at each support
    uplift_factor: Array  # (V,) nan where no live load lifts a support that cannot pull down

    @property
    def reaction_service_max(self) -> Array:
        """Dead, live and the greater of the rods' part after transfer and at end of life (V, N)."""
        return (
            self.loading.dead_reaction
            + self.loading.live_reaction_max
            + np.maximum(self.reaction_rods, self.reaction_rods_final)
        )

    @cached_property
    def secondary_at_transfer(self) -> Array:
        return self.secondary_moment(self.tendons.transfer_lbf)

    def secondary_moment(self, force_lbf: Array) -> Array:
        """Secondary moment (V, S) at the mean rod forces (V, R)."""
        return np.einsum("vsr,vr->vs", self.tendons.secondary, force_lbf)
