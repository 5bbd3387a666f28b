"""The skin over the widest foam core under factored load."""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from engineering.core import concrete_limits, skin
from engineering.core.batching import Array, wide
from engineering.core.checks.finding import Finding, Kind
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading
from engineering.core.checks.rod_stress import pick
from engineering.core.contract.piece import Load, Piece, Ring, RingRole, Zone
from engineering.core.quantities import Analysis

CLAUSE = "PCI MNL-128 (from memory, basis a.3): strip fixed at both sides of the core"
PSF = 144.0
PCF = 1728.0


@dataclass(frozen=True)
class SkinStrip:
    """The strip over the widest core. Moments per inch of width [lbf], thickness [in]; arrays (V,)."""

    zone: int
    span_in: Array
    thickness_in: Array
    own_psi: Array  # own weight as pressure
    dead_psi: float  # dead area loads
    live_psi: float  # live area loads, those that act down
    points: tuple[Load, ...]  # point loads over it that act down

    @cached_property
    def dead_moment(self) -> Array:
        """Of own weight and dead area loads. [lbf in per in]"""
        return np.asarray(skin.area_moment(self.own_psi + self.dead_psi, self.span_in))

    @cached_property
    def live_moment(self) -> Array:
        """Of live area loads. [lbf in per in]"""
        return np.asarray(skin.area_moment(self.live_psi, self.span_in))

    @cached_property
    def point_moments(self) -> list[tuple[Load, Array]]:
        """Each point load with the moment it brings. [lbf in per in]"""
        return [(load, skin.point_moment(load.value, load.footprint_in, self.span_in)) for load in self.points]

    def moment(self, dead_factor: float, live_factor: float) -> tuple[Array, Array]:
        """With the area load, and with the point load. [lbf in per in]"""
        dead = dead_factor * self.dead_moment
        area = dead + live_factor * self.live_moment
        moments = [(dead_factor if load.case == "dead" else live_factor) * m for load, m in self.point_moments]
        return area, dead + np.maximum.reduce(moments) if moments else np.zeros_like(area)

    @cached_property
    def point(self) -> Load | None:
        """The point load that strains it most under 1.2 D + 1.6 L."""
        strains = [(1.2 if load.case == "dead" else 1.6) * float(m[0]) for load, m in self.point_moments]
        return self.points[strains.index(max(strains))] if strains else None

    @cached_property
    def service_psi(self) -> Array:
        return skin.tension(np.maximum(*self.moment(1.0, 1.0)), self.thickness_in)

    @cached_property
    def factored_psi(self) -> Array:
        dead_only = np.maximum(*self.moment(1.4, 0.0))
        return skin.tension(np.maximum(np.maximum(*self.moment(1.2, 1.6)), dead_only), self.thickness_in)


def skin_strip(reading: Reading, *, factored: bool = True) -> SkinStrip | None:
    """Of the strips over the widest core the hardest loaded (by factored loads or by service loads); None without a
    core under a skin."""
    strips = reading.once(skin_strips)
    if len(strips) < 2:
        return strips[0] if strips else None
    return max(strips, key=lambda strip: float((strip.factored_psi if factored else strip.service_psi)[0]))


def skin_strips(reading: Reading) -> tuple[SkinStrip, ...]:
    """The strips over the widest core of the piece, of equals the one with the thinnest skin, one for each set of loads
    that acts on it somewhere."""
    analysis = reading.analysis
    batch, found = analysis.batch, []
    for number, zone in enumerate(batch.piece.zones):
        for index, ring in enumerate(zone.rings):
            if ring.role is RingRole.CORE:
                found.append((*_by_size(zone, ring), number, index))
    if not found:
        return ()
    widest = max(one[:2] for one in found)
    strips: dict[tuple[Load, ...], SkinStrip] = {}
    for width, thin, number, index in found:
        if (width, thin) == widest:
            for place in _places(batch.piece, batch.piece.zones[number]):
                over = tuple(load for load in batch.piece.loads if _touches(load, *place))
                if over not in strips:
                    strips[over] = _loaded(analysis, number, index, over)
    return tuple(strips.values())


def _by_size(zone: Zone, core: Ring) -> tuple[float, float]:
    """Width of a core and, negative, the skin over it, of the section as specified [in]: the greatest is looked at."""
    top = max(y for ring in zone.rings if ring.role is RingRole.CONCRETE for _, y in ring.points)
    across, up = zip(*core.points, strict=True)
    return round(max(across) - min(across), 9), -round(top - max(up), 9)


def _places(piece: Piece, zone: Zone) -> list[tuple[float, float]]:
    """The stretches of a zone between the ends of area loads: in each the same ones act."""
    ends = {x for load in piece.loads if load.kind == "area" for x in (load.from_in, load.to_in)}
    return list(pairwise(sorted({zone.start_in, zone.end_in, *(x for x in ends if zone.start_in < x < zone.end_in)})))


def _loaded(analysis: Analysis, number: int, index: int, over: tuple[Load, ...]) -> SkinStrip:
    """The strip over a core (its ring) of a zone under these loads."""
    line, ring = (analysis.batch.size,), analysis.batch.rings[number][index]
    span = wide(ring[..., 0].max(axis=1) - ring[..., 0].min(axis=1), line)
    thickness = analysis.gross.top_in[:, number] - ring[..., 1].max(axis=1)
    areas = [load for load in over if load.kind == "area"]
    dead = sum(load.value for load in areas if load.case == "dead") / PSF
    together = sum(load.value for load in areas if load.case == "live" and not load.alone and load.value > 0) / PSF
    live = max([together, *(load.value / PSF for load in areas if load.case == "live" and load.alone)])
    own = analysis.batch.concrete.density_pcf / PCF * thickness
    points = tuple(load for load in over if load.kind == "point" and load.value > 0)
    return SkinStrip(number, span, thickness, own, dead, live, points)


def _touches(load: Load, start_in: float, end_in: float) -> bool:
    """Whether a load lies over a stretch; the footprint of a point load counts."""
    if load.kind != "point":
        return load.from_in < end_in and load.to_in > start_in
    if load.anywhere or load.at_in is None:
        return True
    half = 0.5 * load.footprint_in
    return load.at_in - half < end_in and load.at_in + half > start_in


def skin_over_core(reading: Reading) -> list[Finding]:
    """Tension in the skin under 1.2 D + 1.6 L against 0.75 f'u; the foam's help is neglected."""
    name = "skin over the core"
    strip = skin_strip(reading)
    if strip is None:
        return [Finding(name, CLAUSE, Kind.REVIEW, "stress", not_applicable="the piece has no foam core")]
    demand = strip.factored_psi
    capacity = concrete_limits.PHI_FIBRE * reading.assumed_psi

    def working(v: int, pen: Pen) -> list[str]:
        return [
            *strip_lines(strip, v, pen),
            *assumed_lines(reading, v, pen),
            f"limit = φ f'u = 0.75 × {pen(pick(reading.assumed_psi, v), 'stress')} = "
            f"{pen(pick(capacity, v), 'stress')}",
            ratio_line(demand[v], pick(capacity, v), pen, "stress"),
        ]

    return [
        Finding(
            name,
            CLAUSE,
            Kind.REVIEW,
            "stress",
            demand,
            capacity,
            working=working,
            caution=lambda v, pen: "The foam's help under the skin is neglected.",
        )
    ]


def strip_lines(strip: SkinStrip, v: int, pen: Pen) -> list[str]:
    """Own weight and the loads on one inch of strip; moments per inch of width are forces."""
    b, t, dead = strip.span_in[v], strip.thickness_in[v], strip.own_psi[v] + strip.dead_psi
    lines = [
        f"zone {strip.zone + 1}: widest core b = {pen(b, 'length')}, skin t = {pen(t, 'length')}, strip one unit "
        f"wide, fixed at both sides",
        f"dead: m_D = w b²/12 = {pen(dead, 'stress')} × ({pen(b, 'length')})² / 12 = {pen(dead * b * b / 12, 'force')}",
    ]
    area, point = (float(m[v]) for m in strip.moment(1.2, 1.6))
    live = strip.live_psi * b * b / 12
    lines.append(
        f"area load: m_L = w b²/12 = {pen(strip.live_psi, 'stress')} × ({pen(b, 'length')})² / 12 = "
        f"{pen(live, 'force')}"
    )
    lines.append(
        f"m_u = 1.2 m_D + 1.6 m_L = 1.2 × {pen(dead * b * b / 12, 'force')} + 1.6 × {pen(live, 'force')} = "
        f"{pen(area, 'force')}"
    )
    if strip.point is not None:
        p, c = strip.point.value, min(strip.point.footprint_in, float(b))
        m = float(skin.point_moment(p, c, float(b)))
        factor = 1.6 if strip.point.case == "live" else 1.2
        lines.append(
            f"point load {strip.point.label}: m = P (3 b² - c²)/(24 b)/(c + b/2) = {pen(p, 'force')} × (3 × "
            f"({pen(b, 'length')})²"
            f" - ({pen(c, 'length')})²) / (24 × {pen(b, 'length')}) / ({pen(c, 'length')} + {pen(b, 'length')} / 2)"
            f" = {pen(m, 'force')}"
        )
        lines.append(
            f"m_u = 1.2 m_D + {factor} m = 1.2 × {pen(dead * b * b / 12, 'force')} + {factor} × {pen(m, 'force')}"
            f" = {pen(point, 'force')}"
        )
    stress = float(strip.factored_psi[v])
    moment = stress * float(t) ** 2 / 6.0
    lines.append(f"greatest m_u (1.4 m_D counts too) = {pen(moment, 'force')}")
    return [*lines, f"stress = 6 m_u/t² = 6 × {pen(moment, 'force')} / ({pen(t, 'length')})² = {pen(stress, 'stress')}"]


def assumed_lines(reading: Reading, v: int, pen: Pen) -> list[str]:
    """f'u by its three bounds."""
    c = reading.batch.concrete
    lop, mor = pick(c.flexural_yield_psi, v), pick(c.flexural_ultimate_psi, v)
    spread_y, spread_u = pick(c.variation_yield, v), pick(c.variation_ultimate, v)
    lop_k = float(concrete_limits.characteristic(lop, spread_y))
    mor_k = float(concrete_limits.characteristic(mor, spread_u))
    return [
        f"LOP_k = LOP (1 - 2.539 V) = {pen(lop, 'stress')} × (1 - 2.539 × {pen.number(spread_y)}) = "
        f"{pen(lop_k, 'stress')}",
        f"MOR_k = MOR (1 - 2.539 V) = {pen(mor, 'stress')} × (1 - 2.539 × {pen.number(spread_u)}) = "
        f"{pen(mor_k, 'stress')}",
        f"f'u = min(LOP_k, MOR_k/3, {pen(1200, 'stress')}) = min({pen(lop_k, 'stress')}, {pen(mor_k, 'stress')} / 3, "
        f"{pen(1200, 'stress')}) = {pen(pick(reading.assumed_psi, v), 'stress')}",
    ]
