"""The skin over a foam core, as a strip one inch wide, fixed at both sides of the core. psi, in, lbf; elementwise.

The foam's help is neglected.
"""

import numpy as np

from engineering.core.elementwise import Elementwise


def area_moment(pressure_psi: Elementwise, span_in: Elementwise) -> Elementwise:
    """w b^2/12 at the fixed sides. [lbf in per in]"""
    return pressure_psi * span_in**2 / 12.0


def point_moment(force_lbf: Elementwise, footprint_in: Elementwise, span_in: Elementwise) -> Elementwise:
    """P (3 b^2 - c^2)/(24 b) on the width c + b/2, c not over b. [lbf in per in]

    Fixed-ended strip with the load spread over the middle c of its span: exact statics, divided by the width that
    shares it.
    """
    c = np.minimum(footprint_in, span_in)
    return force_lbf * (3.0 * span_in**2 - c**2) / (24.0 * span_in) / (c + 0.5 * span_in)


def tension(moment_lbf: Elementwise, thickness_in: Elementwise) -> Elementwise:
    """Extreme fibre stress of the strip, m/(t^2/6). [psi]"""
    return 6.0 * moment_lbf / thickness_in**2
