"""The anchor zone: bearing under the plate, bursting in both directions, the plate itself. in, lbf, psi; elementwise.

Bearing: the permissible stresses of the post-tensioning trade (older ACI 318 commentary and PTI, from memory, basis i).
Bursting: simplified equations that go with ACI 318-19 25.9.4.4. Load factor 1.2 on the jacking force: ACI 318-19
5.3.12.
"""

import numpy as np

from engineering.core.block import Outline, edges_of
from engineering.core.elementwise import Elementwise

JACKING_FACTOR = 1.2  # ACI 318-19 5.3.12
PHI_PLATE = 0.9  # basis i
FLATS_PER_DIAMETER = 1.5  # nut across flats / nominal diameter


def net_plate_area(
    width_in: Elementwise, height_in: Elementwise, hole_in: Elementwise, sleeve_in: Elementwise
) -> Elementwise:
    """Plate less the circle of the greater of its hole and the sleeve. [in2]"""
    return width_in * height_in - 0.25 * np.pi * np.maximum(hole_in, sleeve_in) ** 2


def spread(
    outline: Outline,
    across_in: Elementwise,
    level_in: Elementwise,
    width_in: Elementwise,
    height_in: Elementwise,
) -> Elementwise:
    """How many times the plate can grow about the rod before it meets a face or a core: k, so that A2/A1 = k^2. []

    Least of max(|z|/(w/2), |y|/(h/2)) over all edges; along an edge it is convex and bends only where its two parts
    are equal, so it is least there or at an end. Under 1: the plate reaches over an edge. Rod and plate of one shape
    or numbers.
    """
    across, level = np.asarray(across_in, float), np.asarray(level_in, float)
    edges = edges_of(outline).against(across.ndim)
    half_z, half_y = 0.5 * np.asarray(width_in, float), 0.5 * np.asarray(height_in, float)
    u, v = (edges.z0 - across) / half_z, (edges.y0 - level) / half_y
    du, dv = (edges.z1 - edges.z0) / half_z, (edges.y1 - edges.y0) / half_y
    least = np.maximum(np.abs(u), np.abs(v)).min(axis=0)  # at the start of every edge, so at every corner
    for top, bottom in ((v - u, du - dv), (-u - v, du + dv)):
        t = np.minimum(np.maximum(top / np.where(bottom == 0.0, 1.0, bottom), 0.0), 1.0)
        least = np.minimum(least, np.maximum(np.abs(u + t * du), np.abs(v + t * dv)).min(axis=0))
    return least


def bearing_at_stressing(strength_psi: Elementwise, area_ratio: Elementwise) -> Elementwise:
    """0.8 f'ci sqrt(A2/A1 - 0.2), not over 1.25 f'ci. [psi]"""
    return np.minimum(0.8 * strength_psi * np.sqrt(np.maximum(area_ratio - 0.2, 0.0)), 1.25 * strength_psi)


def bearing_in_service(strength_psi: Elementwise, area_ratio: Elementwise) -> Elementwise:
    """0.6 f'c sqrt(A2/A1), not over f'c. [psi]"""
    return np.minimum(0.6 * strength_psi * np.sqrt(area_ratio), 1.0 * strength_psi)


def bursting_force(force_lbf: Elementwise, plate_in: Elementwise, depth_in: Elementwise) -> Elementwise:
    """T = 0.25 P (1 - a/h), not under 0. [lbf]"""
    return 0.25 * force_lbf * np.maximum(1.0 - plate_in / depth_in, 0.0)


def bursting_stress(bursting_lbf: Elementwise, depth_in: Elementwise, breadth_in: Elementwise) -> Elementwise:
    """T/(b 0.5 h). [psi]"""
    return bursting_lbf / (breadth_in * 0.5 * depth_in)


def upright_breadth(plate_width_in: Elementwise, depth_in: Elementwise, edge_in: Elementwise) -> Elementwise:
    """Width that carries the upright bursting: plate width + h/2, the same on both sides of the rod, inside the
    section. [in]"""
    return np.minimum(plate_width_in + 0.5 * depth_in, 2.0 * edge_in)


def side_distance(outline: Outline, across_in: Elementwise, level_in: Elementwise) -> Elementwise:
    """Distance along z from the rod to the nearest side face of the concrete at the rod's own level. [in], inf where
    none"""
    z, at = np.asarray(across_in, float), np.asarray(level_in, float)
    edges = edges_of(outline).against(max(z.ndim, at.ndim))
    meets = ((edges.y0 - at) * (edges.y1 - at) <= 0.0) & (edges.y0 != edges.y1) & (edges.sign > 0.0)
    gap = np.abs(edges.z0 + edges.slope * (at - edges.y0) - z)
    return np.where(meets, gap, np.inf).min(axis=0)


def plate_overhang(width_in: Elementwise, height_in: Elementwise, diameter_in: Elementwise) -> Elementwise:
    """Longest strip of the plate beyond the nut's flats (1.5 D). [in], not under 0"""
    return np.maximum(0.5 * (np.maximum(width_in, height_in) - FLATS_PER_DIAMETER * diameter_in), 0.0)


def plate_thickness(overhang_in: Elementwise, pressure_psi: Elementwise, yield_psi: Elementwise) -> Elementwise:
    """t = n sqrt(2 p/(0.9 F_y)) of a strip that sticks out by n under the pressure p. [in]"""
    return overhang_in * np.sqrt(2.0 * pressure_psi / (PHI_PLATE * yield_psi))
