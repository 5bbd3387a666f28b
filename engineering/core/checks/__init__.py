"""The checks, in report order. A check takes a `Reading` and nothing else, and answers for all variants at once."""

from collections.abc import Callable

from engineering.core.checks import (
    anchors,
    cover,
    deflection,
    flexure,
    force_left,
    handling,
    margins,
    rod_stress,
    service,
    shear_along,
    skin_over_core,
    supports,
    transfer,
)
from engineering.core.checks.finding import Finding
from engineering.core.checks.reading import Reading

Check = Callable[[Reading], list[Finding]]

CHECKS: tuple[tuple[str, Check], ...] = (
    ("rod stress at jacking", rod_stress.at_jacking),
    ("rod stress after transfer", rod_stress.after_transfer),
    ("rod twist while tightening", rod_stress.while_tightening),
    ("thread grip", rod_stress.grip),
    ("rod force left", force_left.rod_force_left),
    ("strength at stressing", transfer.strength_at_stressing),
    ("transfer compression", transfer.compression),
    ("transfer tension", transfer.tension),
    ("tightening one after another", transfer.tightening),
    ("uneven rods", transfer.uneven),
    ("compression under sustained load", service.compression_sustained),
    ("compression under full load", service.compression_full),
    ("tension under sustained load", service.tension_sustained),
    ("tension under full load", service.tension_full),
    ("skin over the core", skin_over_core.skin_over_core),
    ("flexural strength", flexure.flexural_strength),
    ("hanging on its rods", flexure.hanging),
    ("after the first crack", flexure.after_first_crack),
    ("one rod lost", margins.one_rod_lost),
    ("shear", shear_along.shear_check),
    ("bearing under the plate at stressing", anchors.bearing_at_stressing),
    ("bearing under the plate in service", anchors.bearing_in_service),
    ("bursting", anchors.bursting_check),
    ("plate thickness", anchors.plate_thickness),
    ("cover", cover.cover),
    ("spacing", cover.spacing),
    ("plate edge and pocket wall", cover.plate_edge),
    ("crown at stressing", deflection.crown),
    ("live-load deflection", deflection.live),
    ("long-term deflection", deflection.long_term),
    ("holding down", supports.holding_down),
    ("bearing on the supports", supports.bearing),
    ("uneven supports", supports.uneven_supports),
    ("load off the middle", supports.off_the_middle),
    ("handling", handling.handling),
    ("corrosion", handling.corrosion),
    ("first-crack margin", margins.first_crack_margin),
)

__all__ = ["CHECKS", "Check", "Finding", "Reading"]
