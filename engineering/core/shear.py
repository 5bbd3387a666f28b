"""Shear of a member without stirrups. lbf, in, psi; elementwise."""

import numpy as np

from engineering.core.elementwise import Elementwise

PHI_SHEAR = 0.75  # ACI 318-19 Table 21.2.1
PLAIN_SHARE = 0.60  # ACI 318-19 Table 21.2.1, plain concrete
LEAST_DEPTH_SHARE = 0.8  # ACI 318-19 22.5.2.1


def average_stress(shear_lbf: Elementwise, breadth_in: Elementwise, rod_depth_in: Elementwise) -> Elementwise:
    """V/(b_w d_p). [psi]"""
    return np.abs(shear_lbf) / (breadth_in * rod_depth_in)


def elastic_stress(
    shear_lbf: Elementwise, first_moment_in3: Elementwise, inertia_in4: Elementwise, breadth_in: Elementwise
) -> Elementwise:
    """V Q/(I b_w). [psi]"""
    return np.abs(shear_lbf) * first_moment_in3 / (inertia_in4 * breadth_in)


def lower_bound(strength_psi: Elementwise, lightness: Elementwise) -> Elementwise:
    """2 lambda sqrt(f'c): the floor of V_c of a prestressed member, ACI 318-19 22.5.6.2. [psi]"""
    return 2.0 * lightness * np.sqrt(strength_psi)


def plain_limit(strength_psi: Elementwise, lightness: Elementwise) -> Elementwise:
    """0.60 (4/3) lambda sqrt(f'c): plain concrete, ACI 318-19 14.5.5.1 with phi 0.60. [psi]"""
    return PLAIN_SHARE * 4.0 / 3.0 * lightness * np.sqrt(strength_psi)
