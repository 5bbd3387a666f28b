"""Where across a section a rod finds concrete all along its way: stretches of z free of faces, cores and holes. in"""

from collections.abc import Iterable, Sequence

from engineering.core.contract.piece import Piece, RingRole, Zone

Stretch = tuple[float, float]
_A_HAIR = 1e-6


def concrete_at(zone: Zone, level_in: float) -> list[Stretch]:
    """Stretches of z in concrete at this height, from front to back."""
    filled = _merged(_chords(zone, level_in, True))
    for start, stop in _merged(_chords(zone, level_in, False)):
        filled = [
            part for a, b in filled for part in ((a, min(b, start)), (max(a, stop), b)) if part[1] - part[0] > _A_HAIR
        ]
    return sorted(set(filled))


def _chords(zone: Zone, level_in: float, concrete: bool) -> list[Stretch]:
    found: list[Stretch] = []
    for ring in zone.rings:
        if (ring.role is RingRole.CONCRETE) is not concrete:
            continue
        cuts = []
        for (z1, y1), (z2, y2) in zip(ring.points, (*ring.points[1:], ring.points[0]), strict=True):
            if (y1 > level_in) != (y2 > level_in):
                cuts.append(z1 + (level_in - y1) / (y2 - y1) * (z2 - z1))
        cuts.sort()
        found += list(zip(cuts[::2], cuts[1::2], strict=True))
    return found


def _merged(stretches: Iterable[Stretch]) -> list[Stretch]:
    found: list[Stretch] = []
    for a, b in sorted(stretches):
        if found and a <= found[-1][1] + _A_HAIR:
            found[-1] = (found[-1][0], max(b, found[-1][1]))
        else:
            found.append((a, b))
    return found


def common(one: Sequence[Stretch], other: Sequence[Stretch]) -> list[Stretch]:
    """What both have."""
    return [(max(a, c), min(b, d)) for a, b in one for c, d in other if min(b, d) - max(a, c) >= -_A_HAIR]


def room(zone: Zone, level_in: float, half_width_in: float, half_height_in: float) -> list[Stretch]:
    """Where the middle of a rectangle at this height lies wholly in concrete; looked at in three levels, which is exact
    for upright and level faces."""
    slices = [concrete_at(zone, level_in + up) for up in (_A_HAIR - half_height_in, 0.0, half_height_in - _A_HAIR)]
    free = slices[0]
    for other in slices[1:]:
        free = common(free, other)
    inset = half_width_in - _A_HAIR
    return [(a + half_width_in, b - half_width_in) for a, b in free if b - a >= 2 * inset]


def lanes(
    piece: Piece, faces_in: tuple[float, float], level_in: float, clearance_in: float, plate_in: tuple[float, float]
) -> list[Stretch]:
    """Stretches of z for a level rod: `clearance_in` from its axis to any face or core all along, and at both ends room
    for a plate (half width, half height, the rim of concrete counted); the sleeve's room alone where no plate fits."""
    start, stop = faces_in
    zones = [zone for zone in piece.zones if min(stop, zone.end_in) - max(start, zone.start_in) > _A_HAIR]
    along: list[Stretch] | None = None
    for zone in zones:
        here = room(zone, level_in, clearance_in, clearance_in)
        along = here if along is None else common(along, here)
    for zone in (zones[0], zones[-1]):
        with_plate = common(along or [], room(zone, level_in, *plate_in))
        along = with_plate or along
    return along or []


def nearest(stretches: Sequence[Stretch], wish_in: float) -> float:
    """The place in the stretches nearest to a wish; the front one of two. Raises ValueError where there is none."""
    return min((min(max(wish_in, a), b) for a, b in stretches), key=lambda z: (round(abs(z - wish_in), 9), z))
