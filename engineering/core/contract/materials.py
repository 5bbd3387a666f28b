"""The concrete, with the values that follow from others where the document is silent."""

import math
from typing import Any

from engineering.core.contract.piece import Concrete, Stressing
from engineering.core.contract.reading import Keys
from engineering.core.contract.values import NOT_NEGATIVE, Range, known

VARIATION = Range(least=0.0, below=0.39)  # from 0.394 on, 1 - 2.539 V is nothing (checks page)
STRENGTH = Range(least=100.0, most=60_000.0)
FLEXURAL = Range(least=1.0, most=60_000.0)
_DENSITY, _MODULUS = Range(least=20.0, most=500.0), Range(least=1_000.0, most=2e7)
_SHRINKAGE, _CREEP = Range(least=0.0, most=0.05), Range(least=0.0, most=50.0)
DEFAULT_CURE_AGE_DAYS = 7.0


def normal_modulus(density_pcf: float, strength_psi: float) -> float:
    """33 w^1.5 sqrt(f'c) [psi], ACI 318-19 19.2.2.1(a)."""
    return 33.0 * density_pcf**1.5 * math.sqrt(strength_psi)


def scaled_by_strength(flexural_psi: float, strength_psi: float, strength_28_psi: float) -> float:
    """A flexural strength at another age: by the root of the compressive strengths' ratio."""
    return flexural_psi * math.sqrt(strength_psi / strength_28_psi)


def read_concrete(document: Keys, stressing: Stressing | None) -> Concrete | None:
    keys = document.object("concrete")
    if keys is None:
        return None
    label = keys.text("label", default="")
    density = keys.number("density", "density", within=_DENSITY)
    strength = keys.number("strength", "stress", within=STRENGTH)
    early = keys.number("strength_at_stressing", "stress", within=STRENGTH)
    moduli = _moduli(keys, density, strength, early)
    lop, mor, lop_early = _flexural(keys, strength, early)
    spread = [keys.number(key, default=0.10, within=VARIATION) for key in ("variation_yield", "variation_ultimate")]
    usual = mor / 3 if mor is not None else None
    residual = keys.number("residual_tension", "stress", default=usual, within=NOT_NEGATIVE)
    shrinkage, creep = keys.number("shrinkage", within=_SHRINKAGE), keys.number("creep", within=_CREEP)
    stressed = stressing.age_days if stressing else DEFAULT_CURE_AGE_DAYS
    cure_age = keys.number("cure_age", "age", default=min(DEFAULT_CURE_AGE_DAYS, stressed), within=NOT_NEGATIVE)
    keys.close()
    silent = not (keys.has("modulus") and keys.has("modulus_at_stressing"))
    scaled = not keys.has("flexural_yield_at_stressing")
    flexural = (lop, mor, lop_early, scaled, *spread, residual)
    values: tuple[Any, ...] = (label, density, strength, early, *moduli, silent, *flexural, shrinkage, creep, cure_age)
    return Concrete(*values) if known(*values) else None


def _moduli(keys: Keys, density: float | None, strength: float | None, early: float | None) -> list[float | None]:
    found = []
    for key, at_strength in (("modulus", strength), ("modulus_at_stressing", early)):
        usual = normal_modulus(density, at_strength) if density is not None and at_strength is not None else None
        found.append(keys.number(key, "modulus", default=usual, within=_MODULUS))
    return found


def _flexural(keys: Keys, strength: float | None, early: float | None) -> tuple[float | None, ...]:
    """(limit of proportionality, modulus of rupture, limit of proportionality at stressing) [psi]."""
    lop = keys.number("flexural_yield", "stress", within=FLEXURAL)
    mor = keys.number("flexural_ultimate", "stress", within=FLEXURAL)
    usual = None
    if lop is not None and strength is not None and early is not None:
        usual = scaled_by_strength(lop, early, strength)
    return lop, mor, keys.number("flexural_yield_at_stressing", "stress", default=usual, within=FLEXURAL)
