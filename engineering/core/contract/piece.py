"""The accepted specification as plain frozen values, in US customary units: in, lbf, psi, lb/ft3, days.

`contract.parse` makes a `Piece` from a document; every default is filled in, `like` is resolved, nothing is missing.
Axes: x along the piece from its left end, z across from the front edge, y up from the lowest point of the deepest
zone as installed. Rings are in the piece's own z and y.
"""

from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]


class RingRole(StrEnum):
    """What a ring of a cross-section encloses: concrete to count, or a part of it to take out."""

    CONCRETE = "concrete"
    CORE = "core"        # foam: no strength, core_density of weight
    VOID = "void"        # empty hole of an outline


@dataclass(frozen=True)
class Ring:
    """A closed simple polygon, corners (z, y) [in], counter-clockwise, first corner not repeated."""

    role: RingRole
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Zone:
    """A stretch of the piece with one cross-section."""

    start_in: float
    end_in: float
    kind: str                     # solid, cored, apron, rails, outline
    width_in: float               # overall width
    load_width_in: float          # width an area load acts on: the overall width, for rails the sum of their widths
    depth_in: float               # overall depth, highest point less lowest
    soffit_in: float              # y of the zone's lowest point
    rings: tuple[Ring, ...]       # concrete rings first

    @property
    def top_in(self) -> float:
        return self.soffit_in + self.depth_in


@dataclass(frozen=True)
class Support:
    at_in: float
    bearing_in: float
    hold_down: bool


@dataclass(frozen=True)
class Load:
    """value: area [psf], line [lbf/ft], point [lbf], + down. A point is at_in, or anywhere; others from_in to to_in."""

    label: str
    case: str                     # dead, live
    kind: str                     # area, line, point
    value: float
    from_in: float
    to_in: float
    at_in: float | None
    anywhere: bool
    across_in: float | None       # None: at the centroid
    footprint_in: float
    alone: bool


@dataclass(frozen=True)
class Concrete:
    label: str
    density_pcf: float
    strength_psi: float
    strength_at_stressing_psi: float
    modulus_psi: float
    modulus_at_stressing_psi: float
    modulus_defaulted: bool       # either modulus by ACI 318-19 19.2.2.1(a): the verdict is at best review
    flexural_yield_psi: float
    flexural_ultimate_psi: float
    flexural_yield_at_stressing_psi: float
    flexural_yield_at_stressing_defaulted: bool
    variation_yield: float
    variation_ultimate: float
    residual_tension_psi: float
    shrinkage: float
    creep: float
    cure_age_days: float


@dataclass(frozen=True)
class Thread:
    name: str                     # 1/2-13 UNC, M12x1.75
    diameter_in: float            # nominal
    pitch_in: float
    tensile_area_in2: float       # by the standard's formula, unrounded (ASME B1.1, ISO 898-1)
    metric: bool


@dataclass(frozen=True)
class Grade:
    name: str
    yield_psi: float
    ultimate_psi: float
    modulus_psi: float
    elongation: float
    standard: bool                # False: given in the document
    yield_by_custom: bool         # the standard gives no yield (A307 A)
    stainless: bool


@dataclass(frozen=True)
class Sleeve:
    outside_in: float
    friction: float               # per radian
    wobble_per_ft: float


@dataclass(frozen=True)
class Anchor:
    width_in: float               # across, along z
    height_in: float              # upright, along y
    thickness_in: float
    hole_in: float
    yield_psi: float


@dataclass(frozen=True)
class Pocket:
    width_in: float
    height_in: float


@dataclass(frozen=True)
class Rod:
    mark: str
    thread: Thread
    grade: Grade
    area_in2: float               # of the thread, or as the grade gives it
    across_in: float
    profile: tuple[Point, ...]    # (x, y) of the axis
    curve: str                    # straight, parabola
    sleeve: Sleeve
    stressed_from: str            # left, right, both
    anchor: Anchor
    pocket: Pocket | None
    coating: str                  # plain, plated, sealed
    jacking_force_lbf: float      # from jacking_force, jacking_stress x area or torque/(K D), whichever was given
    jacking_given_as: str         # jacking_force, jacking_stress, torque
    tail_in: float


@dataclass(frozen=True)
class Stressing:
    age_days: float
    method: str                   # torque, elongation, jack
    nut_factor: float
    scatter: float
    seating_in: float
    steps: tuple[float, ...]
    order: tuple[str, ...]        # rod marks
    restress_days: tuple[float, ...]


@dataclass(frozen=True)
class Environment:
    humidity_percent: float
    exposure: str                 # interior-dry, interior-wet, exterior, chloride
    drying_difference: float


@dataclass(frozen=True)
class Handling:
    lift_points_in: tuple[float, float]
    age_days: float
    strength_psi: float
    flexural_yield_psi: float
    flexural_yield_defaulted: bool
    multiplier: float
    stressed: bool


@dataclass(frozen=True)
class Criteria:
    """None for a stress: the default of checks.md, found from the concrete by the check itself."""

    live_deflection: float
    long_deflection: float
    life_years: float
    uplift_factor: float
    cover_in: float
    remaining: float
    crown: float
    transfer_tension_psi: float | None
    sustained_tension_psi: float | None
    service_tension_psi: float | None
    bursting_psi: float | None
    support_pressure_psi: float | None
    support_tolerance_in: float


@dataclass(frozen=True)
class Piece:
    mark: str
    title: str
    units: str                    # us, si: of the document, and of its result
    face_down: bool
    length_in: float
    zones: tuple[Zone, ...]
    core_density_pcf: float
    supports: tuple[Support, ...]             # in order of x
    loads: tuple[Load, ...]
    sustained_live: float
    concrete: Concrete
    rods: tuple[Rod, ...]
    stressing: Stressing | None               # None only where there are no rods and the document gives none
    installation_age_days: float
    environment: Environment
    handling: Handling | None
    criteria: Criteria
    specification_hash: str                   # sha256:…
    defaulted: tuple[str, ...]                # paths the document was silent on and that matter for a caution
