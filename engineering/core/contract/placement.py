"""What only the zones together with the rods and loads can tell: whether each lies in the section at its place.

A rod must run inside the section, concrete or foam, over its whole length; through foam is poor, not impossible.
"""

import itertools
from dataclasses import dataclass

from engineering.core.contract.piece import Load, Point, Zone
from engineering.core.contract.reading import Keys
from engineering.core.contract.rings import TOUCH_IN, heights_at
from engineering.core.contract.units import format_quantity


@dataclass(frozen=True)
class Course:
    """The axis of a rod as far as it was read, and the paths of the keys that give it."""

    across_in: float
    profile: tuple[Point, ...]
    curve: str
    across_path: str
    profile_path: str
    profile_is_own: bool  # False: taken over by `like`

    def height_at(self, x: float) -> float:
        """y of the axis [in]: along the polyline, or on the parabola through its three points."""
        if self.curve == "parabola" and len(self.profile) == 3:
            (a, ya), (b, yb), (c, yc) = self.profile
            return (
                ya * (x - b) * (x - c) / ((a - b) * (a - c))
                + yb * (x - a) * (x - c) / ((b - a) * (b - c))
                + yc * (x - a) * (x - b) / ((c - a) * (c - b))
            )
        for (a, ya), (b, yb) in itertools.pairwise(self.profile):
            if x <= b:
                return ya + (yb - ya) * (x - a) / (b - a)
        return self.profile[-1][1]

    def turning_x(self) -> float | None:
        """x where a parabola is highest or lowest; None where it is straight."""
        if self.curve != "parabola" or len(self.profile) != 3:
            return None
        (a, ya), (b, yb), (c, yc) = self.profile
        slope_ab, slope_bc = (yb - ya) / (b - a), (yc - yb) / (c - b)
        bend = (slope_bc - slope_ab) / (c - a)
        return None if abs(bend) < 1e-15 else 0.5 * (a + b) - slope_ab / (2 * bend)


def refuse_misplaced(
    document: Keys,
    length: float | None,
    zones: tuple[Zone, ...] | None,
    loads: tuple[Load, ...] | None,
    courses: list[Course],
) -> None:
    for course in sorted(courses, key=lambda c: not c.profile_is_own):
        if length is not None and _leaves_piece(document, course, length):
            continue
        if zones:
            _refuse_course(document, course, zones)
    if zones:
        _refuse_loads_beside(document, zones, loads)


def _refuse_loads_beside(document: Keys, zones: tuple[Zone, ...], loads: tuple[Load, ...] | None) -> None:
    across = [z for zone in zones for ring in zone.rings for z, _ in ring.points]
    for index, load in enumerate(loads or ()):
        if load.across_in is not None and not min(across) - TOUCH_IN <= load.across_in <= max(across) + TOUCH_IN:
            document.faults.add(
                f"loads[{index}].across",
                f"{_length(document, load.across_in)} lies beside the piece, "
                f"which runs from {_length(document, min(across))} to {_length(document, max(across))}",
            )


def _leaves_piece(document: Keys, course: Course, length: float) -> bool:
    left = False
    for k, (x, _) in enumerate(course.profile):
        if not -1e-9 <= x <= length * (1 + 1e-9):
            document.faults.add(
                f"{course.profile_path}[{k}][0]",
                f"{_length(document, x)} lies off the piece; it should be 0 to {_length(document, length)}",
            )
            left = True
    return left


def _refuse_course(document: Keys, course: Course, zones: tuple[Zone, ...]) -> None:
    first, last = course.profile[0][0], course.profile[-1][0]
    crossed = [zone for zone in zones if min(last, zone.end_in) - max(first, zone.start_in) > TOUCH_IN]
    found = [(zone, heights_at(zone.rings, course.across_in)) for zone in crossed]
    if any(not heights and _say_beside(document, course, zone) for zone, heights in found):
        return
    bad_points = {k: zone for zone, heights in found for k in _points_outside(course, zone, heights)}
    if not course.profile_is_own and any(document.faults.has(f"{course.profile_path}[{k}][1]") for k in bad_points):
        return
    for k, zone in sorted(bad_points.items()):
        path = f"{course.profile_path}[{k}][1]" if course.profile_is_own else course.across_path
        document.faults.add(path, f"{_length(document, course.profile[k][1])} {_outside(document, zone)}")
    if bad_points:
        return
    for zone, heights in found:
        if (x := _leaves_between(course, zone, heights)) is not None:
            if document.faults.has(course.profile_path):
                return
            path = course.profile_path if course.profile_is_own else course.across_path
            document.faults.add(
                path,
                f"at x = {_length(document, x)} the axis is at y = "
                f"{_length(document, course.height_at(x))}, which {_outside(document, zone)}",
            )
            return


def _say_beside(document: Keys, course: Course, zone: Zone) -> bool:
    left = min(z for ring in zone.rings for z, _ in ring.points)
    where = f", from {_length(document, left)}" if abs(left) > TOUCH_IN else ""
    inside = left - TOUCH_IN <= course.across_in <= left + zone.width_in + TOUCH_IN
    what = (
        f"lies in the open between the parts of the section from x = {_length(document, zone.start_in)} on"
        if inside
        else f"lies outside the section, which is {_length(document, zone.width_in)} wide there{where}"
    )
    document.faults.add(course.across_path, f"{_length(document, course.across_in)} {what}")
    return True


def _outside(document: Keys, zone: Zone) -> str:
    depth, soffit = _length(document, zone.depth_in), zone.soffit_in
    reach = (
        ""
        if abs(soffit) <= TOUCH_IN
        else (f", from y = {_length(document, soffit)} to {_length(document, zone.top_in)}")
    )
    open_beside = " (its parts leave the rod's place open)" if zone.kind in ("apron", "rails", "outline") else ""
    return f"lies outside the section, which is {depth} deep there{reach}{open_beside}"


def _points_outside(course: Course, zone: Zone, stretches: list[tuple[float, float]]) -> list[int]:
    return [
        k
        for k, (x, y) in enumerate(course.profile)
        if zone.start_in - TOUCH_IN <= x <= zone.end_in + TOUCH_IN
        and not any(low - TOUCH_IN <= y <= high + TOUCH_IN for low, high in stretches)
    ]


def _leaves_between(course: Course, zone: Zone, stretches: list[tuple[float, float]]) -> float | None:
    """An x in the zone where the axis is outside every stretch, or in another than at first; None where it stays."""
    start, end = max(course.profile[0][0], zone.start_in), min(course.profile[-1][0], zone.end_in)
    turning = course.turning_x()
    places = [start, *(x for x, _ in course.profile if start < x < end), end]
    if turning is not None and start < turning < end:
        places.append(turning)
    first, *others = ((x, course.height_at(x)) for x in places)
    for low, high in stretches:
        if low - TOUCH_IN <= first[1] <= high + TOUCH_IN:
            return next((x for x, y in others if not low - TOUCH_IN <= y <= high + TOUCH_IN), None)
    return start


def _length(document: Keys, value_in: float) -> str:
    return format_quantity(value_in, "length", document.units)
