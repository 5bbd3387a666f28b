"""The zones: from x = 0 rightwards, set flush at the top or lifted as their shape says."""

from engineering.core.contract.piece import Ring, Zone
from engineering.core.contract.reading import Keys
from engineering.core.contract.rings import TOUCH_IN, shifted
from engineering.core.contract.shapes import Shape, read_shape
from engineering.core.contract.units import format_quantity
from engineering.core.contract.values import POSITIVE, known

MOST_ZONES = 100


def read_zones(document: Keys, length: float | None) -> tuple[Zone, ...] | None:
    given = document.objects("zones", "zones", 1, MOST_ZONES)
    if given is None:
        return None
    ends: list[float | None] = []
    shapes: list[Shape | None] = []
    for keys in given:
        if keys is None:
            ends.append(None)
            shapes.append(None)
            continue
        ends.append(keys.number("to", "length", within=POSITIVE))
        shape_keys = keys.object("shape")
        shapes.append(read_shape(shape_keys) if shape_keys else None)
        keys.close()
    _refuse_ends(given, ends, length)
    found = [shape for shape in shapes if shape]
    if len(found) < len(given):
        return None
    zones = _flush(given, [end if end is not None else 0.0 for end in ends], found, length)
    return zones if known(length, *ends) else None


def _refuse_ends(given: list[Keys | None], ends: list[float | None], length: float | None) -> None:
    before = 0.0
    for keys, end in zip(given, ends, strict=True):
        if keys is None or end is None:
            continue
        if end - before < 0.001:
            keys.fault(
                "to",
                f"{format_quantity(end, 'length', keys.units)} should be more than the end of the zone before, "
                f"{format_quantity(before, 'length', keys.units)}",
            )
        before = max(end, before)
    last, end = given[-1], ends[-1]
    if last and end is not None and length is not None and abs(end - length) > 1e-6 * max(1.0, length):
        last.fault(
            "to",
            f"{format_quantity(end, 'length', last.units)} should be the length of the piece, "
            f"{format_quantity(length, 'length', last.units)}",
        )


def _flush(
    given: list[Keys | None], ends: list[float], shapes: list[Shape], length: float | None
) -> tuple[Zone, ...] | None:
    """The zones in the piece's own heights; None where a lifted zone cannot be where it is said to be."""
    top = max(shape.depth_in for shape in shapes)
    soffits = [shape.bottom_in if shape.bottom_in is not None else top - shape.depth_in for shape in shapes]
    lowest = [i for i, shape in enumerate(shapes) if shape.depth_in >= top - TOUCH_IN]
    fine = True
    if all(soffits[i] > TOUCH_IN for i in lowest):
        _fault_bottom(given[lowest[0]], "should be 0: the lowest point of the deepest zone is y = 0")
        fine = False
    for i in range(1, len(shapes)):
        over = min(soffits[i] + shapes[i].depth_in, soffits[i - 1] + shapes[i - 1].depth_in) - max(
            soffits[i], soffits[i - 1]
        )
        if over <= TOUCH_IN and fine:
            lifted = i if shapes[i].bottom_in is not None else i - 1
            _fault_bottom(
                given[lifted], "should leave the zone joined to its neighbour; here they lie one above the other"
            )
            fine = False
    if not fine:
        return None
    starts = [0.0, *ends[:-1]]
    ends = [*ends[:-1], length if length is not None else ends[-1]]
    return tuple(_zone(*parts) for parts in zip(starts, ends, shapes, soffits, strict=True))


def _fault_bottom(keys: Keys | None, message: str) -> None:
    if keys:
        keys.faults.add(f"{keys.path}.shape.bottom", message)


def _zone(start: float, end: float, shape: Shape, soffit: float) -> Zone:
    rings = shape.rings
    if soffit:
        rings = tuple(Ring(ring.role, shifted(ring.points, soffit)) for ring in rings)
    return Zone(start, end, shape.kind, shape.width_in, shape.load_width_in, shape.depth_in, soffit, rings)
