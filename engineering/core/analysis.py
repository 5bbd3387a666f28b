"""`analyse(batch) -> Analysis`: every shared quantity, once, in written order."""

import numpy as np

from engineering.core import bow, crown, handling, sections, statics, stresses, tendons, time_dependent
from engineering.core.batching import Array, Batch
from engineering.core.grid import build_grid
from engineering.core.quantities import Analysis, Loading, TimeCourse

__all__ = ["Analysis", "analyse"]


def analyse(batch: Batch) -> Analysis:
    """Where, sections, loads, rods, time, stresses, deflections: each needs only what stands above it."""
    grid = build_grid(batch.piece)
    layout = tendons.lay_out(batch, grid)
    section = sections.sections_of(batch, grid, layout.height_in, layout.active)
    net = section.net
    frame = statics.build_frame(batch, grid, net.free_inertia_in4)
    cases = statics.load_cases(batch, grid, frame, section)
    rods, moments = tendons.stress_rods(batch, grid, layout, net, frame)
    shapes = crown.rise_shapes(batch, grid, net, frame, section, cases, moments, rods)
    own, later = (
        tendons.axis_strain_of_moment(batch, layout, net, moment)
        for moment in (cases.self_moment, cases.dead_moment + cases.sustained_moment)
    )
    plan = time_dependent.schedule(batch.piece)
    forces = time_dependent.forces_in_time(batch, plan, rods.transfer_lbf, rods.seated_lbf, rods.shortening, own, later)
    time = _time_course(batch, shapes, forces)
    unit = stresses.corner_stresses(batch, grid, net, moments, rods.secondary[: moments.axial.shape[0]])
    lifted = handling.handling_tension(batch, grid, unit, moments, cases.weight_lbf_per_in, rods, time)
    side = bow.lateral_bow(batch, grid, net, moments, rods)
    reaction = np.matmul(rods.secondary_reaction, rods.transfer_lbf[..., None])[..., 0]
    lengths = np.array([zone.end_in - zone.start_in for zone in batch.piece.zones])
    feet = [sections.contact_width(batch, s.at_in, batch.piece.length_in) for s in batch.piece.supports]
    return Analysis(
        batch=batch,
        grid=grid,
        gross=sections.widened(section.gross, batch.size),
        net=sections.widened(net, batch.size),
        clearance_in=np.broadcast_to(section.clearance_in, (batch.size, len(batch.piece.rods))),
        weight_lbf=np.broadcast_to(cases.weight_lbf_per_in @ lengths, batch.size),
        volume_ft3=np.broadcast_to(section.gross.area_in2 @ lengths / 1728.0, batch.size),
        loading=cases.loading,
        tendons=rods,
        time=time,
        stresses=stresses.stages(batch, grid, unit, cases.loading, rods, time, lifted),
        deflections=crown.deflections(batch, shapes, cases, forces, side),
        reaction_rods=reaction,
        reaction_rods_final=np.matmul(rods.secondary_reaction, time.final_lbf[..., None])[..., 0],
        contact_width_in=np.broadcast_to(np.array(feet), (batch.size, len(feet))),
        uplift_factor=uplift_factor(batch, cases.loading, reaction),
    )


def _time_course(batch: Batch, shapes: crown.Shapes, forces: time_dependent.Forces) -> TimeCourse:
    piece, plan = batch.piece, forces.plan
    last, lifting = len(plan.ages_days) - 1, piece.handling
    modulus, size = batch.rods.modulus_psi, batch.size
    handled = np.zeros_like(forces.force_lbf[:, 0])
    if lifting is not None and lifting.stressed:
        handled = forces.force_lbf[:, int(np.searchsorted(plan.ages_days, min(lifting.age_days, plan.ages_days[-1])))]
    return TimeCourse(
        ages_days=plan.ages_days,
        force_lbf=forces.force_lbf,
        crown_in=np.broadcast_to(crown.crown_in_time(batch, shapes, forces), (size, last + 1)),
        final_lbf=forces.force_lbf[:, last],
        creep_psi=modulus * forces.axis_strain[:, last],
        shrinkage_psi=np.broadcast_to(modulus * forces.shrinkage_strain[:, last, None], handled.shape),
        relaxation_psi=forces.relaxation_psi[:, last],
        installed_lbf=forces.force_lbf[:, plan.installed],
        handling_lbf=handled,
        drying_left=np.broadcast_to(time_dependent.share_left(batch, plan), size),
    )


def uplift_factor(batch: Batch, loading: Loading, rods: Array) -> Array:
    """Least (dead + rods)/(−least live) over supports that cannot pull down, 0 where dead + rods do not press;
    nan: none lifts. (V,)"""
    free = np.array([not support.hold_down for support in batch.piece.supports])
    pressed, lifted = loading.dead_reaction + rods, -loading.live_reaction_min
    most = np.maximum(np.abs(loading.dead_reaction).max(1, keepdims=True), 1e-12)
    lifts = lifted > 1e-9 * most
    factor = np.where(lifts, np.maximum(pressed, 0.0) / np.where(lifts, lifted, 1.0), np.inf)
    factor = np.where(free, np.where(pressed <= 0.0, 0.0, factor), np.inf).min(1)
    return np.where(np.isfinite(factor), factor, np.nan)
