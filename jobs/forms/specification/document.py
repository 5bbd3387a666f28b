"""Text in fields → specification document, and back.

Nothing is judged here: what a field holds goes into the document as it was typed (a plain number as a number,
anything else as text), and the engine's contract accepts or refuses it with the path of the field.
"""

from __future__ import annotations

import json
import re
from typing import Any

from jobs.forms.specification.layout import FORMAT, SPECIFICATION
from jobs.forms.specification.nodes import Cell, Either, Node, Pair, Part, Rows
from jobs.forms.specification.tree import KEPT, Tree, read_fields

NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,4})?", re.ASCII)
WHOLE = re.compile(r"[+-]?\d{1,300}", re.ASCII)
MOST_FIELDS = 4000  # below the site's own limit for one form


class Absent:
    """The key is not in the document."""


ABSENT = Absent()


def document_of(tree: Tree) -> dict[str, Any]:
    made = _value(tree, SPECIFICATION)
    return {"format": FORMAT, **(made if isinstance(made, dict) else {})}


def _value(tree: Tree, node: Node) -> Any:
    if isinstance(node, Cell):
        return _cell_value(tree, node) if isinstance(tree, str) else ABSENT
    if isinstance(node, Either):
        return _value(tree, node.part if isinstance(tree, dict) else node.cell)
    if isinstance(node, Pair):
        return ["" if value is ABSENT else value for value in map(_value, tree, node.cells)]
    if isinstance(node, Rows):
        items = [_value(item, node.item) for item in tree or []]
        return ["" if item is ABSENT else item for item in items] or ABSENT
    return _object(tree or {}, node)


def _object(tree: dict[str, Tree], node: Part) -> Any:
    """The object with the keys that hold something; ABSENT without any, unless it is an item or was asked for."""
    kept = tree.get(KEPT, "").split()
    made: dict[str, Any] = {}
    for place in node.of_type(tree.get("type", "")):
        value = _value(tree.get(place.key), place)
        if value is ABSENT and place.key in kept:
            value = _nothing(place)
        if value is not ABSENT:
            made[place.key] = value
    return made if made or not node.key else ABSENT


def _nothing(node: Node) -> Any:
    if isinstance(node, Cell):
        return [] if node.kind in ("list", "words", "points") else ""
    return [] if isinstance(node, Rows) else {}


def _cell_value(text: str, cell: Cell) -> Any:
    if cell.kind == "text":
        return text or ABSENT
    text = text.strip()
    if not text:
        return ABSENT
    if cell.kind == "flag":
        return {"true": True, "false": False}.get(text, text)
    if cell.kind == "list":
        return [quantity(item) for item in _items(text)]
    if cell.kind == "words":
        return _items(text)
    if cell.kind == "points":
        return [[quantity(item) for item in _items(line)] for line in text.splitlines() if line.strip()]
    return quantity(text) if cell.kind == "quantity" else text


def _items(text: str) -> list[str]:
    return [item.strip() for item in re.split(r"[,;]", text)]


def quantity(text: str) -> int | float | str:
    """A plain number as a number; everything else, units and fractions, as the text it is."""
    if WHOLE.fullmatch(text):
        return int(text)
    return float(text) if NUMBER.fullmatch(text) and len(text) < 400 else text


def tree_of(document: dict[str, Any]) -> dict[str, Tree]:
    """The fields that show `document`. What the form has no place for is left out: see `fits_the_form`."""
    tree = _text(document, SPECIFICATION)
    return tree if isinstance(tree, dict) else {}


def _text(value: Any, node: Node) -> Tree:
    if isinstance(node, Cell):
        return _cell_text(value, node)
    if isinstance(node, Either):
        return _text(value, node.part if isinstance(value, dict) else node.cell)
    if isinstance(node, Pair):
        return (
            [_cell_text(item, cell) for item, cell in zip(value, node.cells, strict=False)]
            if isinstance(value, list)
            else ["", ""]
        )
    if isinstance(node, Rows):
        return [_text(item, node.item) for item in value] if isinstance(value, list) else []
    if not isinstance(value, dict):
        return {}
    tree = {
        place.key: _text(value[place.key], place)
        for place in node.of_type(str(value.get("type", "")))
        if place.key in value
    }
    kept = [key for key in tree if value[key] in ("", [], {}) and not isinstance(value[key], bool | int | float)]
    if kept:
        tree[KEPT] = " ".join(kept)
    return tree


def _cell_text(value: Any, cell: Cell) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if cell.kind == "points" and isinstance(value, list):
        return "\n".join(
            ", ".join(map(_number_text, point)) if isinstance(point, list) else str(point) for point in value
        )
    if cell.kind in ("list", "words") and isinstance(value, list):
        return ", ".join(map(_number_text, value))
    return _number_text(value)


def _number_text(value: Any) -> str:
    return value if isinstance(value, str) else repr(value)


def fits_the_form(document: dict[str, Any]) -> bool:
    """True if the form gives back this very document, key for key and type for type, and stays under the
    field limit.
    """
    try:
        tree = tree_of(document)
        names = list(field_pairs(tree))
        again = document_of(read_fields((name, text.replace("\r\n", "\n")) for name, text in names))
    except Exception:  # not a document of this format at all; the contract says so in words
        return False
    return len(names) <= MOST_FIELDS and _plain(again) == _plain(document)


def _plain(value: Any) -> str:
    return json.dumps(_numbers(value), sort_keys=True)


def _numbers(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _numbers(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_numbers(item) for item in value]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def field_pairs(tree: Tree, path: str = "") -> Any:
    """Name and text of every field, in order."""
    if isinstance(tree, str):
        yield path, tree
    elif isinstance(tree, list):
        for number, item in enumerate(tree):
            yield from field_pairs(item, f"{path}[{number}]")
    else:
        for key, item in tree.items():
            yield from field_pairs(item, f"{path}.{key}" if path else key)
