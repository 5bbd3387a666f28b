"""What a shop can do about a design, as steps the engine can run: in numbers beside one another, or as documents.

A `Step` in numbers keeps the layout, so all of them go through the engine in one batch. A step that changes the layout
(another thread, one rod more, a deeper piece) is a document of its own.
"""

import copy
import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from engineering.core.contract.piece import Piece
from engineering.core.contract.units import SI, format_length, format_number, format_quantity
from engineering.core.drafts import Document, RodSet, changed, deeper, supports_in, with_rods, written
from engineering.core.lanes import lanes, nearest
from engineering.core.rod_space import room_needed
from engineering.core.shelf import ShelfItem, faces_of, like_of, next_thread
from engineering.core.tables.grades import GRADES, find_grade
from engineering.core.variants import Numbers


@dataclass(frozen=True)
class Step:
    """One size of one remedy. words: as said at the bench; size: what orders steps of a remedy, least first."""

    remedy: str
    size: float
    words: str
    numbers: Numbers | None = None  # of one design
    document: Document | None = None


def in_numbers(piece: Piece) -> list[Step]:
    """Rods lower, higher, nearer together, further apart; less or more force; waiting for strength."""
    return [*_waiting(piece), *(_rod_steps(piece) if piece.rods else [])]


def _rod_steps(piece: Piece) -> Iterator[Step]:
    units = piece.units
    inch = 3 / 25.4 if units == SI else 0.125
    force = np.array([[rod.jacking_force_lbf for rod in piece.rods]])
    across = np.array([[rod.across_in for rod in piece.rods]])
    one, several = ("rod", "") if len(piece.rods) == 1 else ("rods", "each ")
    for k in (1, 2, 3, 4, 6, 8):
        words = format_length(k * inch, units)
        yield Step("lower", k, f"{one} {words} lower", Numbers(1, lift_in=np.array([-k * inch])))
        yield Step("higher", k, f"{one} {words} higher", Numbers(1, lift_in=np.array([k * inch])))
    for percent in (5, 10, 15, 20, 30, 40, 50):
        for name, sign in (("less force", -1), ("more force", 1)):
            share = 1 + sign * percent / 100
            amount = format_quantity(round(float(force.max() * share), -1), "force", units)
            exact = np.round(force * share, -1) if units != SI else force * share
            yield Step(name, percent, f"{percent} % {name}: {several}{amount}", Numbers(1, jacking_lbf=exact))
    if len(piece.rods) > 1:
        middle = 0.5 * (across.min() + across.max())
        for k in (2, 4, 8, 16):
            for name, sign in (("outer rods further in", -1), ("outer rods further out", 1)):
                reach = across.max() - middle
                moved = middle + (across - middle) * (reach + sign * k * inch) / reach
                words = f"outer rods {format_length(k * inch, units)} {name.rsplit(' ', 2)[1]} {name.rsplit(' ', 1)[1]}"
                yield Step(name, k, words, Numbers(1, across_in=moved))


def _waiting(piece: Piece) -> Iterator[Step]:
    """The strength at stressing in even steps up to that at 28 days; bending strength and modulus with its root."""
    concrete, units = piece.concrete, piece.units
    step = 2.0 / 0.00689476 if units == SI else 250.0
    first = np.floor(concrete.strength_at_stressing_psi / step + 1e-9) + 1
    for k in range(12):
        strength = (first + k) * step
        if strength > concrete.strength_psi or not piece.rods:
            return
        factor = strength / concrete.strength_at_stressing_psi
        grown = min(factor**0.5, concrete.flexural_yield_psi / concrete.flexural_yield_at_stressing_psi)
        stiffer = min(factor**0.5, concrete.modulus_psi / concrete.modulus_at_stressing_psi)
        factors = (
            ("strength_at_stressing_psi", np.array([factor])),
            ("flexural_yield_at_stressing_psi", np.array([max(grown, 1.0)])),
            ("modulus_at_stressing_psi", np.array([max(stiffer, 1.0)])),
        )
        words = f"wait until {_thousands(strength, units)}"
        yield Step("wait", k + 1, words, Numbers(1, concrete=factors))


def _thousands(stress_psi: float, units: str) -> str:
    if units == SI:
        return format_quantity(stress_psi, "stress", units, 3)
    return f"{stress_psi:,.0f} psi"


def in_documents(document: Document, piece: Piece) -> list[Step]:
    """Another layout, step by step: rod size, grade, number, depth, supports, ages, plates, sealing, lifting."""
    makers: tuple[Callable[[Document, Piece], Iterator[Step]], ...] = (
        _deeper,
        _supports,
        _lift_points,
        *((_sizes, _grades, _numbers, _again, _plates, _coating, _measuring) if piece.rods else ()),
    )
    return list(itertools.chain.from_iterable(maker(document, piece) for maker in makers))


def _alike(piece: Piece) -> bool:
    return all(
        replace(rod, mark="", across_in=0.0) == replace(piece.rods[0], mark="", across_in=0.0) for rod in piece.rods
    )


def _set(piece: Piece, like: dict[str, Any], across: tuple[float, ...] | None = None, share: float = 1.0) -> RodSet:
    first = piece.rods[0]
    return RodSet(
        like,
        across or tuple(rod.across_in for rod in piece.rods),
        first.profile,
        first.jacking_force_lbf * share,
        piece.stressing.restress_days if piece.stressing else (),
    )


def _sizes(document: Document, piece: Piece) -> Iterator[Step]:
    """The next two sizes up at the same stress and at the same force."""
    if not _alike(piece):
        return
    first = piece.rods[0]
    for up, words in ((1, "next rod size up"), (2, "two rod sizes up")):
        thread = next_thread(first.thread, up)
        if thread is None or first.grade.name not in GRADES or find_grade(first.grade.name, thread) is None:
            return
        like = {**like_of(piece, thread, (first.grade.name,)), "grade": first.grade.name, "curve": first.curve}
        share = thread.tensile_area_in2 / first.area_in2
        force = format_quantity(round(first.jacking_force_lbf * share, -1), "force", piece.units)
        yield Step(
            "size up", up, f"{words}: {thread.name}, same force", document=with_rods(document, _set(piece, like), {})
        )
        yield Step(
            "size up, same stress",
            up,
            f"{words}: {thread.name}, tightened to {force}",
            document=with_rods(document, _set(piece, like, share=share), {}),
        )


def _grades(document: Document, piece: Piece) -> Iterator[Step]:
    """Every stronger listed grade at the same force, the least strong first."""
    thread, now = piece.rods[0].thread, max(rod.grade.yield_psi for rod in piece.rods)
    made = ((grade.yield_psi, name) for name in GRADES if (grade := find_grade(name, thread)) is not None)
    usual = [(psi, name) for psi, name in sorted(made) if psi > now and name[0].isalpha() != thread.metric]
    for k, (_, name) in enumerate(usual[:4], 1):
        found = copy.deepcopy(document)
        for rod in found["rods"]:
            if "grade" in rod or "like" not in rod:
                rod["grade"] = name
        yield Step("grade up", k, f"a stronger grade: {name}", document=found)


def _numbers(document: Document, piece: Piece) -> Iterator[Step]:
    """One or two rods more, evenly over the same width."""
    if not _alike(piece):
        return
    like = _like_now(piece)
    across = [rod.across_in for rod in piece.rods]
    needed = room_needed(ShelfItem(piece.rods[0].thread.name, (), like), piece)
    free = lanes(piece, faces_of(piece), min(y for _, y in piece.rods[0].profile), *needed)
    if not free:
        return
    low, high = (min(across), max(across)) if len(across) > 1 else (free[0][0], free[-1][1])
    for more, words in ((1, "one rod more"), (2, "two rods more")):
        places = tuple(nearest(free, float(z)) for z in np.linspace(low, high, len(across) + more))
        if all(b - a > 0.01 for a, b in itertools.pairwise(places)):
            drawn = with_rods(document, _set(piece, like, places), {})
            yield Step("more rods", more, words, document=drawn)


def _like_now(piece: Piece) -> dict[str, Any]:
    first = piece.rods[0]
    grade = first.grade.name
    return {**like_of(piece, first.thread, ()), "grade": grade, "curve": first.curve} if first.grade.standard else {}


def _deeper(document: Document, piece: Piece) -> Iterator[Step]:
    inch = 5 / 25.4 if piece.units == SI else 0.25
    for k in (1, 2, 3, 4, 6):
        words = f"make the piece {format_length(k * inch, piece.units)} deeper"
        yield Step("deeper", k, words, document=deeper(document, k * inch))


def _supports(document: Document, piece: Piece) -> Iterator[Step]:
    step = 25 / 25.4 if piece.units == SI else 1.0
    for k in (1, 2, 4, 8):
        for name, sign in (("towards the middle", 1), ("towards the ends", -1)):
            words = f"end supports {format_length(k * step, piece.units)} {name}"
            yield Step(f"supports {name}", k, words, document=supports_in(document, sign * k * step))


def _lift_points(document: Document, piece: Piece) -> Iterator[Step]:
    """The places where the piece bends least when lifted: a fifth of the length from each end; and later."""
    if piece.handling is None:
        return
    units, end = piece.units, 0.207 * piece.length_in
    found = copy.deepcopy(document)
    found["handling"]["lift_points"] = [written(x, "length", units) for x in (end, piece.length_in - end)]
    yield Step("lift points", 1, f"lift at {format_length(end, units)} from each end", document=found)
    for k, share in enumerate((1.25, 1.5, 2.0), 1):
        strength = min(piece.handling.strength_psi * share, piece.concrete.strength_psi)
        later = copy.deepcopy(document)
        later["handling"]["strength"] = written(strength, "stress", units)
        later["handling"].pop("flexural_yield", None)
        yield Step("lift later", k, f"lift it when it has {_thousands(strength, units)}", document=later)


def _again(document: Document, piece: Piece) -> Iterator[Step]:
    """Tighten again at ages not in the plan yet."""
    if piece.stressing is None:
        return
    start = piece.stressing.age_days
    for k, ages in enumerate(((28.0,), (28.0, 90.0), (28.0, 90.0, 365.0)), 1):
        wanted = sorted({*piece.stressing.restress_days, *(age for age in ages if age > start)})
        if len(wanted) > len(piece.stressing.restress_days):
            found = copy.deepcopy(document)
            found["stressing"]["restress"] = wanted
            said = [format_number(age) for age in wanted]
            listed = said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"
            yield Step("tighten again", k, f"tighten again at {listed} days", document=found)


def _plates(document: Document, piece: Piece) -> Iterator[Step]:
    """Plates wider and thicker; lower where they come near an edge."""
    units = piece.units
    inch = 10 / 25.4 if units == SI else 0.5
    for k in (1, 2, 3, 4):
        yield Step(
            "wider plates",
            k,
            f"plates {format_length(k * inch, units)} wider",
            document=_plated(document, units, "width", k * inch),
        )
        yield Step(
            "thicker plates",
            k,
            f"plates {format_length(k * inch / 4, units)} thicker",
            document=_plated(document, units, "thickness", k * inch / 4),
        )
        yield Step(
            "lower plates",
            k,
            f"plates {format_length(k * inch / 2, units)} less high",
            document=_plated(document, units, "height", -k * inch / 2),
        )


def _plated(document: Document, units: str, key: str, by_in: float) -> Document:
    found = copy.deepcopy(document)
    for rod in found["rods"]:
        for part in ("anchor", "pocket"):
            if isinstance(rod.get(part), dict) and key in rod[part]:
                changed(rod[part], key, "length", units, lambda size: max(size + by_in, 0.125))
    return found


def _coating(document: Document, piece: Piece) -> Iterator[Step]:
    found = copy.deepcopy(document)
    for rod in found["rods"]:
        rod["coating"] = "sealed"
    yield Step("sealed", 1, "seal the rods: greased in their sleeves, both ends capped", document=found)


def _measuring(document: Document, piece: Piece) -> Iterator[Step]:
    """Less scatter: by stretch rather than by torque."""
    if piece.stressing is None or piece.stressing.method != "torque":
        return
    found = copy.deepcopy(document)
    found["stressing"]["method"] = "elongation"
    found["stressing"].pop("scatter", None)
    yield Step("measure the stretch", 1, "tighten by measured stretch instead of torque: less scatter", document=found)
