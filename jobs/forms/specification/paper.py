"""The form as the template shows it: every field with its text, unit, hint and fault, in chapters."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Protocol

from jobs.forms.specification.layout import SPECIFICATION, SUGGESTIONS
from jobs.forms.specification.nodes import UNITS, Cell, Either, Node, Pair, Part, Rows
from jobs.forms.specification.tree import KEPT, Tree

CHAPTERS = (
    ("The piece", ("mark", "title", "units", "cast", "length", "core_density", "sustained_live")),
    ("Zones", ("zones",)),
    ("Supports", ("supports",)),
    ("Loads", ("loads",)),
    ("Concrete", ("concrete",)),
    ("Rods", ("rods",)),
    ("Stressing", ("stressing",)),
    ("Handling", ("handling",)),
    ("Installation and surroundings", ("installation", "environment")),
    ("Criteria", ("criteria",)),
)


class Fault(Protocol):
    """A fault as the contract gives it."""

    @property
    def path(self) -> str: ...
    @property
    def message(self) -> str: ...


@dataclass
class Entry:
    """One place on the page. kind: cell, part, rows, pair, either; `inside` are the places within."""

    kind: str
    name: str  # the path in the document, and the field's name
    label: str
    node: Node
    text: str = ""
    unit: str = ""
    faults: list[str] = field(default_factory=list)
    inside: list[Entry] = field(default_factory=list)
    kept: str = ""
    present: bool = True
    item: bool = False  # of a list: can be copied, moved, taken away
    level: int = 3
    full: bool = False

    @property
    def id(self) -> str:
        return "f-" + re.sub(r"[^a-z0-9_]+", "-", self.name).strip("-")

    @property
    def cells(self) -> list[Entry]:
        return [entry for entry in self.inside if entry.kind == "cell" and not self.folds(entry)]

    @property
    def blocks(self) -> list[Entry]:
        return [entry for entry in self.inside if entry.kind != "cell" and not self.folds(entry)]

    @property
    def folded_cells(self) -> list[Entry]:
        """What stands empty and means its default: folded away, so that a page shows what was written."""
        return [entry for entry in self.inside if entry.kind == "cell" and self.folds(entry)]

    @property
    def folded_blocks(self) -> list[Entry]:
        return [entry for entry in self.inside if entry.kind != "cell" and self.folds(entry)]

    @property
    def folded_words(self) -> str:
        return ", ".join(entry.label.lower() for entry in (*self.folded_cells, *self.folded_blocks))

    @property
    def is_like(self) -> str:
        """The rod whose keys hold where this one is silent."""
        return next((entry.text for entry in self.inside if entry.name.endswith(".like")), "")

    def folds(self, entry: Entry) -> bool:
        if entry.says_something or entry.name.endswith((".mark", ".across")):
            return False
        if self.is_like:
            return True
        return isinstance(entry.node, Cell) and bool(entry.node.empty)

    @property
    def says_something(self) -> bool:
        """Something is typed here or within, or is wrong here."""
        if self.faults or (self.kind == "part" and isinstance(self.node, Part) and self.node.optional and self.present):
            return True
        return bool(self.text) or any(entry.says_something for entry in self.inside)

    @property
    def heading(self) -> int:
        return min(self.level, 6)

    @property
    def described_by(self) -> str:
        node = self.node
        has_hint = isinstance(node, Cell) and (node.hint or node.empty)
        return " ".join([f"{self.id}-hint"] * bool(has_hint) + [f"{self.id}-fault"] * bool(self.faults))

    @property
    def stray_choice(self) -> bool:
        """The text is none of the choices: shown as it is, so that it can be corrected."""
        return bool(self.text) and isinstance(self.node, Cell) and self.text not in dict(self.node.choices)


@dataclass
class Chapter:
    title: str
    id: str
    entries: list[Entry]
    count: int | None


@dataclass
class Paper:
    chapters: list[Chapter]
    summary: list[tuple[str, str, str]]  # id of the place, path, message
    kept: str
    suggestions: dict[str, tuple[str, ...]]
    units: str


def lay_out(tree: dict[str, Tree], faults: Iterable[Fault] = ()) -> Paper:
    faults = list(faults)
    units = "si" if tree.get("units") == "si" else "us"
    root = _entry(tree, SPECIFICATION, "", units, 1)
    places = dict(_places(root))
    summary = []
    for fault in faults:
        place = _nearest(fault.path, places)
        message = fault.message
        if place is not None:
            place.faults.append(message if place.name == fault.path else f"{fault.path}: {message}")
        summary.append((place.id if place is not None else "", fault.path, message))
    by_key = {entry.name: entry for entry in root.inside}
    chapters = []
    for title, keys in CHAPTERS:
        entries = [by_key[key] for key in keys]
        count = len(entries[0].inside) if entries[0].kind == "rows" else None
        chapters.append(Chapter(title, "chapter-" + keys[0], entries, count))
    return Paper(chapters, summary, str(tree.get(KEPT, "")), SUGGESTIONS, units)


def _entry(tree: Tree, node: Node, name: str, units: str, level: int, label: str = "") -> Entry:
    label = label or node.label
    if isinstance(node, Cell):
        unit = UNITS[node.dimension][units == "si"]
        return Entry("cell", name, label, node, text=tree if isinstance(tree, str) else "", unit=unit)
    if isinstance(node, Either):
        inner = node.part if isinstance(tree, dict) else node.cell
        made = _entry(tree, inner, name, units, level)
        return Entry("either", name, label, node, inside=[made], present=isinstance(tree, dict), level=level)
    if isinstance(node, Pair):
        texts = tree if isinstance(tree, list) else ["", ""]
        inside = [
            _entry(
                texts[i] if i < len(texts) else "",
                cell,
                f"{name}[{i}]",
                units,
                level,
                f"{cell.label} of {label.lower()}",
            )
            for i, cell in enumerate(node.cells)
        ]
        return Entry("pair", name, label, node, inside=inside, level=level)
    if isinstance(node, Rows):
        return _rows_entry(tree or [], node, name, units, level)
    tree = tree if isinstance(tree, dict) else None
    shown = node.of_type((tree or {}).get("type", ""))
    inside = [
        _entry((tree or {}).get(place.key), place, f"{name}.{place.key}" if name else place.key, units, level + 1)
        for place in shown
    ]
    return Entry(
        "part",
        name,
        label,
        node,
        inside=inside,
        kept=(tree or {}).get(KEPT, ""),
        present=tree is not None or not node.optional,
        level=level,
    )


def _rows_entry(tree: list[Tree], node: Rows, name: str, units: str, level: int) -> Entry:
    inside = []
    for number, item in enumerate(tree):
        label = f"{node.one.capitalize()} {number + 1}"
        if node.named_by and isinstance(item, dict) and item.get(node.named_by):
            label += f" · {item[node.named_by]}"
        made = _entry(item, node.item, f"{name}[{number}]", units, level + 1, label)
        made.item = True
        inside.append(made)
    return Entry("rows", name, node.label, node, inside=inside, level=level, full=len(inside) >= node.most)


def _places(entry: Entry) -> Any:
    if entry.name and entry.kind != "either":
        yield entry.name, entry
    for inner in entry.inside:
        yield from _places(inner)


def _nearest(path: str, places: dict[str, Entry]) -> Entry | None:
    """The place of the path, or of the nearest thing around it."""
    while path:
        if path in places:
            return places[path]
        path = re.sub(r"(\.[^.\[]*|\[\d+\]|^[^.\[]*)$", "", path) if re.search(r"(\.[^.\[]*|\[\d+\])$", path) else ""
    return None
