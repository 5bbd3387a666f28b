"""Strength values of the fibre concrete that more than one check uses. psi, pcf; every function works elementwise."""

import numpy as np

from engineering.core.elementwise import Elementwise

SPREAD_99 = 2.539  # one-sided 99 % factor for 20 tests, PCI MNL-128 (from memory, basis a.3)
FIBRE_CEILING_PSI = 1200.0  # PCI MNL-128 (from memory, basis a.3)
PHI_FIBRE = 0.75  # PCI MNL-128 (from memory, basis a.3)
CONCRETE_CRUSHING = 0.003  # ACI 318-19 22.2.2.1
PHI_TENSION = 0.90  # ACI 318-19 Table 21.2.2
PHI_COMPRESSION = 0.65  # ACI 318-19 Table 21.2.2, other than spirals
STRAIN_YIELD = 0.002  # ACI 318-19 21.2.2.2: prestressed reinforcement


def characteristic(mean_psi: Elementwise, variation: Elementwise) -> Elementwise:
    """LOP_k or MOR_k: the value that 99 % of tests exceed, mean (1 - 2.539 V). [psi]"""
    return mean_psi * (1.0 - SPREAD_99 * variation)


def assumed_flexural_strength(
    yield_psi: Elementwise, ultimate_psi: Elementwise, variation_yield: Elementwise, variation_ultimate: Elementwise
) -> Elementwise:
    """f'u = least of LOP_k, MOR_k/3 and 1,200 psi: PCI MNL-128 (basis a.3, from memory). [psi]"""
    rupture_third = characteristic(ultimate_psi, variation_ultimate) / 3.0
    return np.minimum(np.minimum(characteristic(yield_psi, variation_yield), rupture_third), FIBRE_CEILING_PSI)


def lightness(density_pcf: Elementwise) -> Elementwise:
    """λ of ACI 318-19 19.2.4.1(a): 0.0075 w, not under 0.75, not over 1. []"""
    return np.minimum(np.maximum(0.0075 * np.asarray(density_pcf, dtype=float), 0.75), 1.0)


def block_share(strength_psi: Elementwise) -> Elementwise:
    """β1 of ACI 318-19 Table 22.2.2.4.3: 0.85 to 4,000 psi, 0.05 less for each 1,000 psi more, not under 0.65. []"""
    share = 0.85 - 0.05 * (np.asarray(strength_psi, dtype=float) - 4000.0) / 1000.0
    return np.minimum(np.maximum(share, 0.65), 0.85)


def reduction_by_strain(tension_strain: Elementwise, yield_strain: Elementwise = STRAIN_YIELD) -> Elementwise:
    """φ of ACI 318-19 Table 21.2.2: 0.65 up to ε_ty, 0.90 from ε_ty + 0.003 on, straight between. []"""
    share = (np.asarray(tension_strain, dtype=float) - yield_strain) / 0.003
    return PHI_COMPRESSION + (PHI_TENSION - PHI_COMPRESSION) * np.minimum(np.maximum(share, 0.0), 1.0)
