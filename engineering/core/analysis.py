"""`analyse(batch) -> Analysis`: every shared quantity, once, in written order."""

import numpy as np

from engineering.core import bow, crown, handling, sections, statics, stresses, stressing, tendons, time_dependent
from engineering.core.batching import Array, Batch, keep_freed_memory, wide
from engineering.core.grid import build_grid, deflection_matrix
from engineering.core.quantities import Analysis, Loading, Tendons, TimeCourse

__all__ = ["Analysis", "analyse"]


def analyse(batch: Batch) -> Analysis:
    """Where, sections, loads, rods, time, stresses, deflections: each needs only what stands above it."""
    keep_freed_memory()
    piece, size = batch.piece, batch.size
    grid = build_grid(piece)
    layout = tendons.lay_out(batch, grid)
    section = sections.sections_of(batch, grid, layout)
    net, at, again = section.net, tendons.lever(batch, layout, section.own), layout.alike.again
    frame = statics.build_frame(batch, grid, net.free_inertia_in4)
    cases = statics.load_cases(batch, grid, frame, section)
    rods, moments = stressing.stress_rods(batch, grid, layout, at, frame)
    rise = deflection_matrix(grid, piece.supports[0].at_in, piece.supports[-1].at_in)
    shapes = crown.rise_shapes(batch, grid, rise, frame, section, cases, moments)
    forces = _in_time(batch, layout, at, cases, rods)
    bent = crown.amplitudes(batch, forces)
    time = _time_course(batch, shapes, forces, bent)
    unit = stresses.corner_stresses(batch, grid, net, (at.by_y[:, again], at.by_z[:, again]), moments)
    lifted = handling.handling_tension(batch, grid, unit, moments, cases.weight_lbf_per_in, time)
    side = bow.lateral_bow(batch, grid, rise, unit, rods)
    reaction, last = (
        np.matmul(rods.secondary_reaction, f[..., None])[..., 0] for f in (rods.transfer_lbf, time.final_lbf)
    )
    lengths = np.array([zone.end_in - zone.start_in for zone in piece.zones])
    feet = np.array([sections.contact_width(batch, support.at_in, piece.length_in) for support in piece.supports])
    return Analysis(
        batch=batch,
        grid=grid,
        gross=sections.widened(section.gross, size),
        net=sections.widened(net, size),
        outlines=section.outlines,
        alike=layout.alike,
        clearance_in=wide(section.clearance_in, (size, len(piece.rods))),
        clearance_at_in=wide(section.clearance_at_in, (size, len(piece.rods))),
        weight_lbf=wide(cases.weight_lbf_per_in @ lengths, (size,)),
        volume_ft3=wide(section.gross.area_in2 @ lengths / 1728.0, (size,)),
        loading=cases.loading,
        tendons=rods,
        time=time,
        stresses=stresses.stages(batch, grid, unit, cases.loading, rods, time, lifted),
        deflections=crown.deflections(batch, shapes, cases, forces, bent, side),
        reaction_rods=reaction,
        reaction_rods_final=last,
        contact_width_in=wide(feet, (size, len(feet))),
        uplift_factor=uplift_factor(batch, cases.loading, reaction),
    )


def _in_time(
    batch: Batch, layout: tendons.Layout, at: tendons.Lever, cases: statics.LoadCases, rods: Tendons
) -> time_dependent.Forces:
    own, later = (
        tendons.axis_strain_of_moment(layout, at, moment)
        for moment in (cases.self_moment, cases.dead_moment + cases.sustained_moment)
    )
    return time_dependent.forces_in_time(
        batch,
        time_dependent.schedule(batch.piece),
        rods.transfer_lbf.T,
        rods.seated_lbf.T,
        rods.shortening.transpose(1, 2, 0),
        own,
        later,
    )


def _time_course(
    batch: Batch, shapes: crown.Shapes, forces: time_dependent.Forces, bent: crown.Amplitudes
) -> TimeCourse:
    piece, plan, size = batch.piece, forces.plan, batch.size
    lifting, modulus = piece.handling, batch.rods.modulus_psi.T
    handled = np.zeros_like(forces.force_lbf[0])
    if lifting is not None and lifting.stressed:
        handled = forces.force_lbf[int(np.searchsorted(plan.ages_days, min(lifting.age_days, plan.ages_days[-1])))]
    crowns = crown.crown_in_time(batch, shapes, forces, bent)
    return TimeCourse(
        ages_days=plan.ages_days,
        force_lbf=forces.force_lbf.transpose(2, 0, 1),
        crown_in=wide(crowns, (len(plan.ages_days), size)).T,
        final_lbf=forces.force_lbf[-1].T,
        creep_psi=(modulus * forces.axis_strain[-1]).T,
        shrinkage_psi=wide(modulus * forces.shrinkage_strain[-1], handled.shape).T,
        relaxation_psi=wide(forces.relaxation_psi[-1], handled.shape).T,
        installed_lbf=forces.force_lbf[plan.installed].T,
        handling_lbf=handled.T,
        drying_left=wide(time_dependent.share_left(batch, plan), (size,)),
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
