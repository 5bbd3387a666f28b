"""The rods: each rod's keys, with those it takes over from another by `like`."""

import itertools
import math
import re
from collections.abc import Mapping
from typing import Any

from engineering.core.contract.like import JACKING, with_like
from engineering.core.contract.piece import Anchor, Grade, Pocket, Rod, Sleeve, Thread
from engineering.core.contract.placement import Course
from engineering.core.contract.reading import Keys
from engineering.core.contract.refusal import Faults, child, shown
from engineering.core.contract.units import format_quantity
from engineering.core.contract.values import NOT_NEGATIVE, POSITIVE, SIZE, Range, known
from engineering.core.tables import grades, threads

MOST_RODS, MOST_POINTS = 40, 60
CURVES, ENDS, COATINGS = ("straight", "parabola"), ("left", "right", "both"), ("plain", "plated", "sealed")
MARK_RULE = "letters, digits, - and _"
_MARK = re.compile("[A-Za-z0-9_-]+")
# of shares that lose their meaning beyond: no rod slides at a friction over 2, none yields under 1 ksi
_FRICTION, _WOBBLE = Range(least=0.0, most=2.0), Range(least=0.0, most=1.0)
_STRENGTH, _MODULUS = Range(least=1_000.0), Range(least=1e6, most=1e8)
_ELONGATION, _AREA = Range(above=0.0, most=1.0), Range(least=1e-4)


def read_mark(keys: Keys, key: str = "mark") -> str | None:
    mark = keys.text(key, longest=40)
    if mark is None or _MARK.fullmatch(mark):
        return mark
    keys.fault(key, f"{shown(mark)} should be made of {MARK_RULE}")
    return None


def read_rods(document: Keys, nut_factor: float | None) -> tuple[tuple[Rod, ...] | None, list[Course]]:
    """All rods, or None where any of them is refused; and the axes that could be read, to look at their place.

    `nut_factor` None: not known, so a torque gives no force.
    """
    given = document.objects("rods", "rods", 0, MOST_RODS, default=[])
    if given is None:
        return None, []
    courses: list[Course] = []
    rods: list[Rod | None] = []
    for merged in with_like(given):
        if merged and not merged.founded:
            _refuse_in_part(merged.keys)
        rods.append(_read_rod(merged.keys, nut_factor, courses) if merged and merged.founded else None)
    _refuse_same_marks(given)
    found = tuple(rod for rod in rods if rod)
    return (found if len(found) == len(rods) else None), courses


def _refuse_same_marks(given: list[Keys | None]) -> None:
    seen: dict[str, int] = {}
    for index, keys in enumerate(given):
        mark = keys.values.get("mark") if keys else None
        if keys and isinstance(mark, str):
            if mark in seen:
                keys.fault("mark", f"{shown(mark)} is the mark of rod {seen[mark] + 1} too; every rod has its own")
            seen.setdefault(mark, index)


def _refuse_in_part(keys: Keys) -> None:
    """Tell what else is wrong with a rod whose `like` was refused; what it is silent on it might have taken over."""
    silent = Keys(keys.values, keys.path, keys.units, Faults(), keys.places)
    _read_rod(silent, None, [])
    for fault in silent.faults.as_tuple():
        if not fault.message.startswith("missing"):
            keys.faults.add(fault.path, fault.message)


def _read_rod(keys: Keys, nut_factor: float | None, courses: list[Course]) -> Rod | None:
    mark = read_mark(keys)
    keys.raw("like", "a rod's mark", default=None)
    thread = _thread(keys)
    grade, area = _grade(keys, thread)
    across = keys.number("across", "length")
    curve = keys.choice("curve", CURVES, default="straight")
    profile = _profile(keys, curve)
    if across is not None and curve and profile:
        own = _gives(keys, "profile") or not _gives(keys, "across")
        courses.append(Course(across, profile, curve, keys.place("across"), keys.place("profile"), own))
    sleeve = _sleeve(keys, thread)
    stressed_from = keys.choice("stressed_from", ENDS, default="right")
    anchor = _anchor(keys, thread, sleeve)
    coating = keys.choice("coating", COATINGS, default="plain")
    pocket = _pocket(keys)
    kind, force = _jacking(keys, thread, area, nut_factor)
    tail = keys.number("tail", "length", default=1.5, within=NOT_NEGATIVE)
    keys.close()
    before: tuple[Any, ...] = (mark, thread, grade, area, across, profile, curve, sleeve, stressed_from, anchor)
    values: tuple[Any, ...] = (*before, pocket, coating, force, kind, tail)
    return Rod(*values) if known(*before, coating, force, tail) else None


def _thread(keys: Keys) -> Thread | None:
    name = keys.text("thread", longest=40)
    if name is None:
        return None
    thread = threads.find_thread(name)
    if thread is None:
        keys.fault(
            "thread",
            f"{shown(name)} should be UNC 1/4 to 1-1/2, UNF 1/4 to 1 or ISO coarse M6 to M36, "
            'like "1/2-13 UNC" or "M12x1.75"',
        )
    return thread


def _grade(keys: Keys, thread: Thread | None) -> tuple[Grade | None, float | None]:
    """The grade and the area that carries the rod's force [in2]."""
    _, value = keys.raw("grade", "a grade's name or {name, yield, ultimate}")
    if value is None and not keys.has("grade"):
        return None, None
    if isinstance(value, Mapping):
        return _own_grade(keys.below(value, "grade"), thread)
    if not isinstance(value, str) or value not in grades.GRADES:
        keys.fault("grade", f"{shown(value)} should be {{name, yield, ultimate}} or one of {', '.join(grades.GRADES)}")
        return None, None
    if thread is None:
        return None, None
    grade = grades.find_grade(value, thread)
    if grade is None:
        largest = format_quantity(grades.GRADES[value].bands[-1].to_in, "length", keys.units)
        keys.faults.add(_nearest(keys, "grade", "thread"), f"{value} is made up to {largest}; {thread.name} is larger")
    return grade, thread.tensile_area_in2


def _own_grade(keys: Keys, thread: Thread | None) -> tuple[Grade | None, float | None]:
    name = keys.text("name", longest=60)
    lower, upper = keys.number("yield", "stress", within=_STRENGTH), keys.number("ultimate", "stress", within=_STRENGTH)
    usual = grades.modulus_psi(metric=thread.metric if thread else False, stainless=False)
    modulus = keys.number("modulus", "modulus", default=usual, within=_MODULUS)
    elongation = keys.number("elongation", default=grades.DEFAULT_ELONGATION, within=_ELONGATION)
    area = keys.number("area", "area", default=thread.tensile_area_in2 if thread else None, within=_AREA)
    keys.close()
    if known(lower, upper) and upper < lower:
        keys.fault(
            "ultimate",
            f"{format_quantity(upper, 'stress', keys.units)} should be at least the yield, "
            f"{format_quantity(lower, 'stress', keys.units)}",
        )
        return None, None
    if name == "":
        keys.fault("name", "should not be empty")
        return None, None
    if name is None or not known(lower, upper, modulus, elongation, area):
        return None, None
    return Grade(name, lower, upper, modulus, elongation, False, False, False), area


def _nearest(keys: Keys, *names: str) -> str:
    """The path to blame of several keys at odds: the first that this rod gives itself, else the first."""
    return keys.place(next((name for name in names if _gives(keys, name)), names[0]))


def _gives(keys: Keys, name: str) -> bool:
    """Whether the rod gives this key itself, rather than taking it over."""
    return keys.place(name) == child(keys.path, name)


def _profile(keys: Keys, curve: str | None) -> tuple[tuple[float, float], ...] | None:
    points = keys.points("profile", "points [x, y]", 2, MOST_POINTS)
    if points is None:
        return None
    path = keys.place("profile")
    if curve == "parabola" and len(points) != 3:
        keys.faults.add(_nearest(keys, "profile", "curve"), f"{len(points)} points; a parabola goes through three")
        return None
    fine = known(*points)
    for i, (before, after) in enumerate(itertools.pairwise(points), 1):
        if before and after and after[0] - before[0] < 0.001:
            keys.faults.add(
                f"{path}[{i}][0]",
                f"{format_quantity(after[0], 'length', keys.units)} should lie to the right of "
                f"the point before it, {format_quantity(before[0], 'length', keys.units)}",
            )
            fine = False
    return tuple(point for point in points if point) if fine else None


def _sleeve(keys: Keys, thread: Thread | None) -> Sleeve | None:
    given = keys.object("sleeve")
    if given is None:
        return None
    outside = given.number("outside", "length", within=SIZE)
    friction, wobble = given.number("friction", within=_FRICTION), given.number("wobble", "wobble", within=_WOBBLE)
    given.close()
    if known(outside, thread) and thread and outside <= thread.diameter_in:
        keys.faults.add(
            _blamed(keys, "sleeve", given.place("outside")),
            f"{format_quantity(outside, 'length', keys.units)} should be more than the rod, "
            f"{format_quantity(thread.diameter_in, 'length', keys.units)}",
        )
        return None
    return Sleeve(outside, friction, wobble) if known(outside, friction, wobble) else None


def _blamed(keys: Keys, part: str, path: str) -> str:
    """The path to blame where a part is too small for the thread: the part's, unless only the thread is its own."""
    return keys.place("thread") if _gives(keys, "thread") and not _gives(keys, part) else path


def _anchor(keys: Keys, thread: Thread | None, sleeve: Sleeve | None) -> Anchor | None:
    given = keys.object("anchor")
    if given is None:
        return None
    sizes: list[Any] = [given.number(key, "length", within=SIZE) for key in ("width", "height", "thickness", "hole")]
    strength = given.number("yield", "stress", default=36_000.0, within=_STRENGTH)
    given.close()
    width, height, thickness, hole = sizes
    fine = known(*sizes, strength)
    if known(hole) and thread and hole <= thread.diameter_in:
        keys.faults.add(
            _blamed(keys, "anchor", given.place("hole")),
            f"{format_quantity(hole, 'length', keys.units)} should be more than the rod, "
            f"{format_quantity(thread.diameter_in, 'length', keys.units)}",
        )
        fine = False
    for key, side in (("width", width), ("height", height)):
        if known(side, hole) and side <= hole:
            given.fault(
                key,
                f"{format_quantity(side, 'length', keys.units)} should be more than the hole, "
                f"{format_quantity(hole, 'length', keys.units)}",
            )
            fine = False
    if fine and sleeve and width * height <= math.pi / 4 * max(hole, sleeve.outside_in) ** 2:
        given.fault("width", "the plate should cover more than the mouth of the sleeve")
        fine = False
    return Anchor(width, height, thickness, hole, strength) if fine else None


def _pocket(keys: Keys) -> Pocket | None:
    given = keys.object("pocket", default=None)
    if given is None:
        return None
    width, height = given.number("width", "length", within=SIZE), given.number("height", "length", within=SIZE)
    given.close()
    return Pocket(width, height) if known(width, height) else None


def _jacking(
    keys: Keys, thread: Thread | None, area: float | None, nut_factor: float | None
) -> tuple[str, float | None]:
    """(which key, force [lbf]). Stress acts on the rod's area; torque by T = K D F."""
    values = {
        key: keys.number(key, quantity, default=None, within=POSITIVE)
        for key, quantity in zip(JACKING, ("force", "stress", "torque"), strict=True)
    }
    given = [key for key in JACKING if keys.has(key)]
    if not given:
        keys.missing(
            "jacking_force", "missing; exactly one of jacking_force, jacking_stress and torque should be given"
        )
    for key in given if len(given) > 1 else ():
        keys.fault(
            key, f"exactly one of jacking_force, jacking_stress and torque should be given, here are {len(given)}"
        )
    if len(given) != 1 or values[given[0]] is None or thread is None or area is None:
        return "", None
    kind, value = given[0], values[given[0]]
    if kind == "torque":
        return kind, value * 12 / (nut_factor * thread.diameter_in) if nut_factor else None
    return kind, value * area if kind == "jacking_stress" else value
