"""The uncracked piece under load with rods that slip in their sleeves: one force for each rod, set by the whole
piece."""

from dataclasses import dataclass

import numpy as np

from engineering.core.batching import Array
from engineering.core.load_test_model import TestModel

ROUNDS = 12


@dataclass(frozen=True)
class State:
    """Strain at the centroid and curvature (sagging +) at every station (2, S); what the concrete holds in that state,
    force and moment (2, S), and the tangent modulus of every fibre (S, K): the first step of the next balance starts
    from both."""

    bent: Array
    held: Array
    tangent_psi: Array

    @property
    def strain(self) -> Array:
        return self.bent[0]

    @property
    def curvature(self) -> Array:
        return self.bent[1]

    @classmethod
    def unstrained(cls, model: TestModel) -> "State":
        none = np.zeros((2, len(model.centroid_in)))
        return cls(none, *_held(model, none))

    def faces(self, model: TestModel) -> tuple[Array, Array]:
        """Strain of the top and of the bottom face (S,)."""
        top = self.strain - self.curvature * (model.top_in - model.centroid_in)
        return top, self.strain - self.curvature * (model.bottom_in - model.centroid_in)


def _held(model: TestModel, bent: Array) -> tuple[Array, Array]:
    """Force and moment of the concrete about the centroid (2, S), and tangent moduli (S, K), at strains and curvatures
    (2, S)."""
    strain, curvature = bent[..., None]
    stress, tangent = model.concrete.uncracked(strain - curvature * model.fibre_in)
    return np.vecdot(stress, model.fibre_arms), tangent


def balanced(model: TestModel, moment: Array, force_lbf: Array, near: State) -> State:
    """Every station in equilibrium with a moment (S,) and the rods' forces (R,), by Newton's rule from `near`.

    strain = e - κ y about the centroid; sum of stress = -forces, moment of stress = moment + forces × level.
    """
    wanted = model.rod_arms @ force_lbf
    wanted[1] += moment
    bent, held, tangent = near.bent, near.held, near.tangent_psi
    far = model.farthest_in
    force, turning = np.maximum.reduce(np.abs(wanted), 1).tolist()
    scale = 1e-9 * (force + turning / far + 1.0)
    least, terms = 1e-4 * model.concrete.modulus_psi, model.flexibility_terms
    for _ in range(ROUNDS):
        off = held - wanted
        force, turning = np.maximum.reduce(np.abs(off), 1).tolist()
        if max(force, turning / far) < scale:
            break
        (second, first), (_, area) = turned = np.vecdot(np.maximum(tangent, least), terms)
        step = np.add.reduce(turned * off, 1)
        step /= area * second - first * first
        bent = bent - step
        held, tangent = _held(model, bent)
    return State(bent, held, tangent)


def mean_strain(model: TestModel, state: State) -> Array:
    """Mean strain of the concrete along each rod's axis (R,)."""
    found: Array = model.mean_along @ state.bent.ravel()
    return found
