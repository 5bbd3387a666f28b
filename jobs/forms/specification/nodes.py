"""The kinds of place a specification form has. A layout is built of these; nothing here knows one key
of the document.
"""

from __future__ import annotations

from dataclasses import dataclass

UNITS: dict[str, tuple[str, str]] = {  # dimension: what a plain number means in a us and in an si document
    "length": ("in", "mm"),
    "force": ("lbf", "N"),
    "stress": ("psi", "MPa"),
    "torque": ("lbf·ft", "N·m"),
    "density": ("lb/ft³", "kg/m³"),
    "wobble": ("per ft", "per m"),
    "area": ("in²", "mm²"),
    "age": ("days", "days"),
    "life": ("years", "years"),
    "percent": ("%", "%"),
    "load": ("psf, lbf/ft or lbf", "kPa, kN/m or N"),
    "": ("", ""),
}


@dataclass(frozen=True)
class Cell:
    """One field. kind: quantity, text, code, choice, flag, list (of quantities), words, points (one a line)."""

    key: str
    label: str
    kind: str = "quantity"
    dimension: str = ""
    hint: str = ""
    empty: str = ""  # what an empty field means
    choices: tuple[tuple[str, str], ...] = ()
    wide: str = ""  # long, whole
    suggestions: str = ""  # name of a list of suggestions on the page
    redraws: bool = False  # other fields depend on it


@dataclass(frozen=True)
class Part:
    """An object with keys. `optional`: put in and out by a button. `by_type`: more places, by its `type`."""

    key: str
    label: str
    places: tuple[Node, ...]
    optional: bool = False
    hint: str = ""
    by_type: tuple[tuple[str, tuple[Node, ...]], ...] = ()

    def of_type(self, chosen: str) -> tuple[Node, ...]:
        return self.places + dict(self.by_type).get(chosen, ())


@dataclass(frozen=True)
class Pair:
    """Two quantities in a row, as a point."""

    key: str
    label: str
    cells: tuple[Cell, Cell]


@dataclass(frozen=True)
class Rows:
    """A list; each item is one `item`."""

    key: str
    label: str
    one: str
    item: Part | Pair | Cell
    most: int
    hint: str = ""
    named_by: str = ""  # the key whose value names an item in its heading


@dataclass(frozen=True)
class Either:
    """A single field, or an object of its own instead."""

    key: str
    label: str
    cell: Cell
    part: Part


Node = Cell | Part | Pair | Rows | Either
