"""From a document to a Piece, or to everything that is wrong with it.

Order: each object is read key by key (`reading`), then what only several of them together can tell is looked at
(`placement`), and only where the values concerned were read. Numbers come out in the engine's US units.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from engineering.core.contract.canonical import canonical_hash
from engineering.core.contract.materials import read_concrete
from engineering.core.contract.piece import Piece, Rod, Stressing
from engineering.core.contract.placement import Course, refuse_misplaced
from engineering.core.contract.reading import Keys
from engineering.core.contract.refusal import Fault, Faults, SpecificationRefused, shown
from engineering.core.contract.rods import read_mark, read_rods
from engineering.core.contract.schedule import (
    DEFAULT_NUT_FACTOR,
    read_criteria,
    read_environment,
    read_handling,
    read_installation,
    read_order,
    read_stressing,
    refuse_out_of_turn,
)
from engineering.core.contract.situation import read_loads, read_supports
from engineering.core.contract.values import NOT_NEGATIVE, SHARE, Range
from engineering.core.contract.zones import read_zones

FORMAT = "piece-specification/1"
_LENGTH = Range(least=1.0)


def parse(document: Any) -> Piece:
    """The piece a document describes. Raises SpecificationRefused with every fault of the document, whatever it is."""
    faults = Faults()
    if not isinstance(document, Mapping):
        raise SpecificationRefused((Fault("", f"{shown(document)} should be an object, a piece specification"),))
    piece = _read(document, faults)
    if faults or piece is None:
        raise SpecificationRefused(faults.as_tuple())
    return piece


def _read(document: Mapping[Any, Any], faults: Faults) -> Piece | None:
    top = Keys(document, "", "us", faults)
    head = _head(top)
    length = top.number("length", "length", within=_LENGTH)
    zones = read_zones(top, length)
    core_density = top.number("core_density", "density", default=2.0, within=NOT_NEGATIVE)
    supports, loads = read_supports(top, length), read_loads(top, length)
    sustained = top.number("sustained_live", default=0.0, within=SHARE)
    stressing, rods, courses = _stressing_and_rods(top)
    concrete = read_concrete(top, stressing)
    installation = read_installation(top, stressing)
    environment, handling = read_environment(top), read_handling(top, length, concrete)
    criteria = read_criteria(top)
    top.close()
    refuse_out_of_turn(top, stressing, installation, handling, criteria)
    refuse_misplaced(top, length, zones, loads, courses)
    if faults:
        return None
    cast = (length, zones, core_density, supports, loads, sustained, concrete, rods)
    later = (stressing, installation, environment, handling, criteria)
    values: tuple[Any, ...] = (*head, *cast, *later, canonical_hash(document), _silent(document))
    return Piece(*values)


def _head(top: Keys) -> tuple[str | None, str | None, str | None, bool]:
    """(mark, title, units, cast face down); from here on `top` reads numbers in the document's units."""
    top.choice("format", (FORMAT,))
    units = top.choice("units", ("us", "si"))
    top.units = units or "us"
    mark, title = read_mark(top), top.text("title", default="")
    cast = top.choice("cast", ("face-up", "face-down"), default="face-up")
    return mark, title, units, cast == "face-down"


def _stressing_and_rods(top: Keys) -> tuple[Stressing | None, tuple[Rod, ...] | None, list[Course]]:
    """Read together: a torque becomes a force by the nut factor, and the order names the rods."""
    keys = top.object("stressing", default=None)
    stressing = read_stressing(keys) if keys else None
    nut_factor = stressing.nut_factor if stressing else None if top.has("stressing") else DEFAULT_NUT_FACTOR
    rods, courses = read_rods(top, nut_factor)
    if top.values.get("rods") and not top.has("stressing"):
        top.fault("stressing", "missing; it should be an object {age, method} where there are rods")
    if keys:
        # the order is held against the marks as given, so that a rod's other faults do not hide it
        order = read_order(keys, _marks(top))
        keys.close()
        stressing = replace(stressing, order=order) if stressing and order is not None else None
    return stressing, rods, courses


def _marks(top: Keys) -> list[str] | None:
    """The rods' marks as given; None where one is missing or comes twice: nothing can be said of their order."""
    rods = top.values.get("rods", [])
    if not isinstance(rods, (list, tuple)):
        return None
    marks = [rod.get("mark") if isinstance(rod, Mapping) else None for rod in rods]
    found = [mark for mark in marks if isinstance(mark, str)]
    return found if len(set(found)) == len(marks) else None


# What the document may be silent on, and a reader of the result should know it was.
_TELLING = (
    "concrete.modulus",
    "concrete.modulus_at_stressing",
    "concrete.flexural_yield_at_stressing",
    "concrete.variation_yield",
    "concrete.variation_ultimate",
    "concrete.residual_tension",
    "concrete.cure_age",
    "stressing.nut_factor",
    "stressing.scatter",
    "environment.humidity",
    "environment.exposure",
    "handling",
    "handling.flexural_yield",
    "criteria.life",
)
_TELLING_PARTS = tuple((path, *path.rpartition(".")[::2]) for path in _TELLING)  # path, object it stands in, key


def _silent(document: Mapping[str, Any]) -> tuple[str, ...]:
    """Paths of `_TELLING` that the accepted document leaves to their default."""
    silent = []
    for path, parent, key in _TELLING_PARTS:
        within = document.get(parent, {}) if parent else document
        if parent in ("handling", "stressing") and parent not in document:
            continue
        if key not in within:
            silent.append(path)
    return tuple(silent)
