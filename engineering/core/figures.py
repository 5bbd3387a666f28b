"""Every figure of a result, from an analysis, at nominal force (`load_test.*` comes from the load-to-failure analysis).

Values in the `us` unit of the quantity named; `contract.results` turns them into the document's. Where a figure does
not apply, None with the reason.
"""

from typing import NamedTuple

import numpy as np

from engineering.core.batching import CHECK_VARIANTS, EQUAL, HIGH, LOW, NOMINAL, Array
from engineering.core.checks.reading import Reading
from engineering.core.checks.skin_over_core import skin_strip
from engineering.core.contract.results import Figure
from engineering.core.figures_of_rods import anchor_figures, rod_figures
from engineering.core.quantities import STAGES, Analysis, Flags, Whole

Figures = dict[str, Figure]

NO_RODS = "the piece has no rods"
SECTION_FIGURES = (
    ("area", "area_in2", "area"),
    ("centroid", "centroid_in", "length"),
    ("centroid_across", "across_in", "length"),
    ("inertia", "inertia_in4", "inertia"),
    ("inertia_lateral", "lateral_in4", "inertia"),
    ("product", "product_in4", "inertia"),
)


class Peak(NamedTuple):
    value: float
    at_in: float


def figures(reading: Reading) -> Figures:
    """All figures but `load_test.*`, in the order of the specification's table."""
    analysis = reading.analysis
    return {
        "weight": Figure(float(analysis.weight_lbf[NOMINAL]), "force"),
        "batch.volume": Figure(float(analysis.volume_ft3[NOMINAL]), "volume"),
        **_section_figures(analysis),
        **_reaction_figures(analysis),
        **_moment_figures(analysis),
        **rod_figures(analysis),
        **_stress_figures(analysis),
        "stress.skin": _skin(reading),
        **_strength_figures(reading),
        **_crown_figures(analysis),
        **anchor_figures(reading),
        **_other_figures(analysis),
    }


def _section_figures(analysis: Analysis) -> Figures:
    found: Figures = {}
    gross, net, zones = analysis.gross, analysis.net, len(analysis.batch.piece.zones)
    inertia, centroid = gross.inertia_in4[NOMINAL], gross.centroid_in[NOMINAL]
    plain = [(figure, quantity, getattr(gross, name)[NOMINAL].tolist()) for figure, name, quantity in SECTION_FIGURES]
    for face, arm in (("top", gross.top_in[NOMINAL] - centroid), ("bottom", centroid - gross.bottom_in[NOMINAL])):
        plain.append((f"modulus_{face}", "section modulus", (inertia / arm).tolist()))
    here = analysis.grid.zone == np.arange(zones)[:, None]
    least = [
        (figure, quantity, greatest_of(analysis, -values[NOMINAL], here))
        for figure, quantity, values in (
            ("net_area", "area", net.area_in2),
            ("net_inertia", "inertia", net.inertia_in4),
        )
    ]
    for number in range(zones):
        name = f"section.{number + 1}"
        for figure, quantity, values in plain:
            found[f"{name}.{figure}"] = Figure(values[number], quantity)
        for figure, quantity, peaks in least:
            found[f"{name}.{figure}"] = Figure(-peaks[number].value, quantity, peaks[number].at_in)
    return found


def _reaction_figures(analysis: Analysis) -> Figures:
    found: Figures = {}
    loading, service = analysis.loading, analysis.reaction_service_max[NOMINAL].tolist()
    forces = {
        "dead": loading.dead_reaction[NOMINAL].tolist(),
        "live_max": loading.live_reaction_max[NOMINAL].tolist(),
        "live_min": loading.live_reaction_min[NOMINAL].tolist(),
        "rods": analysis.reaction_rods[NOMINAL].tolist(),
        "service_max": service,
    }
    widths = analysis.contact_width_in[NOMINAL].tolist()
    for number, support in enumerate(analysis.batch.piece.supports):
        name, width = f"reaction.{number + 1}", widths[number]
        for figure, values in forces.items():
            found[f"{name}.{figure}"] = Figure(values[number], "force", support.at_in)
        found[f"{name}.pressure"] = (
            Figure(service[number] / (support.bearing_in * width), "stress", support.at_in)
            if width > 0.0
            else Figure(None, "stress", support.at_in, "the section has no flat foot there")
        )
    return found


def _moment_figures(analysis: Analysis) -> Figures:
    loading = analysis.loading
    dead, secondary = loading.dead_moment[NOMINAL], analysis.secondary_at_transfer[NOMINAL]
    most = np.array([dead, loading.service_max[NOMINAL], loading.factored_max[NOMINAL], secondary])
    least = np.array([dead, loading.service_min[NOMINAL], loading.factored_min[NOMINAL], secondary])
    peaks = curved_peaks(analysis.grid.x_in, np.concatenate([most, -least]))
    found: Figures = {}
    for name, high, low in zip(("dead", "service", "factored", "secondary"), peaks[:4], peaks[4:], strict=True):
        found[f"moment.{name}_max"] = Figure(high.value, "moment", high.at_in)
        found[f"moment.{name}_min"] = Figure(-low.value, "moment", low.at_in)
    shear = loading.factored_shear[NOMINAL]
    at = int(first_greatest(shear[None], shear[None])[0])
    found["shear.factored_max"] = Figure(float(shear[at]), "force", float(analysis.grid.x_in[at]))
    return found


def curved_peaks(x_in: Array, values: Array) -> list[Peak]:
    """The greatest value of each curve (n, S) that is a parabola within each panel (moments under uniform load),
    exactly, and its x."""
    first, middle, last = (values[:, k::3] for k in range(3))
    bent, tilt = 2.0 * (first - 2.0 * middle + last), 4.0 * middle - 3.0 * first - last
    share = np.where(bent < 0.0, -tilt / np.where(bent < 0.0, 2.0 * bent, 1.0), 0.0)
    share = np.where((share > 0.0) & (share < 1.0), share, np.where(last > first, 1.0, 0.0))
    top = first + tilt * share + bent * share**2
    panel, rows = first_greatest(top, values), np.arange(len(top))
    start, end = x_in[3 * panel], x_in[3 * panel + 2]
    at = start + share[rows, panel] * (end - start)
    return list(map(Peak, top[rows, panel].tolist(), at.tolist()))


def first_greatest(values: Array, beside: Array) -> Whole:
    """Place of the greatest in each row of values (n, m); of those that only rounding tells apart beside the largest of
    these (n, S), the first: what is symmetrical has one answer on every machine. (n,)"""
    rounding = EQUAL * np.abs(beside).max(axis=1, keepdims=True)
    return (values >= values.max(axis=1, keepdims=True) - rounding).argmax(axis=1)


def greatest_of(analysis: Analysis, values: Array, where: Flags) -> list[Peak]:
    """The greatest of each row of values over the stations `where`, the first of equals, and its x; one of both is
    (n, S), the other (S,) or (n, S)."""
    masked = np.where(where, values, -np.inf)
    at = first_greatest(masked, np.where(where, values, 0.0))
    found = masked[np.arange(len(at)), at]
    return list(map(Peak, found.tolist(), analysis.grid.x_in[at].tolist()))


def _stress_figures(analysis: Analysis) -> Figures:
    found: Figures = {}
    faces = (("top_max", 1.0), ("top_min", -1.0), ("bottom_max", 1.0), ("bottom_min", -1.0))
    signs = np.array([sign for _, sign in faces])[:, None]
    rows = (signs * analysis.stresses.nominal_faces).reshape(-1, len(analysis.grid.x_in))
    peaks = iter(greatest_of(analysis, rows, analysis.grid.in_figures))
    for stage in STAGES:
        for name, sign in faces:
            peak = next(peaks)
            found[f"stress.{stage}.{name}"] = Figure(sign * peak.value, "stress", peak.at_in)
    return found


def _skin(reading: Reading) -> Figure:
    strip = skin_strip(reading, factored=False)
    if strip is None:
        return Figure(None, "stress", None, "the piece has no foam core")
    return Figure(float(np.ravel(strip.service_psi)[NOMINAL]), "stress")


def _strength_figures(reading: Reading) -> Figures:
    along = reading.strengths
    direction, station = (int(one[NOMINAL]) for one in reading.governing)
    at, here = float(reading.analysis.grid.x_in[station]), (direction, NOMINAL, int(along.section[station]))
    cracking = float(along.cracking_lbf_in[direction, NOMINAL, station])
    nominal = float(along.sections.nominal_lbf_in[here])
    found = {
        "moment.cracking": Figure(cracking, "moment", at),
        "moment.nominal": Figure(nominal, "moment", at),
        "moment.design": Figure(float(along.sections.design_lbf_in[here]), "moment", at),
        "moment.post_crack_ratio": Figure(nominal / cracking, "number", at)
        if cracking > 0.0
        else Figure(None, "number", at, "the section is cracked by the rods alone"),
    }
    stresses = along.sections.rod_stress_psi[:, *here].tolist()
    for rod, stress in zip(reading.piece.rods, stresses, strict=True):
        found[f"rod.{rod.mark}.stress_nominal"] = Figure(stress, "stress", at)
    return found


def _crown_figures(analysis: Analysis) -> Figures:
    d, piece = analysis.deflections, analysis.batch.piece
    found = {"crown.transfer": Figure(float(d.crown_transfer[NOMINAL]), "length", float(d.crown_transfer_at[NOMINAL]))}
    for name, variant in (("low", LOW), ("high", HIGH)):
        found[f"crown.transfer_{name}"] = (
            Figure(float(d.crown_transfer[variant]), "length", float(d.crown_transfer_at[variant]))
            if analysis.batch.names == CHECK_VARIANTS
            else Figure(None, "length", None, "found in a check run's five variants only")
        )
    for name in ("drying", "installed", "final"):
        value, at = getattr(d, f"crown_{name}"), getattr(d, f"crown_{name}_at")
        found[f"crown.{name}"] = Figure(float(value[NOMINAL]), "length", float(at[NOMINAL]))
    found["deflection.live"] = Figure(float(d.live[NOMINAL]), "length", float(d.live_at[NOMINAL]))
    found["deflection.long"] = Figure(float(d.long[NOMINAL]), "length")
    for name, value, x in (("tip_left", d.tip_left, 0.0), ("tip_right", d.tip_right, piece.length_in)):
        there = bool(np.isfinite(value[NOMINAL]))
        found[f"deflection.{name}"] = (
            Figure(float(value[NOMINAL]), "length", x)
            if there
            else Figure(None, "length", None, "there is no overhang at that end")
        )
    return found


def _other_figures(analysis: Analysis) -> Figures:
    piece, stresses = analysis.batch.piece, analysis.stresses
    found: Figures = {}
    if piece.handling is None:
        why = "the specification says nothing of handling"
        found |= {
            "handling.tension": Figure(None, "stress", None, why),
            "handling.factor": Figure(None, "number", None, why),
        }
    else:
        tension, at = float(stresses.handling[NOMINAL]), float(stresses.handling_at_in[NOMINAL])
        found["handling.tension"] = Figure(tension, "stress", at)
        found["handling.factor"] = (
            Figure(piece.handling.flexural_yield_psi / tension, "number", at)
            if tension > 0.0
            else Figure(None, "number", at, "lifting pulls no corner")
        )
    factor = float(analysis.uplift_factor[NOMINAL])
    found["uplift.factor"] = (
        Figure(factor)
        if np.isfinite(factor)
        else Figure(None, "number", None, "no live load lifts a support that cannot pull down")
    )
    lateral = analysis.deflections.lateral[NOMINAL]
    if not lateral.size:
        found["bow.lateral_max"] = Figure(None, "length", None, NO_RODS)
        return found
    turn = int(np.argmax(lateral))
    found["bow.lateral_max"] = Figure(
        float(lateral[turn]), "length", float(analysis.deflections.lateral_at[NOMINAL, turn])
    )
    return found
