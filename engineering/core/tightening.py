"""The rod while its nut is turned: torque, twist, and the steel's equivalent stress. lbf, in, psi; elementwise."""

import numpy as np

from engineering.core.elementwise import Elementwise


def torque(nut_factor: Elementwise, diameter_in: Elementwise, force_lbf: Elementwise) -> Elementwise:
    """T = K D F, D the nominal diameter. [lbf in]"""
    return nut_factor * diameter_in * force_lbf


def stress_diameter(tensile_area_in2: Elementwise) -> Elementwise:
    """Diameter of the circle of the tensile stress area, d = sqrt(4 A_t/pi). [in]"""
    return np.sqrt(4.0 * tensile_area_in2 / np.pi)


def twist_stress(thread_torque_lbf_in: Elementwise, tensile_area_in2: Elementwise) -> Elementwise:
    """tau = 16 T/(pi d^3) of the torque that goes through the thread. [psi]"""
    return 16.0 * thread_torque_lbf_in / (np.pi * stress_diameter(tensile_area_in2) ** 3)


def equivalent_stress(stress_psi: Elementwise, twist_psi: Elementwise) -> Elementwise:
    """sqrt(sigma^2 + 3 tau^2), von Mises. [psi]"""
    return np.sqrt(stress_psi**2 + 3.0 * twist_psi**2)
