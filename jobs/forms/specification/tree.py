"""What stands in the form's fields, as nested text; a field's name is its path in the document
(`rods[1].profile[0][1]`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from jobs.forms.specification.layout import SPECIFICATION
from jobs.forms.specification.nodes import Cell, Either, Node, Pair, Rows

KEPT = "kept__"  # beside an object's fields: names of its keys that stand in the document though they hold nothing
NAME = re.compile(r"[a-z_]+(?:\.[a-z_]+|\[\d{1,4}\]){0,8}")
STEP = re.compile(r"[a-z_]+|\d+")
LONGEST_TEXT = 4000

Tree = Any  # dict[str, Tree] for a Part, list[Tree] for Rows and Pairs, str for a Cell


class TooMuch(Exception):
    """More rows or longer text than the form takes; the message says what to do."""


def read_fields(pairs: Iterable[tuple[str, str]]) -> dict[str, Tree]:
    """The tree of a sent form. Names that are none of the form's are passed over; TooMuch beyond the form's size."""
    raw: dict[str | int, Any] = {}
    for name, text in pairs:
        if not NAME.fullmatch(name):
            continue
        if len(text) > LONGEST_TEXT:
            raise TooMuch(f"The field {name} holds {len(text):,} characters; the form takes {LONGEST_TEXT:,}.")
        _put(raw, [int(step) if step.isdigit() else step for step in STEP.findall(name)], text)
    tree = _shaped(raw, SPECIFICATION)
    return tree if isinstance(tree, dict) else {}


def _put(raw: dict[str | int, Any], steps: list[str | int], text: str) -> None:
    place = raw
    for step in steps[:-1]:
        inner = place.setdefault(step, {})
        if not isinstance(inner, dict):
            inner = place[step] = {}
        place = inner
    if not isinstance(place.get(steps[-1]), dict):
        place[steps[-1]] = text


def _shaped(raw: Any, node: Node) -> Tree:
    """`raw` cut to the shape of the layout; None where nothing of it was sent."""
    if isinstance(node, Cell):
        return raw if isinstance(raw, str) else None
    if isinstance(node, Either):
        return raw if isinstance(raw, str) else _shaped(raw, node.part)
    if not isinstance(raw, dict):
        return None
    if isinstance(node, Pair):
        return [raw.get(i) if isinstance(raw.get(i), str) else "" for i in range(2)]
    if isinstance(node, Rows):
        return _shaped_rows(raw, node)
    chosen = raw.get("type")
    shaped = {
        place.key: _shaped(raw.get(place.key), place)
        for place in (node.of_type(chosen) if isinstance(chosen, str) else node.places)
    }
    tree = {key: value for key, value in shaped.items() if value is not None}
    if isinstance(raw.get(KEPT), str):
        tree[KEPT] = raw[KEPT]
    return tree


def _shaped_rows(raw: dict[str | int, Any], node: Rows) -> list[Tree]:
    numbers = sorted(key for key in raw if isinstance(key, int))
    if len(numbers) > node.most:
        raise TooMuch(
            f"The form takes at most {node.most} {node.label.lower()}, and {len(numbers)} came. Bring in a document "
            f"that large as a file (JSON) instead."
        )
    items = (_shaped(raw[number], node.item) for number in numbers)
    return [item for item in items if item is not None]
