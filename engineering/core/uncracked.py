"""The uncracked piece under load with rods that slip in their sleeves: one force for each rod, set by the whole
piece."""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array
from engineering.core.load_test_model import TestModel

ROUNDS = 12


@dataclass(frozen=True)
class State:
    """Strain at the centroid and curvature (sagging +) at every station, strain at each rod's axis (S, R)."""

    strain: Array
    curvature: Array
    at_rods: Array

    @classmethod
    def unstrained(cls, model: TestModel) -> "State":
        return cls(np.zeros(len(model.centroid_in)), np.zeros(len(model.centroid_in)), np.zeros_like(model.rod_in))

    def faces(self, model: TestModel) -> tuple[Array, Array]:
        """Strain of the top and of the bottom face (S,)."""
        top = self.strain - self.curvature * (model.top_in - model.centroid_in)
        return top, self.strain - self.curvature * (model.bottom_in - model.centroid_in)


def balanced(model: TestModel, moment: Array, force_lbf: Array, near: State) -> State:
    """Every station in equilibrium with a moment (S,) and the rods' forces (R,), by Newton's rule from `near`.

    strain = e - κ y about the centroid; sum of stress = -forces, moment of stress = moment + forces × level.
    """
    pull = model.active * force_lbf
    axial, turning = -pull.sum(axis=1), moment + (pull * model.rod_in).sum(axis=1)
    e, kappa = near.strain, near.curvature
    y, moments = model.fibre_in, model.fibre_moments
    far = model.farthest_in
    scale = 1e-9 * (np.abs(axial).max() + np.abs(turning).max() / far + 1.0)
    least = 1e-4 * model.concrete.modulus_psi
    for _ in range(ROUNDS):
        stress, tangent = model.concrete.uncracked(e[:, None] - kappa[:, None] * y)
        force, lever = np.vecdot(stress, moments[:2])
        off_n, off_m = force - axial, -lever - turning
        if max(np.abs(off_n).max(), np.abs(off_m).max() / far) < scale:
            break
        a, b, d = np.vecdot(np.maximum(tangent, least), moments)
        b = -b
        over = a * d - b * b
        e, kappa = e - (d * off_n - b * off_m) / over, kappa - (a * off_m - b * off_n) / over
    return State(e, kappa, e[:, None] - kappa[:, None] * model.rod_in)


def mean_strain(model: TestModel, state: State) -> Array:
    """Mean strain of the concrete along each rod's axis (R,)."""
    return (model.rod_weight * state.at_rods).sum(axis=0)
