"""New specification documents out of one that is there: other rods, a deeper section, other concrete, other places.

Every change gives a whole document, read again by `parse`: what was found is what a revision would say. Numbers are
written in the document's own units.
"""

import copy
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from engineering.core.contract.refusal import Faults
from engineering.core.contract.units import QUANTITIES
from engineering.core.contract.values import Range, read_number

Document = dict[str, Any]
_DIGITS = {
    "length": 5,
    "force": 1,
    "stress": 3,
    "modulus": 1,
    "area load": 4,
    "age": 3,
    "number": 6,
    "wobble": 9,
}  # decimals written, in either system
_ANY = Range()


def written(value_us: float, quantity: str, units: str) -> float:
    """The number as a document says it."""
    return round(QUANTITIES[quantity].from_us(value_us, units), _DIGITS[quantity]) + 0.0


def tidy(value_us: float, quantity: str, units: str) -> float:
    """The value that comes back when it is written into a document and read again."""
    return QUANTITIES[quantity].to_us(written(value_us, quantity, units), units)


def read(value: Any, quantity: str, units: str) -> float:
    """A value of an accepted document, number or text with a unit, in the engine's unit."""
    faults = Faults()
    found = read_number(value, "", quantity, _ANY, units, faults)
    if found is None:
        raise ValueError(f"{value!r} is no {quantity}")
    return found


def changed(holder: Document, key: str, quantity: str, units: str, new: Callable[[float], float]) -> None:
    """Replace a given value by `new` of it; a key the document is silent on stays silent."""
    if key in holder:
        holder[key] = written(new(read(holder[key], quantity, units)), quantity, units)


@dataclass(frozen=True)
class RodSet:
    """Rods alike but for their place. Thread, grade and the rest as a document says them (`like`: keys of a rod)."""

    like: Mapping[str, Any]  # thread, grade, sleeve, anchor, pocket … without mark, across, profile and force
    across_in: tuple[float, ...]
    profile_in: tuple[tuple[float, float], ...]
    jacking_lbf: float
    restress_days: tuple[float, ...]


def with_rods(document: Document, rods: RodSet, stressing: Mapping[str, Any]) -> Document:
    """The document with these rods and no others. `stressing`: what it says where the document says nothing."""
    found = copy.deepcopy(document)
    units = found["units"]
    marks = [f"R{k + 1}" for k in range(len(rods.across_in))]
    first = {
        "mark": marks[0],
        **copy.deepcopy(dict(rods.like)),
        "across": written(rods.across_in[0], "length", units),
        "profile": [[written(x, "length", units), written(y, "length", units)] for x, y in rods.profile_in],
        "jacking_force": written(rods.jacking_lbf, "force", units),
    }
    others = [
        {"mark": mark, "like": marks[0], "across": written(z, "length", units)}
        for mark, z in zip(marks[1:], rods.across_in[1:], strict=True)
    ]
    found["rods"] = [first, *others]
    given = {**stressing, **found.get("stressing", {})}
    given["order"] = [marks[k] for k in from_the_middle(rods.across_in)]
    given["restress"] = list(rods.restress_days)
    found["stressing"] = given
    return found


def from_the_middle(across_in: Sequence[float]) -> list[int]:
    """Rods in an order that keeps the piece straight: the middle one first, then by turns in front and behind."""
    middle = 0.5 * (min(across_in) + max(across_in))
    return sorted(
        range(len(across_in)), key=lambda k: (round(abs(across_in[k] - middle), 6), across_in[k] - middle > 0, k)
    )


def deeper(document: Document, by_in: float) -> Document:
    """Every zone as much deeper, grown downwards: rods, cores and faces keep their distance from the soffit."""
    found = copy.deepcopy(document)
    units = found["units"]
    for zone in found["zones"]:
        _deepen(zone["shape"], by_in, units)
    return found


def _deepen(shape: Document, by_in: float, units: str) -> None:
    if shape["type"] in ("solid", "cored", "apron"):
        changed(shape, "depth", "length", units, lambda d: d + by_in)
    elif shape["type"] == "rails":
        for rail in shape["rails"]:
            changed(rail, "height", "length", units, lambda h: h + by_in)
    else:
        rings = [shape["outer"], *shape.get("holes", [])]
        top = max(read(point[1], "length", units) for ring in rings for point in ring)
        for point in shape["outer"]:
            level = read(point[1], "length", units)
            if abs(level - top) < 1e-6:
                point[1] = written(level + by_in, "length", units)


def stronger(document: Document, factor: float) -> Document:
    """Concrete of this many times the strength; what grows with its root (bending strengths, moduli) grows so."""
    found = copy.deepcopy(document)
    concrete, units = found["concrete"], found["units"]
    for key in ("strength", "strength_at_stressing"):
        changed(concrete, key, "stress", units, lambda s: s * factor)
    for key in (
        "modulus", "modulus_at_stressing", "flexural_yield", "flexural_ultimate", "flexural_yield_at_stressing",
    ):  # fmt: skip
        changed(concrete, key, "stress" if "flexural" in key else "modulus", units, lambda s: s * factor**0.5)
    return found


def supports_in(document: Document, by_in: float) -> Document:
    """The outer supports moved towards the middle of the piece; a minus moves them out."""
    found = copy.deepcopy(document)
    units = found["units"]
    places = sorted(found["supports"], key=lambda support: read(support["at"], "length", units))
    changed(places[0], "at", "length", units, lambda x: x + by_in)
    changed(places[-1], "at", "length", units, lambda x: x - by_in)
    return found
