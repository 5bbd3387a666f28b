"""Cross-sections of a zone: the five shapes of the page, as rings of concrete, foam and empty hole.

Each reader returns the rings in the zone's own heights (y = 0 at its lowest point), before the zone is set flush.
"""

from dataclasses import dataclass

from engineering.core.contract.piece import Point, Ring, RingRole
from engineering.core.contract.reading import Keys
from engineering.core.contract.refusal import child
from engineering.core.contract.rings import (
    TOUCH_IN,
    counter_clockwise,
    rectangle,
    ring_contains,
    rings_meet,
    self_crossing,
    shifted,
    signed_area,
)
from engineering.core.contract.units import format_quantity
from engineering.core.contract.values import ANY, NOT_NEGATIVE, SIZE, known

SHAPES = ("solid", "cored", "apron", "rails", "outline")
MOST_CORES, MOST_RAILS, MOST_HOLES, MOST_CORNERS = 24, 24, 24, 120


@dataclass(frozen=True)
class Shape:
    kind: str
    rings: tuple[Ring, ...]  # y from the zone's lowest point; concrete first
    width_in: float
    load_width_in: float
    depth_in: float
    bottom_in: float | None  # as given; None: flush at the top


def read_shape(keys: Keys) -> Shape | None:
    kind = keys.choice("type", SHAPES)
    if kind is None:
        return None
    read = {"solid": _solid, "cored": _cored, "apron": _apron, "rails": _rails, "outline": _outline}[kind]
    rings = read(keys)
    bottom = keys.number("bottom", "length", default=None, within=NOT_NEGATIVE)
    keys.close()
    if rings is None or (keys.has("bottom") and bottom is None):
        return None
    across, heights = zip(*[point for ring in rings for point in ring.points], strict=True)
    width = load_width = max(across) - min(across)
    if kind == "rails":
        load_width = sum(ring.points[1][0] - ring.points[0][0] for ring in rings)
    return Shape(kind, tuple(rings), width, load_width, max(heights), bottom)


def _concrete(points: tuple[Point, ...]) -> Ring:
    return Ring(RingRole.CONCRETE, points)


def _solid(keys: Keys) -> list[Ring] | None:
    width, depth = keys.number("width", "length", within=SIZE), keys.number("depth", "length", within=SIZE)
    return [_concrete(rectangle(0.0, 0.0, width, depth))] if known(width, depth) else None


# ---- cored ---------------------------------------------------------------------------------------------------------

Box = tuple[float, float, float, float]  # left, bottom, width, height


def _cored(keys: Keys) -> list[Ring] | None:
    slab = _solid(keys)
    cores = keys.objects("cores", "cores", 1, MOST_CORES)
    if cores is None:
        return None
    boxes = [_box(core, lowest=None) if core else None for core in cores]
    if slab:
        (_, _), (width, _), (_, depth), _ = slab[0].points
        for core, box in zip(cores, boxes, strict=True):
            if core and box:
                _refuse_core_at_face(core, box, width, depth)
    _refuse_overlaps(cores, boxes, touching=True, what="core")
    found = [box for box in boxes if box]
    if slab is None or len(found) < len(boxes):
        return None
    return slab + [Ring(RingRole.CORE, rectangle(*box)) for box in found]


def _box(keys: Keys, lowest: float | None) -> Box | None:
    """A rectangle's left, bottom, width and height; left and bottom not under `lowest` where that is given."""
    within = NOT_NEGATIVE if lowest is not None else ANY
    left, width = keys.number("left", "length", within=within), keys.number("width", "length", within=SIZE)
    bottom, height = keys.number("bottom", "length", within=within), keys.number("height", "length", within=SIZE)
    keys.close()
    return (left, bottom, width, height) if known(left, bottom, width, height) else None


def _refuse_core_at_face(core: Keys, box: Box, width: float, depth: float) -> None:
    left, bottom, core_width, height = box
    for start, size, start_key, size_key, whole, side in (
        (left, core_width, "left", "width", width, "wide"),
        (bottom, height, "bottom", "height", depth, "deep"),
    ):
        if start > TOUCH_IN and start + size < whole - TOUCH_IN:
            continue
        section = (
            f"the section, which is {format_quantity(whole, 'length', core.units)} {side}, without touching a face"
        )
        if start <= TOUCH_IN or start >= whole - TOUCH_IN:
            core.fault(
                start_key, f"{format_quantity(start, 'length', core.units)} should put the core inside {section}"
            )
        else:
            reach = format_quantity(start + size, "length", core.units)
            core.fault(size_key, f"the core reaches to {reach}; it should end inside {section}")


def _refuse_overlaps(keys: list[Keys | None], boxes: list[Box | None], touching: bool, what: str) -> None:
    slack = -TOUCH_IN if touching else TOUCH_IN
    for j, (later, box) in enumerate(zip(keys, boxes, strict=True)):
        for i, other in enumerate(boxes[:j]):
            if later and box and other and _overlap(box, other, slack):
                later.faults.add(
                    later.path,
                    f"{'touches or ' if touching else ''}overlaps {what} {i + 1}; the {what}s should lie apart",
                )


def _overlap(a: Box, b: Box, slack: float) -> bool:
    return (
        min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0]) > slack
        and min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1]) > slack
    )


# ---- apron ---------------------------------------------------------------------------------------------------------


def _apron(keys: Keys) -> list[Ring] | None:
    slab = _solid(keys)
    legs = {side: keys.object(side, default=None) for side in ("front", "back")}
    if not any(keys.has(side) for side in legs):
        keys.fault("front", "missing; an apron should have a front or a back leg {thickness, drop}, or both")
        return None
    sizes = {side: _leg(leg) for side, leg in legs.items() if leg}
    if slab is None or len(sizes) < sum(keys.has(side) for side in legs) or not known(*sizes.values()):
        return None
    (_, _), (width, _), (_, depth), _ = slab[0].points
    thick = {side: size[0] for side, size in sizes.items() if size}
    if sum(thick.values()) >= width - TOUCH_IN:
        side = "back" if "back" in thick and thick.get("front", 0.0) < width - TOUCH_IN else "front"
        leg = legs[side]
        if leg:
            leg.fault(
                "thickness",
                f"the legs take {format_quantity(sum(thick.values()), 'length', keys.units)}; they should "
                f"leave a gap in the width of {format_quantity(width, 'length', keys.units)}",
            )
        return None
    return [_concrete(_apron_corners(width, depth, sizes.get("front"), sizes.get("back")))]


def _leg(keys: Keys) -> tuple[float, float] | None:
    thickness, drop = keys.number("thickness", "length", within=SIZE), keys.number("drop", "length", within=SIZE)
    keys.close()
    return (thickness, drop) if known(thickness, drop) else None


def _apron_corners(
    width: float, depth: float, front: tuple[float, float] | None, back: tuple[float, float] | None
) -> tuple[Point, ...]:
    drop = max(leg[1] for leg in (front, back) if leg)
    corners: list[Point] = []
    if front:
        corners += [(0.0, drop - front[1]), (front[0], drop - front[1]), (front[0], drop)]
    else:
        corners += [(0.0, drop)]
    if back:
        corners += [(width - back[0], drop), (width - back[0], drop - back[1]), (width, drop - back[1])]
    else:
        corners += [(width, drop)]
    return (*corners, (width, drop + depth), (0.0, drop + depth))


# ---- rails and outline ---------------------------------------------------------------------------------------------


def _rails(keys: Keys) -> list[Ring] | None:
    rails = keys.objects("rails", "rails", 1, MOST_RAILS)
    if rails is None:
        return None
    boxes = [_box(rail, lowest=0.0) if rail else None for rail in rails]
    _refuse_overlaps(rails, boxes, touching=False, what="rail")
    found = [box for box in boxes if box]
    if len(found) < len(boxes):
        return None
    lowest = min(box[1] for box in found)
    return [_concrete(shifted(rectangle(*box), -lowest)) for box in sorted(found)]


def _outline(keys: Keys) -> list[Ring] | None:
    outer = _ring(keys.points("outer", "corners", 3, MOST_CORNERS), keys, keys.place("outer"))
    given = keys.items("holes", "rings", 0, MOST_HOLES, default=[])
    if given is None:
        return None
    holes = []
    for index in range(len(given)):
        # a list of rings has no keys of its own: each is read as if its number were its key
        path = child(keys.place("holes"), index)
        alone = Keys({"ring": given[index]}, path, keys.units, keys.faults, {"ring": path})
        holes.append(_ring(alone.points("ring", "corners", 3, MOST_CORNERS), keys, path))
    if outer is None:
        return None
    for index, hole in enumerate(holes):
        if hole:
            _refuse_hole(keys, child(keys.place("holes"), index), hole, outer, holes[:index])
    found = [hole for hole in holes if hole]
    if len(found) < len(holes):
        return None
    lowest = min(y for _, y in outer)
    return [_concrete(shifted(outer, -lowest)), *(Ring(RingRole.VOID, shifted(hole, -lowest)) for hole in found)]


def _ring(points: list[Point | None] | None, keys: Keys, path: str) -> tuple[Point, ...] | None:
    if points is None or not known(*points):
        return None
    corners = [point for point in points if point is not None]
    if len(corners) > 3 and corners[0] == corners[-1]:
        corners.pop()
    doubled = [
        i
        for i, (a, b) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True))
        if max(abs(a[0] - b[0]), abs(a[1] - b[1])) <= TOUCH_IN
    ]
    if doubled:
        keys.faults.add(path, f"corners {doubled[0] + 1} and {(doubled[0] + 1) % len(corners) + 1} are the same point")
    elif crossing := self_crossing(corners):
        keys.faults.add(
            path, f"sides {crossing[0] + 1} and {crossing[1] + 1} meet; the ring should not cross or touch itself"
        )
    elif abs(signed_area(corners)) < 1e-6:
        keys.faults.add(path, "encloses no area; it should be a ring")
    else:
        return counter_clockwise(corners)
    return None


def _refuse_hole(
    keys: Keys, path: str, hole: tuple[Point, ...], outer: tuple[Point, ...], others: list[tuple[Point, ...] | None]
) -> None:
    if rings_meet(hole, outer) or not ring_contains(outer, hole[0]):
        keys.faults.add(path, "should lie inside the outer ring without touching it")
    for number, other in enumerate(others, 1):
        if other and (rings_meet(hole, other) or ring_contains(other, hole[0]) or ring_contains(hole, other[0])):
            keys.faults.add(path, f"meets hole {number}; the holes should lie apart")
