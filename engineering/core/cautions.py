"""What every result says to whoever builds, stresses and loads the piece, and what this piece adds to it."""

from engineering.core.contract import CheckResult, Piece

STANDING = (
    "These figures serve a review by a licensed engineer and are none; local codes and the authority having "
    "jurisdiction decide.",
    "Stand clear of the rod's line while tightening and whenever a rod is under force. Hold the rod's tail. Stop "
    "when torque falls, the "
    "nut spins, a crack shows, or the crown passes its limit, and slacken.",
    "A stressed piece is never cut, drilled or cored; supports are where the drawing has them, and nowhere else.",
    "Torque alone says little about force: measure the stretch. A crown beyond the band is not force in the rods.",
    "Alkali, silica dust, lifting: the usual protection for handling and cutting cement-based products.",
)
DEFAULTED = {
    "concrete.modulus": (
        "The modulus was not given: that of ACI 318-19 19.2.2.1 is high for glass-fibre concrete. Measure it on "
        "coupons; until then an engineer must review crown, deflection and losses."
    ),
    "concrete.modulus_at_stressing": (
        "The modulus at stressing was not given and was taken from ACI 318-19 19.2.2.1: high for glass-fibre concrete."
    ),
    "concrete.flexural_yield_at_stressing": (
        "The limit of proportionality at stressing was not measured: it was scaled from 28 days by the square root of "
        "strength. Test coupons at stressing age."
    ),
    "concrete.residual_tension": (
        "The tension that fibres carry across a crack was not measured: a third of the modulus of rupture was taken. "
        "Load-to-failure past the first crack rests on it, and aged fibres carry less."
    ),
    "handling.flexural_yield": (
        "The limit of proportionality at handling was not measured: it was scaled by the square root of strength."
    ),
}


def cautions_of(piece: Piece, checks: tuple[CheckResult, ...]) -> tuple[str, ...]:
    """Standing cautions, those of the values that were defaulted, of the surroundings, and those that checks raise;
    each once."""
    raised = [check.caution for check in checks if check.caution]
    return tuple(dict.fromkeys([*STANDING, *_defaults(piece), *_surroundings(piece), *raised]))


def _defaults(piece: Piece) -> list[str]:
    concrete, found = piece.concrete, []
    if concrete.modulus_defaulted:
        given = [path for path in ("concrete.modulus", "concrete.modulus_at_stressing") if path in piece.defaulted]
        found += [DEFAULTED[path] for path in given or ["concrete.modulus"]]
    if concrete.flexural_yield_at_stressing_defaulted and piece.rods:
        found.append(DEFAULTED["concrete.flexural_yield_at_stressing"])
    if "concrete.residual_tension" in piece.defaulted:
        found.append(DEFAULTED["concrete.residual_tension"])
    if piece.handling is not None and piece.handling.flexural_yield_defaulted:
        found.append(DEFAULTED["handling.flexural_yield"])
    return found


def _surroundings(piece: Piece) -> list[str]:
    found, environment = [], piece.environment
    if environment.drying_difference:
        found.append("One-sided drying bows the piece by itself: that crown says nothing about the rods.")
    if environment.humidity_percent < 40:
        found.append(
            "Dry air: shrinkage can exceed the value given; check the rods' force again after the first dry season."
        )
    if environment.exposure != "interior-dry":
        found.append(
            f"Exposure {environment.exposure}: wetting and drying move glass-fibre concrete by up to 0.2 %, and "
            f"aged fibres lose much "
            "of their strength; the values given must be aged values."
        )
    if piece.rods and piece.stressing is not None and piece.stressing.method == "torque":
        found.append(
            "Tightened by torque: the force is known only within the scatter given. Measure the stretch of every rod."
        )
    return found
