"""Rod forces in time: step-by-step superposition of creep, shrinkage and relaxation, the rods coupled through the
concrete.

ACI 209R-92 time functions (creep t^0.6/(10 + t^0.6), shrinkage t/(35 + t), later loading ages 1.25·t0^−0.118 relative
to that at stressing); relaxation f·(log10 hours/45)·(f/fy − 0.55) (Magura, Sozen & Siess 1964). Stress at stressing
strains the concrete by σ/E_stressing·(1 + creep); later stress by σ/E + creep(t, t')·σ/E_stressing.
"""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array, Batch, wide
from engineering.core.contract.piece import Piece
from engineering.core.coupled import inverse, times, without_pushing

DAYS_IN_YEAR = 365.25
LOAD_AGE_POWER = -0.118
RELAXATION_STEEL, RELAXATION_THRESHOLD = 45.0, 0.55
STEPS = 20  # points of the geometric grid of ages
FIRST_STEP_DAYS = 0.05
AFTER_AN_EVENT = (0.2, 2.0, 12.0)  # days after an age at which something jumps


def creep_share(days: Array) -> Array:
    """Creep reached after so many days under load, as a share of the ultimate."""
    grown = np.maximum(days, 0.0) ** 0.6
    return grown / (10.0 + grown)


def shrinkage_share(days: Array) -> Array:
    """Shrinkage reached after so many days of drying, as a share of the ultimate."""
    dried = np.maximum(days, 0.0)
    return dried / (35.0 + dried)


def relaxation_share(stress_psi: Array, yield_psi: Array, hours: Array) -> Array:
    """Intrinsic relaxation over the stress just after stressing. Not below 0; none before the first hour is over."""
    return (
        np.maximum(stress_psi / yield_psi - RELAXATION_THRESHOLD, 0.0)
        * np.log10(np.maximum(hours, 1.0))
        / RELAXATION_STEEL
    )


def stressing_age(piece: Piece) -> float:
    """Age at which self weight and rods begin to act; the end of cure for a piece that is not stressed."""
    return piece.stressing.age_days if piece.stressing is not None else piece.concrete.cure_age_days


@dataclass(frozen=True)
class Schedule:
    """Ages of the steps and what happens on each: "" for time passing, "install" or "restress" for a jump."""

    ages_days: Array  # (T,)
    happens: tuple[str, ...]
    installed: int  # the step before the dead loads come on
    kernel: Array  # (T, T) creep share at age i of stress that came in step j, times its load-age factor
    first: Array  # (T,) the same for stress at stressing
    dead: Array  # (T,) the same for the dead loads, 0 before they come
    loaded: Array  # (T,) 1 where the dead loads are on


def schedule(piece: Piece, steps: int = STEPS) -> Schedule:
    start = stressing_age(piece)
    life = max(piece.criteria.life_years * DAYS_IN_YEAR, start + 1.0)
    install = min(max(piece.installation_age_days, start), life)
    events = [(install, 1, "install")]
    if piece.stressing is not None:
        events += [(age, 2, "restress") for age in piece.stressing.restress_days if start < age <= life]
    plain = {
        life,
        *(start + FIRST_STEP_DAYS * ((life - start) / FIRST_STEP_DAYS) ** (np.arange(steps - 1) / (steps - 1))),
        *(age + later for age, _, _ in events for later in AFTER_AN_EVENT),
    }
    plain |= {age for age, _, _ in events} | {piece.concrete.cure_age_days}
    if piece.handling is not None:
        plain.add(piece.handling.age_days)
    flow = [(float(age), 0, "") for age in plain if start < age <= life * (1 + 1e-12)]
    moments = [(start, 0, ""), *sorted(flow + events)]
    ages, happens = np.array([age for age, _, _ in moments]), tuple(what for _, _, what in moments)
    middle = np.concatenate([ages[:1], 0.5 * (ages[1:] + ages[:-1])])
    kernel = (middle / start) ** LOAD_AGE_POWER * creep_share(ages[:, None] - middle)  # 0 of what is yet to come
    kernel[:, 0] = 0.0
    loaded = np.cumsum([what == "install" for what in happens]).astype(float)
    dead = loaded * (install / start) ** LOAD_AGE_POWER * creep_share(ages - install)
    return Schedule(ages, happens, happens.index("install") - 1, kernel, creep_share(ages - start), dead, loaded)


@dataclass(frozen=True)
class Forces:
    """Rods and variants behind the steps (T, R, V). axis_strain: shortening on each axis since stressing, shrinkage
    apart; changes_lbf: change of force in each step; shrinkage_strain (T, V or 1): since stressing."""

    plan: Schedule
    force_lbf: Array
    changes_lbf: Array
    axis_strain: Array
    shrinkage_strain: Array
    relaxation_psi: Array


def forces_in_time(
    batch: Batch, plan: Schedule, transfer: Array, seated: Array, shortening: Array, own: Array, later: Array
) -> Forces:
    """Mean forces of the rods at every age, never below 0.

    transfer, seated : (R, V) forces just after stressing, and to which a rod is brought back at a restress age.
    shortening : (R, R, V or 1); own, later : (R, V or 1) modulus × mean shortening on each axis by self weight, by dead
    and sustained loads.
    """
    concrete, rods, steps = batch.concrete, batch.rods, len(plan.ages_days)
    area, old, creeping = rods.area_in2.T, concrete.modulus_psi, concrete.creep / concrete.modulus_at_stressing_psi
    stiffness = area * rods.modulus_psi.T
    known, shrinkage = _strain_of_loads(batch, plan, times(shortening, transfer) + own, later)
    relaxation = _relaxation(plan, transfer / area, rods.yield_psi.T)
    driven = -stiffness * (known + shrinkage[:, None]) - relaxation * area  # change of force but for the rods' own
    force, rows = np.empty((steps, *transfer.shape)), np.zeros((steps, 3, *transfer.shape))
    force[0] = before = transfer
    follow, count = _Follow(plan, shortening, stiffness / old, stiffness * creeping, transfer.shape[1]), len(transfer)
    flat, row = rows.reshape(3 * steps, transfer.size), rows.reshape(steps, 3 * count, transfer.shape[1])
    for i in range(1, steps):
        free = driven[i] - follow.weights[i, : 3 * i].dot(flat[: 3 * i]).reshape(before.shape)
        if plan.happens[i] == "restress":
            found = follow.to(seated - before)
            driven[i:] += times(follow.matrix[:, :, i], seated - before) - free
        else:
            found = follow.alone(i, free)
        after = before + found[:count]
        if np.count_nonzero(after < 0.0):
            found = follow.slack(i, free, before)
            after = before + found[:count]
        row[i], force[i], before = found, after, after
    crept = (plan.kernel @ rows[:, 2].reshape(steps, transfer.size)).reshape(force.shape)
    moved = (np.cumsum(rows[:, 1], axis=0) + crept) / stiffness
    return Forces(plan, force, rows[:, 0], known + moved, shrinkage, relaxation)


def _strain_of_loads(batch: Batch, plan: Schedule, first: Array, later: Array) -> tuple[Array, Array]:
    """Shortening on each axis since stressing by what acts at stressing and by later loads (T, R, V), each given as
    modulus × strain (R, V or 1); shrinkage since stressing (T, V or 1)."""
    concrete, outer = batch.concrete, np.multiply.outer
    creeping = concrete.creep / concrete.modulus_at_stressing_psi
    found = outer(plan.first, first * creeping) + outer(plan.loaded, later / concrete.modulus_psi)
    found += outer(plan.dead, later * creeping)
    dried = shrinkage_share(plan.ages_days - batch.piece.concrete.cure_age_days)
    return found, outer(dried - dried[0], concrete.shrinkage)


def _relaxation(plan: Schedule, stress: Array, yield_psi: Array) -> Array:
    """Relaxation stress (T, R, V) of rods at this stress (R, V) just after stressing."""
    hours = (plan.ages_days - plan.ages_days[0]) * 24.0
    return np.multiply.outer(
        np.log10(np.maximum(hours, 1.0)), relaxation_share(stress, yield_psi, np.array(10.0)) * stress
    )


class _Follow:
    """How the rods' forces follow the concrete in each step: before + change = max(0, before + free − matrix·change
    + change). A step's row is its change, and the force which that costs every rod: at once, and by creep for a unit
    of the kernel. `weights` (T, 3 T): what the rows of the steps before have taken off by this one."""

    def __init__(self, plan: Schedule, shortening: Array, at_once: Array, in_time: Array, size: int) -> None:
        """shortening (R, R, V or 1) of a unit force; at_once, in_time (R, V or 1): force that a unit of it costs."""
        count, steps = len(shortening), len(plan.ages_days)
        each = (count, count, size)
        self.costs = np.concatenate([wide(cost[:, None] * shortening, each) for cost in (at_once, in_time)])
        held, crept = self.costs[:count, :, None], self.costs[count:, :, None]
        self.matrix = np.eye(count)[..., None, None] + held + crept * plan.kernel.diagonal()[:, None]
        flat = inverse(self.matrix.reshape(count, count, steps * size)).reshape(self.matrix.shape)
        costing = np.add.reduce(self.costs[:, :, None, None] * flat, 1)
        self.answers = np.ascontiguousarray(np.concatenate([flat, costing]).transpose(2, 1, 0, 3))  # (T, R, 3 R, V)
        self.weights = np.array([np.ones_like(plan.kernel)] * 2 + [plan.kernel]).transpose(1, 2, 0).reshape(steps, -1)

    def to(self, change: Array) -> Array:
        """The row (3 R, V) of a change (R, V)."""
        return np.concatenate([change, times(self.costs, change)])

    def alone(self, step: int, free: Array) -> Array:
        """The row (3 R, V) of a step in which the rods would change by `free` (R, V) if that cost nothing."""
        found: Array = np.add.reduce(self.answers[step] * free[:, None], 0)
        return found

    def slack(self, step: int, free: Array, before: Array) -> Array:
        """The same where a rod would be pushed: it is slack."""
        matrix = self.matrix[:, :, step]
        return self.to(without_pushing(matrix, free + times(matrix, before)) - before)


def share_left(batch: Batch, plan: Schedule) -> Array:
    """What creep leaves, at the end of life, of the moment by which supports hold back a curvature imposed at
    installation (V,)."""
    if batch.piece.environment.drying_difference == 0.0:
        return np.ones(1)
    ratio = batch.concrete.creep * batch.concrete.modulus_psi / batch.concrete.modulus_at_stressing_psi
    start = plan.installed + 1
    lost = np.zeros((len(ratio), len(plan.ages_days)))
    for i in range(start + 1, len(plan.ages_days)):
        gone = lost[:, :i].sum(1) + ratio * (plan.dead[i] + lost[:, :i] @ plan.kernel[i, :i])
        lost[:, i] = -gone / (1.0 + ratio * plan.kernel[i, i])
    return np.asarray(1.0 + lost.sum(1), dtype=np.float64)
