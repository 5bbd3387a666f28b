"""Figures of the rods and their anchors, at nominal force."""

import numpy as np

from engineering.core import anchorage
from engineering.core.batching import NOMINAL
from engineering.core.checks.anchors import bursting_at_jacking, net_areas
from engineering.core.checks.reading import Reading
from engineering.core.contract.piece import Rod
from engineering.core.contract.results import Figure
from engineering.core.quantities import Analysis

IN_PER_FT = 12.0


def rod_figures(analysis: Analysis) -> dict[str, Figure]:
    """`rod.MARK.*` (but `stress_nominal`) and `loss.MARK.*`."""
    found: dict[str, Figure] = {}
    for number, rod in enumerate(analysis.batch.piece.rods):
        found |= {f"rod.{rod.mark}.{name}": figure for name, figure in _one_rod(analysis, number, rod).items()}
    for number, rod in enumerate(analysis.batch.piece.rods):
        found |= {f"loss.{rod.mark}.{name}": figure for name, figure in _losses(analysis, number).items()}
    return found


def _one_rod(analysis: Analysis, number: int, rod: Rod) -> dict[str, Figure]:
    tendons, at, piece = analysis.tendons, (NOMINAL, number), analysis.batch.piece
    area, force = rod.area_in2, float(analysis.batch.rods.jacking_lbf[at])
    factor = piece.stressing.nut_factor if piece.stressing is not None else 0.0
    return {
        "tensile_area": Figure(area, "area"),
        "yield_force": Figure(area * rod.grade.yield_psi, "force"),
        "jacking_stress": Figure(force / area, "stress"),
        "torque": Figure(factor * rod.thread.diameter_in * force / IN_PER_FT, "torque"),
        "elongation": Figure(float(tendons.elongation_in[at]), "length"),
        "nut_turns": Figure(float(tendons.nut_turns[at])),
        "length": Figure(float(tendons.length_in[at]), "length"),
        "cover": Figure(float(analysis.clearance_in[at]), "length"),
        "force_jacking": Figure(force, "force"),
        "force_far": Figure(float(tendons.far_lbf[at]), "force"),
        "force_mean": Figure(float(tendons.mean_lbf[at]), "force"),
        "force_transfer": Figure(float(tendons.transfer_lbf[at]), "force"),
        "force_final": Figure(float(analysis.time.final_lbf[at]), "force"),
    }


def _losses(analysis: Analysis, number: int) -> dict[str, Figure]:
    tendons, time, at = analysis.tendons, analysis.time, (NOMINAL, number)
    area = float(analysis.batch.rods.area_in2[at])
    jacking, mean, seated, transfer = (
        float(f[at])
        for f in (analysis.batch.rods.jacking_lbf, tendons.mean_lbf, tendons.seated_lbf, tendons.transfer_lbf)
    )
    remaining = (
        Figure(float(time.final_lbf[at]) / transfer)
        if transfer > 0.0
        else Figure(None, "number", None, "the rod is slack already after transfer")
    )
    return {
        "friction": Figure((jacking - mean) / area, "stress"),
        "seating": Figure((mean - seated) / area, "stress"),
        "shortening": Figure((seated - transfer) / area, "stress"),
        "creep": Figure(float(time.creep_psi[at]), "stress"),
        "shrinkage": Figure(float(time.shrinkage_psi[at]), "stress"),
        "relaxation": Figure(float(time.relaxation_psi[at]), "stress"),
        "remaining": remaining,
    }


def anchor_figures(reading: Reading) -> dict[str, Figure]:
    """`anchor.MARK.*`: both bearing pressures are of nominal forces; bursting, the greater of both directions, is of
    the jacking force."""
    analysis = reading.analysis
    rods = analysis.batch.piece.rods
    found: dict[str, Figure] = {}
    if not rods:
        return found
    jacking = analysis.batch.rods.jacking_lbf[NOMINAL].tolist()
    transfer = analysis.tendons.transfer_lbf[NOMINAL].tolist()
    behind, areas = reading.once(bursting_at_jacking), reading.once(net_areas)[:, 0].tolist()
    factored = np.maximum(behind.upright_lbf[..., NOMINAL], behind.across_lbf[..., NOMINAL])
    ends = (factored / anchorage.JACKING_FACTOR).T.tolist()
    for rod, at_jacking, after, net, (left, right) in zip(rods, jacking, transfer, areas, ends, strict=True):
        name = f"anchor.{rod.mark}"
        for figure, force in (("bearing_transfer", at_jacking), ("bearing_service", after)):
            found[f"{name}.{figure}"] = (
                Figure(force / net, "stress")
                if net > 0.0
                else Figure(None, "stress", None, "the hole leaves nothing of the plate")
            )
        at = rod.profile[-1 if right > left else 0][0]
        found[f"{name}.bursting"] = Figure(max(left, right), "force", at)
    return found
