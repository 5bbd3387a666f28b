"""How the names and numbers of a result are written for a reader. Every number is the stored one, only rounded."""

from collections.abc import Mapping
from typing import Any

from engineering.core.contract.units import QUANTITIES

FAMILIES = {
    "section": ("Cross-sections, by zone", "zone {}"),
    "reaction": ("Reactions, by support", "S{}"),
    "rod": ("Rods", "{}"),
    "loss": ("Losses of rod stress, mean along the rod", "{}"),
    "anchor": ("Anchors", "{}"),
    "stress": ("Stresses, tension +", "{}"),
}
SINGLES = {
    "moment": "Moments, sagging +",
    "shear": "Shear",
    "crown": "Crown, up +",
    "deflection": "Deflection, down +",
    "handling": "Handling",
    "uplift": "Holding down",
    "bow": "Bow to the side",
    "load_test": "Load to failure",
}
NAMES = {
    "weight": "weight, concrete and core",
    "batch.volume": "concrete to batch",
    "area": "area",
    "centroid": "centroid, up",
    "centroid_across": "centroid, across",
    "inertia": "second moment of area",
    "inertia_lateral": "second moment, lateral",
    "product": "product of inertia",
    "modulus_top": "section modulus, top",
    "modulus_bottom": "section modulus, bottom",
    "net_area": "net area, least",
    "net_inertia": "net second moment, least",
    "dead": "dead",
    "live_max": "live, greatest",
    "live_min": "live, least",
    "rods": "from the rods",
    "service_max": "service, greatest",
    "service_min": "service, least",
    "pressure": "bearing pressure",
    "tensile_area": "tensile stress area",
    "yield_force": "force at yield",
    "jacking_stress": "stress at jacking",
    "torque": "torque",
    "elongation": "elongation",
    "nut_turns": "turns of the nut",
    "length": "length to cut",
    "cover": "least cover of the sleeve",
    "force_jacking": "force under the nut",
    "force_far": "least force along the rod",
    "force_mean": "mean force before seating",
    "force_transfer": "mean force after transfer",
    "force_final": "mean force at end of life",
    "stress_nominal": "stress at nominal strength",
    "friction": "friction",
    "seating": "seating",
    "shortening": "elastic shortening",
    "creep": "creep",
    "shrinkage": "shrinkage",
    "relaxation": "relaxation",
    "remaining": "force left, share",
    "top_max": "top, greatest",
    "top_min": "top, least",
    "bottom_max": "bottom, greatest",
    "bottom_min": "bottom, least",
    "transfer": "at transfer",
    "service_early": "service, early",
    "service_final": "service, end of life",
    "sustained_final": "sustained, end of life",
    "bearing_transfer": "bearing at stressing",
    "bearing_service": "bearing in service",
    "bursting": "bursting force",
    "stress.skin": "tension in the skin over the core",
    "moment.dead_max": "dead, greatest",
    "moment.dead_min": "dead, least",
    "moment.cracking": "cracking moment",
    "moment.nominal": "nominal strength",
    "moment.design": "design strength",
    "moment.post_crack_ratio": "nominal strength over cracking moment",
    "moment.secondary_max": "secondary, greatest",
    "moment.secondary_min": "secondary, least",
    "moment.factored_max": "factored, greatest",
    "moment.factored_min": "factored, least",
    "shear.factored_max": "factored, greatest absolute",
    "crown.transfer": "just after stressing",
    "crown.transfer_low": "just after stressing, low",
    "crown.transfer_high": "just after stressing, high",
    "crown.drying": "from one-sided drying",
    "crown.installed": "just before the dead loads",
    "crown.final": "at end of life",
    "deflection.live": "live load",
    "deflection.long": "long term, after the dead loads",
    "deflection.tip_left": "left tip, live load",
    "deflection.tip_right": "right tip, live load",
    "handling.tension": "tension while handling",
    "handling.factor": "factor against cracking while handling",
    "uplift.factor": "factor against lifting off",
    "bow.lateral_max": "greatest bow to the side",
    "load_test.first_crack": "load at first crack",
    "load_test.yield": "load at first yield of a rod",
    "load_test.peak": "peak load",
    "load_test.mode": "what ends the rise",
    "load_test.shear_bound": "load at the lower bound for shear",
    "load_test.crown_left_at_service": "crown left under service load",
}


def name_of(key: str) -> str:
    """The words for a figure or for the last part of its name; what is not listed is spelt out from its own name."""
    return NAMES.get(key) or NAMES.get(key.rpartition(".")[2]) or key.rpartition(".")[2].replace("_", " ")


def number_text(value: object) -> str:
    """12,345 · 123.4 · 12.34 · 1.234 · 0.01234, with a true minus sign; text as it is; — where there is none."""
    if value is None:
        return "—"
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    size = abs(value)
    if size == 0:
        return "0"
    if size < 1e-6 or size >= 1e12:
        text = f"{value:.3e}"
    elif size < 1:
        text = f"{value:.4g}" if size >= 1e-4 else f"{value:.7f}"
    else:
        decimals = 0 if size >= 999.5 else 1 if size >= 99.95 else 2 if size >= 9.995 else 3
        text = f"{value:,.{decimals}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "−")


def quantity_text(value_us: float, quantity: str, units: str) -> str:
    """An input in the units of its document, as exactly as it was given: 9,500 lbf, 1.0625 in, 65 mm."""
    kind = QUANTITIES[quantity]
    value = kind.from_us(value_us, units)
    whole = len(str(int(abs(value))))
    text = f"{value:,.{max(0, 7 - whole)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{text} {kind.unit(units)}".strip().replace("-", "−")


def ratio_text(ratio: float | None) -> str:
    """Two decimals, and never 1.00 for what lies over 1."""
    if ratio is None:
        return "—"
    if 1 < ratio < 1.005:
        return "> 1.00"
    return f"{ratio:.2f}" if ratio < 100 else "> 99"


def with_unit(value: object, unit: str) -> str:
    return f"{number_text(value)} {unit}".strip() if value is not None else "—"


def figure_text(figure: Mapping[str, Any]) -> str:
    return with_unit(figure.get("value"), str(figure.get("unit") or ""))
