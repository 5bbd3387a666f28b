"""Shear at every section from half a depth off the bearings' edges."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engineering.core import concrete_limits, shear
from engineering.core.batching import Array, zone_number
from engineering.core.block import Edges, above, width_at
from engineering.core.checks.finding import Finding, Kind, Verdict
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading
from engineering.core.checks.rod_stress import pick
from engineering.core.quantities import Analysis

CLAUSE = "ACI 318-19 22.5.6.2, lower bound 2λ√f'c; 14.5.5 where f_se < 0.4 f_u (basis h)"
WEB_PART = 0.05  # the outer twentieths of the depth are no web
LOW_STRESS_SHARE = 0.4  # ACI 318-19 22.5.6.2: A_ps f_se >= 0.4 A_ps f_pu


@dataclass(frozen=True)
class Web:
    """Of the gross sections, by zone (V, Z): least width [in], and where Q/b is greatest Q and b."""

    width_in: Array
    first_moment_in3: Array
    breadth_in: Array


def webs(analysis: Analysis) -> Web:
    """Looked for at every corner's level, just above and below it, midway, and at the centroid; once where a section is
    the same in all variants."""
    lines = analysis.outlines
    found = np.empty((3, analysis.batch.size, len(lines.own)))
    for place, (number, sloping) in enumerate(zip(lines.own, lines.sloping, strict=True)):
        for row, part in zip(found, _web(analysis, number, sloping), strict=True):
            row[:, place] = part
    return Web(*found.take(lines.sort, -1))


def _web(analysis: Analysis, number: int, sloping: Edges) -> tuple[Array, Array, Array]:
    """Least width, and where Q/b is greatest Q and b, of the section of a zone (V or 1,)."""
    gross, lead = analysis.gross, sloping.z0.shape[1]
    top, bottom, centroid = (y[:lead, number, None] for y in (gross.top_in, gross.bottom_in, gross.centroid_in))
    level = _web_levels(analysis.outlines.edges[number], top, bottom, centroid)
    width = np.maximum(width_at(sloping, level), 1e-9)
    area, moment = above(sloping, level)
    first = moment - centroid * area
    best, rows = (first / width).argmax(axis=1), np.arange(lead)
    return np.minimum.reduce(width, 1), first[rows, best], width[rows, best]


def _web_levels(edges: Edges, top: Array, bottom: Array, centroid: Array) -> Array:
    """Levels in the web of a section, whose top, bottom and centroid are (V or 1, 1): (V or 1, levels)."""
    depth = top - bottom
    corners = np.sort(edges.y0[..., 0], axis=0)
    own = np.ones(len(corners), bool)
    own[1:] = np.logical_or.reduce(corners[1:] != corners[:-1], axis=1)
    corners = corners[own].T
    count = corners.shape[1]
    level = np.empty((len(depth), 3 * count))
    level[:, :count] = corners - 1e-6 * depth
    level[:, count : 2 * count] = corners + 1e-6 * depth
    level[:, 2 * count : -1] = 0.5 * (corners[:, 1:] + corners[:, :-1])
    level[:, -1:] = centroid
    return np.minimum(np.maximum(level, bottom + WEB_PART * depth), top - WEB_PART * depth)


@dataclass(frozen=True)
class ShearAlong:
    """All (V, S): V_u with the rods' secondary shear, d_p, both stresses; the webs of the gross sections by zone."""

    force_lbf: Array
    rod_depth_in: Array
    average_psi: Array
    elastic_psi: Array
    web: Web

    @property
    def stress_psi(self) -> Array:
        return np.maximum(self.average_psi, self.elastic_psi)


def shear_along(reading: Reading) -> ShearAlong:
    """Factored shear of loads plus that of the rods' secondary reactions at end of life."""
    analysis, web = reading.analysis, webs(reading.analysis)
    loading, zone = analysis.loading, analysis.grid.zone
    alone, with_live, extra = 1.4 * loading.dead_shear, 1.2 * loading.dead_shear, _secondary_shear(analysis)
    most = np.maximum(alone, with_live + 1.6 * loading.live_shear_max) + extra
    least = np.minimum(alone, with_live + 1.6 * loading.live_shear_min) + extra
    force, depth = np.maximum(most, -least), rod_depth(reading)
    each = shear.elastic_stress(1.0, web.first_moment_in3, analysis.gross.inertia_in4, web.breadth_in)
    average = shear.average_stress(force, web.width_in.take(zone, -1), depth)
    return ShearAlong(force, depth, average, np.abs(force) * each.take(zone, -1), web)


def _secondary_shear(analysis: Analysis) -> Array:
    """Sum of the rods' reactions left of each station (V, S)."""
    at = np.array([support.at_in for support in analysis.batch.piece.supports])
    left = analysis.grid.panel_middle_in > at[:, None]
    return np.asarray(analysis.reaction_rods_final @ left.astype(float))


def rod_depth(reading: Reading) -> Array:
    """Depth of the rods' common centre from the compression face, not under 0.8 of the depth (V, S)."""
    analysis, along = reading.analysis, reading.strengths
    depth = (analysis.gross.top_in - analysis.gross.bottom_in).take(analysis.grid.zone, -1)
    area = along.rods.area_in2
    total = np.add.reduce(area)
    means = np.add.reduce(area * along.rods.depth_in) / np.where(total > 0, total, 1.0)
    sagging, hogging = means.take(along.section, -1)
    mean = np.where(np.greater_equal(*along.demand_lbf_in), sagging, hogging)
    return np.maximum(mean, shear.LEAST_DEPTH_SHARE * depth)


def off_the_bearings(reading: Reading) -> NDArray[np.bool_]:
    """Stations half a depth or more from the edge of every bearing (S,)."""
    piece, x = reading.piece, reading.analysis.grid.x_in
    far = np.ones(x.shape, bool)
    for support in piece.supports:
        off = 0.5 * support.bearing_in + 0.5 * piece.zones[zone_number(piece, support.at_in)].depth_in
        far &= np.abs(x - support.at_in) >= off - 1e-9 * piece.length_in
    return far


def shear_check(reading: Reading) -> list[Finding]:
    """The greater of V_u/(b_w d_p) and V_u Q/(I b_w) against 0.75·2λ√f'c."""
    where = off_the_bearings(reading)
    if not where.any():
        return [
            Finding(
                "shear",
                CLAUSE,
                Kind.FAILS,
                "stress",
                not_applicable="no section lies half a depth off the bearings' edges",
            )
        ]
    along, concrete = shear_along(reading), reading.batch.concrete
    worst = reading.largest(along.stress_psi, where)
    lightness = concrete_limits.lightness(concrete.density_pcf)
    capacity = shear.PHI_SHEAR * shear.lower_bound(concrete.strength_psi, lightness)
    plain = shear.plain_limit(concrete.strength_psi, lightness)
    low = low_stress(reading)
    floor = np.where(low & (worst.value > plain), int(Verdict.REVIEW), int(Verdict.PASS))

    def working(v: int, pen: Pen) -> list[str]:
        return [
            *_demand_lines(reading, along, v, int(worst.station[v]), pen),
            *_capacity_lines(reading, v, pen, bool(low[v if len(low) > 1 else 0])),
            ratio_line(worst.value[v], pick(capacity, v), pen, "stress"),
        ]

    return [
        Finding("shear", CLAUSE, Kind.FAILS, "stress", worst.value, capacity, worst.at_in, floor=floor, working=working)
    ]


def low_stress(reading: Reading) -> NDArray[np.bool_]:
    """Where A_ps f_se < 0.4 A_ps f_u at end of life, or there are no rods. (V or 1,)"""
    rods = reading.batch.rods
    if not reading.has_rods:
        return np.ones(1, bool)
    return np.asarray(
        reading.analysis.time.final_lbf.sum(axis=1) < LOW_STRESS_SHARE * (rods.area_in2 * rods.ultimate_psi).sum(axis=1)
    )


def _demand_lines(reading: Reading, along: ShearAlong, v: int, station: int, pen: Pen) -> list[str]:
    zone = int(reading.analysis.grid.zone[station])
    force, depth = float(along.force_lbf[v, station]), float(along.rod_depth_in[v, station])
    web = along.web
    width, first, breadth = (float(a[v, zone]) for a in (web.width_in, web.first_moment_in3, web.breadth_in))
    inertia = float(reading.analysis.gross.inertia_in4[v, zone])
    return [
        f"worst section {pen.at(reading.analysis.grid.x_in[station])}, V_u = {pen(force, 'force')}; "
        f"gross section: least b_w = {pen(width, 'length')}, b_w = {pen(breadth, 'length')} where Q/b_w is greatest",
        f"V_u/(b_w d_p) = {pen(force, 'force')} / ({pen(width, 'length')} × {pen(depth, 'length')})"
        f" = {pen(along.average_psi[v, station], 'stress')}",
        f"V_u Q/(I b_w) = {pen(force, 'force')} × {pen(first, 'section modulus')} / ({pen(inertia, 'inertia')} × "
        f"{pen(breadth, 'length')})"
        f" = {pen(along.elastic_psi[v, station], 'stress')}",
    ]


def _capacity_lines(reading: Reading, v: int, pen: Pen, low: bool) -> list[str]:
    concrete = reading.batch.concrete
    f_c = pick(concrete.strength_psi, v)
    lam = float(concrete_limits.lightness(pick(concrete.density_pcf, v)))
    capacity = shear.PHI_SHEAR * float(shear.lower_bound(f_c, lam))
    lines = [
        *pen.given_in_us("f'c", f_c, "stress"),
        f"limit = 0.75·2λ√f'c = 0.75 × 2 × {pen.number(lam)} × √({pen.us(f_c, 'stress')}) = "
        f"{pen.both(capacity, 'stress')}",
    ]
    if low:
        plain = float(shear.plain_limit(f_c, lam))
        lines.append(
            f"f_se < 0.4 f_u: an engineer looks from 0.60·(4/3)λ√f'c = 0.60 × 4 / 3 × {pen.number(lam)} × "
            f"√({pen.us(f_c, 'stress')}) = {pen.both(plain, 'stress')}"
        )
    return lines
