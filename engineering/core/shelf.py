"""What a shop has on its shelf: threads, their grades, and the sleeve and plates that go with each.

A thread the piece uses already keeps its own sleeve and plates; another gets plates sized by the checks' own formulas
for the strongest grade beside it, which are a proposal: the checks decide.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from engineering.core import anchorage
from engineering.core.contract.piece import Piece, Rod, Thread
from engineering.core.contract.units import SI
from engineering.core.drafts import written
from engineering.core.grid import outermost_faces
from engineering.core.tables.grades import GRADES, find_grade
from engineering.core.tables.threads import THREADS, find_thread

Shelf = tuple[tuple[str, tuple[str, ...]], ...]  # threads and their grades
RIM_IN = 0.25  # concrete the checks want around plate and pocket
SLACK_IN = 0.125  # pocket beyond its plate, each side
US_SHELF: Shelf = (
    ("3/8-16 UNC", ("F1554-55", "A193 B7")),
    ("1/2-13 UNC", ("F1554-55", "A193 B7")),
    ("5/8-11 UNC", ("F1554-55", "A193 B7")),
    ("3/4-10 UNC", ("F1554-55", "A193 B7")),
)
SI_SHELF: Shelf = (
    ("M10x1.5", ("5.6", "8.8")),
    ("M12x1.75", ("5.6", "8.8")),
    ("M16x2", ("5.6", "8.8")),
    ("M20x2.5", ("5.6", "8.8")),
)
FULL_SHARE = 0.75  # of yield: what a torque wrench can be sent to, its scatter of a quarter allowed for


@dataclass(frozen=True)
class ShelfItem:
    """One thread with its grades; `like`: keys of a rod in the document's units (sleeve, anchor, pocket, coating)."""

    thread: str
    grades: tuple[Any, ...]
    like: Mapping[str, Any]


def usual_shelf(piece: Piece) -> Shelf:
    """Threads and grades to look through where the shop names none: the piece's own first, then the usual ones."""
    usual: Shelf = SI_SHELF if piece.units == SI else US_SHELF
    if piece.environment.exposure != "interior-dry":
        usual = tuple((thread, (*grades, "A4-70" if piece.units == SI else "A193 B8M")) for thread, grades in usual)
    own: dict[str, list[str]] = {}
    for rod in piece.rods:
        if rod.grade.standard:
            own.setdefault(rod.thread.name, []).append(rod.grade.name)
    names = list(dict.fromkeys([*(thread for thread, _ in usual), *own]))
    at_hand = dict(usual)
    return tuple((name, tuple(dict.fromkeys([*own.get(name, []), *at_hand.get(name, ())]))) for name in names)


def shelf_of(piece: Piece, wanted: Shelf | None = None) -> tuple[ShelfItem, ...]:
    """The shelf as rods of this piece. Raises ValueError for a thread or grade that is in no table."""
    items = []
    for name, grades in usual_shelf(piece) if wanted is None else wanted:
        thread = find_thread(name)
        unknown = [grade for grade in grades if grade not in GRADES]
        if thread is None or unknown:
            raise ValueError(f"{unknown[0] if unknown else name} is not in the tables of threads and grades")
        made = tuple(grade for grade in grades if find_grade(grade, thread) is not None)
        if made:
            items.append(ShelfItem(thread.name, made, like_of(piece, thread, made)))
    return tuple(items)


def like_of(piece: Piece, thread: Thread, grades: tuple[str, ...]) -> dict[str, Any]:
    """Keys of a rod of this thread in this piece, without mark, place, profile and force."""
    own = next((rod for rod in piece.rods if rod.thread == thread), None)
    template = own or (piece.rods[0] if piece.rods else None)
    around = _kept(own, piece.units) if own else _sized(piece, thread, grades)
    return {"thread": thread.name, "curve": "straight", **around, **_habits(template, piece)}


def _kept(rod: Rod, units: str) -> dict[str, Any]:
    def length(value_in: float) -> float:
        return written(value_in, "length", units)

    a = rod.anchor
    found: dict[str, Any] = {
        "sleeve": _sleeve(rod.sleeve.outside_in, rod.sleeve.friction, rod.sleeve.wobble_per_ft, units),
        "anchor": {
            "width": length(a.width_in),
            "height": length(a.height_in),
            "thickness": length(a.thickness_in),
            "hole": length(a.hole_in),
            "yield": written(a.yield_psi, "stress", units),
        },
    }
    if rod.pocket:
        found["pocket"] = {"width": length(rod.pocket.width_in), "height": length(rod.pocket.height_in)}
    return found


def _sleeve(outside_in: float, friction: float, wobble_per_ft: float, units: str) -> dict[str, Any]:
    return {
        "outside": written(outside_in, "length", units),
        "friction": friction,
        "wobble": written(wobble_per_ft, "wobble", units),
    }


def _sized(piece: Piece, thread: Thread, grades: tuple[str, ...]) -> dict[str, Any]:
    """Plates for the strongest of these grades at `FULL_SHARE` of its yield; sleeve 1/4 in over the thread."""
    strongest = max(made.yield_psi for grade in grades if (made := find_grade(grade, thread)) is not None)
    force = anchorage.JACKING_FACTOR * FULL_SHARE * strongest * thread.tensile_area_in2
    hole = _up(thread.diameter_in + 1 / 16, 1 / 16)
    strength = piece.concrete.strength_at_stressing_psi
    area = force / float(anchorage.bearing_at_stressing(strength, 1.2)) + math.pi / 4 * hole**2
    depth = min(piece.zones[0].depth_in, piece.zones[-1].depth_in)
    height = max(_down(min(depth - 2 * (RIM_IN + SLACK_IN), math.sqrt(area)), 1 / 8), hole + 0.25)
    width = max(_up(area / height, 1 / 4), height)
    net = float(anchorage.net_plate_area(width, height, hole, hole))
    overhang = anchorage.plate_overhang(width, height, thread.diameter_in)
    thick = _up(float(anchorage.plate_thickness(overhang, 1.25 * force / net, 36_000.0)), 1 / 8)
    rod = piece.rods[0] if piece.rods else None

    def length(value_in: float) -> float:
        return written(value_in, "length", piece.units)

    friction, wobble = (rod.sleeve.friction, rod.sleeve.wobble_per_ft) if rod else (0.15, 0.0005)
    found: dict[str, Any] = {
        "sleeve": _sleeve(_up(thread.diameter_in + 0.25, 1 / 8), friction, wobble, piece.units),
        "anchor": {
            "width": length(width),
            "height": length(height),
            "thickness": length(max(thick, 0.25)),
            "hole": length(hole),
        },
    }
    if not piece.rods or any(rod.pocket for rod in piece.rods):
        found["pocket"] = {"width": length(width + 2 * SLACK_IN), "height": length(height + 2 * SLACK_IN)}
    return found


def _habits(rod: Rod | None, piece: Piece) -> dict[str, Any]:
    if rod is not None:
        tail = written(rod.tail_in, "length", piece.units)
        return {"stressed_from": rod.stressed_from, "coating": rod.coating, "tail": tail}
    return {"coating": "plain" if piece.environment.exposure == "interior-dry" else "sealed"}


def faces_of(piece: Piece) -> tuple[float, float]:
    """x of the anchor faces: those of the rods that are there, else pockets 1.5 in deep at both ends."""
    return outermost_faces(piece) if piece.rods else (1.5, piece.length_in - 1.5)


def next_thread(thread: Thread, by: int) -> Thread | None:
    """The next size of the same series, up (+1) or down (-1)."""
    series = [t for t in THREADS.values() if _series(t) == _series(thread)]
    series.sort(key=lambda t: t.diameter_in)
    place = series.index(thread) + by
    return series[place] if 0 <= place < len(series) else None


def _series(thread: Thread) -> tuple[bool, str]:
    return thread.metric, "" if thread.metric else thread.name[-4:]


def _up(value: float, step: float) -> float:
    return math.ceil(value / step - 1e-9) * step


def _down(value: float, step: float) -> float:
    return math.floor(value / step + 1e-9) * step
