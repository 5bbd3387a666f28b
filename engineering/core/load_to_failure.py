"""Load-to-failure: a uniform load on the whole length until the piece gives up, as the shop does with bags.

One crack opens at the worst section over a length equal to its depth; the rest stays uncracked. A smeared crack would
let the rods stretch everywhere and promises far too much (basis, finding 3). Followed by the curvature of the cracked
length, past the peak. More than two supports: first crack only.
"""

from dataclasses import dataclass, field

import numpy as np

from engineering.core.batching import Array
from engineering.core.checks.reading import Reading
from engineering.core.checks.shear_along import off_the_bearings, rod_depth, webs
from engineering.core.concrete_limits import lightness
from engineering.core.crack import Crack, OpenSection
from engineering.core.fibres import CRUSHING_STRAIN
from engineering.core.load_test_model import TestModel, test_model
from engineering.core.shear import lower_bound
from engineering.core.thread_grip import strip_force
from engineering.core.uncracked import State, balanced, mean_strain

TURNS = 30  # of the fixed point for the rod forces
CLOSE = 1e-7
GROWTH = (1.03, 30, 1.10)  # curvature from step to step: close behind the first crack, wider after it
MOST_STEPS = 110
EARLY_STEPS = 8
SEVERAL_SUPPORTS = "more than two supports: only the first crack is calculated"


@dataclass(frozen=True)
class Point:
    """One point of the curve. load: the uniform load besides self weight [lbf]; deflection from its start, down +
    [in]."""

    load_lbf: float
    deflection_in: float
    rod_strain: Array
    edge_strain: float  # of the compressed edge of the cracked section, compression +


@dataclass(frozen=True)
class LoadTest:
    """None where the analysis does not reach it, with the reason in `why`."""

    first_crack_lbf: float | None
    peak_lbf: float | None
    yield_lbf: float | None
    mode: str | None
    shear_bound_lbf: float | None
    crown_at_service_in: float | None
    crack_at_in: float | None
    curve: tuple[Point, ...] = ()
    why: dict[str, str] = field(default_factory=dict)


def load_test(reading: Reading) -> LoadTest:
    """The whole analysis for the nominal variant."""
    model = test_model(reading.analysis)
    station, sagging, first = elastic_first_crack(model, reading)
    why: dict[str, str] = {}
    if len(reading.piece.supports) > 2:
        why = dict.fromkeys(
            ("peak", "yield", "mode", "shear_bound", "crown_left_at_service", "curve"), SEVERAL_SUPPORTS
        )
        return LoadTest(first, None, None, None, None, None, float(model.grid.x_in[station]), (), why)
    bound = shear_bound(model, reading)
    if bound is None:
        why["shear_bound"] = "no section lies half a depth off the bearings' edges"
    crown = crown_at_service(model, reading)
    start = settled_start(model)
    state, forces, load = at_first_crack(model, start, station, sagging, first)
    curve = [*early_points(model, start, load), *after_crack(model, start, station, sagging, state, forces, load)]
    peak = max(range(len(curve)), key=lambda k: curve[k].load_lbf)
    yields = _first_yield(model, curve)
    if yields is None:
        why["yield"] = "no rod yields before the curve ends" if len(model.start_lbf) else "the piece has no rods"
    return LoadTest(
        load,
        curve[peak].load_lbf,
        yields,
        _mode(model, reading, curve[peak]),
        bound,
        crown,
        float(model.grid.x_in[station]),
        tuple(curve),
        why,
    )


def elastic_first_crack(model: TestModel, reading: Reading) -> tuple[int, bool, float]:
    """Where the extreme fibre first reaches flexural_yield, on which face, at what load; elastic, rods growing with
    their mean strain. (station, sagging, load)"""
    analysis, modulus = reading.analysis, model.concrete.modulus_psi
    area, inertia = analysis.net.area_in2[0], analysis.net.inertia_in4[0]
    growth = np.zeros(len(model.start_lbf))
    if len(growth):
        strain = -(model.unit_moment[:, None] * model.rod_in / inertia[:, None] * model.rod_weight).sum(axis=0)
        stiff = model.rods.area_in2 * model.rods.modulus_psi / modulus
        growth = np.linalg.solve(np.eye(len(growth)) + stiff[:, None] * analysis.tendons.shortening[0], stiff * strain)
    secondary = analysis.tendons.secondary[0]

    def stress(moment: Array, force: Array, level: Array) -> Array:
        pull = model.active * force
        turning = moment + (pull * model.rod_in).sum(axis=1) + secondary @ force
        return np.asarray(-pull.sum(axis=1) / area - turning * level / inertia)

    best: tuple[int, bool, float] = (0, True, np.inf)
    for sagging, face in ((True, model.bottom_in), (False, model.top_in)):
        level = face - model.centroid_in
        before = stress(model.self_moment, model.start_lbf, level)
        per_load = stress(model.unit_moment, growth, level)
        load = np.where(
            per_load > 0, (model.concrete.yield_psi - before) / np.where(per_load > 0, per_load, 1.0), np.inf
        )
        load = np.where(reading.tension_stations, load, np.inf)
        station = int(np.argmin(load))
        if load[station] < best[2]:
            best = (station, sagging, float(max(load[station], 0.0)))
    return best


def settled_start(model: TestModel) -> State:
    """Self weight and the forces after transfer, before any load."""
    return balanced(model, model.self_moment, model.start_lbf, State.unstrained(model))


def loaded(model: TestModel, start: State, load: float, near: State, forces: Array) -> tuple[State, Array]:
    """The uncracked piece under a load, with the rod forces that follow from its own deformation."""
    zero = mean_strain(model, start)
    state = near
    for _ in range(TURNS):
        state = balanced(model, model.self_moment + load * model.unit_moment, forces, state)
        again = model.rods.force(model.start_strain + mean_strain(model, state) - zero)
        done = (np.abs(again - forces) <= CLOSE * (np.abs(forces) + 1.0)).all()
        forces = again
        if done:
            break
    return state, forces


def at_first_crack(
    model: TestModel, start: State, station: int, sagging: bool, guess: float
) -> tuple[State, Array, float]:
    """The load at which that face's strain reaches the cracking strain, by the secant rule from the elastic answer."""

    def gap(load: float, near: State, forces: Array) -> tuple[float, State, Array]:
        state, found = loaded(model, start, load, near, forces)
        return float(state.faces(model)[1 if sagging else 0][station]) - model.concrete.cracking_strain, state, found

    low, high = 0.0, max(guess, 1e-6)
    off_low, state, forces = gap(low, start, model.start_lbf)
    off_high, state, forces = gap(high, state, forces)
    for _ in range(12):
        if abs(off_high) < 1e-9 * model.concrete.cracking_strain or off_high == off_low:
            break
        load = max(high - off_high * (high - low) / (off_high - off_low), 0.0)
        low, off_low, high = high, off_high, load
        off_high, state, forces = gap(high, state, forces)
    return state, forces, high


def early_points(model: TestModel, start: State, crack_lbf: float) -> list[Point]:
    """The uncracked part of the curve, from no load to the first crack."""
    found, state, forces = [], start, model.start_lbf
    zero = mean_strain(model, start)
    for load in np.linspace(0.0, crack_lbf, EARLY_STEPS):
        state, forces = loaded(model, start, float(load), state, forces)
        found.append(
            Point(
                float(load),
                -float(model.rise @ (state.curvature - start.curvature)),
                model.start_strain + mean_strain(model, state) - zero,
                0.0,
            )
        )
    return found


def after_crack(
    model: TestModel, start: State, station: int, sagging: bool, state: State, forces: Array, load: float
) -> list[Point]:
    """The curve from the first crack on, by growing curvature of the cracked length, until it ends."""
    crack = Crack.at(model, station, sagging)
    curvature, found = abs(float(state.curvature[station])) + 1e-9, []
    strain, slope = float(state.strain[station]), None
    zero = mean_strain(model, start)
    for step in range(MOST_STEPS):
        growth = GROWTH[0] if step < GROWTH[1] else GROWTH[2]
        curvature, strain = curvature * growth, strain * growth
        section = OpenSection(model, crack, curvature, strain)
        for _ in range(TURNS):
            moment, slope = section.balanced(forces, slope)
            strain = section.strain
            load = (moment - model.self_moment[station]) / model.unit_moment[station]
            state = balanced(model, model.self_moment + load * model.unit_moment, forces, state)
            extra = crack.extra_strain(state, curvature, strain)
            rod_strain = model.start_strain + mean_strain(model, state) - zero + extra
            again = model.rods.force(rod_strain)
            done = (np.abs(again - forces) <= CLOSE * 100 * (np.abs(forces) + 1.0)).all()
            forces = 0.5 * (forces + again) if (rod_strain > model.rods.yield_strain).any() else again
            if done:
                break
        kink = crack.length_in * (crack.sign * curvature - float(state.curvature[station]))
        sag = -float(model.rise @ (state.curvature - start.curvature)) + crack.sag_in * kink
        edge = crack.edge_strain(curvature, strain)
        found.append(Point(float(load), sag, rod_strain, edge))
        if edge >= CRUSHING_STRAIN or load <= 0.0 or np.any(rod_strain >= model.rods.elongation):
            break
    return found


def _first_yield(model: TestModel, curve: list[Point]) -> float | None:
    """The load at which a rod's strain first reaches yield, between two points by a straight line."""
    if not len(model.start_lbf):
        return None
    limit = model.rods.yield_strain
    shares = [float(np.max(point.rod_strain / limit)) for point in curve]
    for k, share in enumerate(shares):
        if share >= 1.0:
            if k == 0:
                return curve[0].load_lbf
            part = (1.0 - shares[k - 1]) / (share - shares[k - 1])
            return max(curve[k - 1].load_lbf + part * (curve[k].load_lbf - curve[k - 1].load_lbf), 0.0)
    return None


def _mode(model: TestModel, reading: Reading, peak: Point) -> str:
    """What ends the rise."""
    if peak.edge_strain >= CRUSHING_STRAIN:
        return "crushing"
    if len(model.start_lbf):
        if np.any(peak.rod_strain >= model.rods.elongation):
            return "rod rupture"
        force = model.rods.force(peak.rod_strain)
        if any(force[k] >= strip_force(rod.thread, rod.grade.ultimate_psi) for k, rod in enumerate(reading.piece.rods)):
            return "thread strip"
        if np.any(peak.rod_strain >= model.rods.yield_strain):
            return "rod yield"
    return "fibre tension"


def shear_bound(model: TestModel, reading: Reading) -> float | None:
    """The load at which V/(b_w d_p) reaches 2λ√f'c half a depth off a bearing's edge."""
    where = off_the_bearings(reading)
    if not where.any():
        return None
    concrete = reading.batch.concrete
    limit = float(lower_bound(concrete.strength_psi[0], lightness(concrete.density_pcf[0])))
    room = limit * webs(reading.analysis).width_in[0][model.grid.zone] * rod_depth(reading)[0]
    with_load = np.where(np.abs(model.unit_shear) > 1e-9, model.unit_shear, np.nan)
    loads = (np.sign(with_load) * room - model.self_shear) / with_load
    return float(np.nanmin(np.where(where, loads, np.nan)))


def crown_at_service(model: TestModel, reading: Reading) -> float:
    """Crown left under self weight, dead and all live load that is not alone, elastic, 28-day modulus. [in], up +"""
    inertia, modulus = reading.analysis.net.inertia_in4[0], model.concrete.modulus_psi
    pull = (model.active * model.start_lbf * model.rod_in).sum(axis=1)
    return float(model.rise @ ((model.service_moment + pull) / (modulus * inertia)))
