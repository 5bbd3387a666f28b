"""The uncracked piece under load with rods that slip in their sleeves: one force for each rod, set by the whole
piece."""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array
from engineering.core.load_test_model import TestModel

ROUNDS = 12


@dataclass(frozen=True)
class State:
    """Strain at the centroid and curvature (sagging +) at every station, strain at each rod's axis (S, R); what the
    concrete holds in that state, force and moment (2, S), and the tangent modulus of every fibre (S, K): the first
    step of the next balance starts from both."""

    strain: Array
    curvature: Array
    at_rods: Array
    held: Array
    tangent_psi: Array

    @classmethod
    def unstrained(cls, model: TestModel) -> "State":
        none = np.zeros(len(model.centroid_in))
        return cls(none, none, np.zeros_like(model.rod_in), *_held(model, none, none))

    def faces(self, model: TestModel) -> tuple[Array, Array]:
        """Strain of the top and of the bottom face (S,)."""
        top = self.strain - self.curvature * (model.top_in - model.centroid_in)
        return top, self.strain - self.curvature * (model.bottom_in - model.centroid_in)


def _held(model: TestModel, strain: Array, curvature: Array) -> tuple[Array, Array]:
    """Force and moment of the concrete about the centroid (2, S), and tangent moduli (S, K)."""
    stress, tangent = model.concrete.uncracked(strain[:, None] - curvature[:, None] * model.fibre_in)
    return np.vecdot(stress, model.fibre_arms), tangent


def balanced(model: TestModel, moment: Array, force_lbf: Array, near: State) -> State:
    """Every station in equilibrium with a moment (S,) and the rods' forces (R,), by Newton's rule from `near`.

    strain = e - κ y about the centroid; sum of stress = -forces, moment of stress = moment + forces × level.
    """
    pull = model.active * force_lbf
    wanted = np.array([-pull.sum(axis=1), moment + (pull * model.rod_in).sum(axis=1)])
    e, kappa, held, tangent = near.strain, near.curvature, near.held, near.tangent_psi
    far = model.farthest_in
    force, turning = np.abs(wanted).max(axis=1).tolist()
    scale = 1e-9 * (force + turning / far + 1.0)
    least = 1e-4 * model.concrete.modulus_psi
    for _ in range(ROUNDS):
        off = held - wanted
        force, turning = np.abs(off).max(axis=1).tolist()
        if max(force, turning / far) < scale:
            break
        a, b, d = np.vecdot(np.maximum(tangent, least), model.fibre_moments)
        off_n, off_m = off
        over = a * d - b * b
        e, kappa = e - (d * off_n + b * off_m) / over, kappa - (a * off_m + b * off_n) / over
        held, tangent = _held(model, e, kappa)
    return State(e, kappa, e[:, None] - kappa[:, None] * model.rod_in, held, tangent)


def mean_strain(model: TestModel, state: State) -> Array:
    """Mean strain of the concrete along each rod's axis (R,)."""
    return np.einsum("sr,sr->r", model.rod_weight, state.at_rods)
