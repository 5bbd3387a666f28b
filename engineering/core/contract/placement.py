"""What only the zones together with the rods and loads can tell: whether each lies in the section at its place."""

import math
from collections.abc import Iterator

from engineering.core.contract.piece import Load, Rod, RingRole, Zone
from engineering.core.contract.reading import Keys
from engineering.core.contract.refusal import Faults
from engineering.core.contract.rings import TOUCH_IN, heights_at
from engineering.core.contract.units import format_quantity


def refuse_misplaced(document: Keys, zones: tuple[Zone, ...] | None, loads: tuple[Load, ...] | None,
                     rods: tuple[Rod, ...] | None) -> None:
    pass
