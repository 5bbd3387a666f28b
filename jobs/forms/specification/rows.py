"""The form's own buttons: add a row, copy it, take it away, move it up; put in or take out an object.
Text in, text out.
"""

from __future__ import annotations

import copy
import re
from typing import Any

from jobs.forms.specification.layout import SPECIFICATION
from jobs.forms.specification.nodes import Either, Node, Part, Rows
from jobs.forms.specification.tree import KEPT, STEP, Tree

WISH = re.compile(r"(add|copy|remove|up|own|standard) ([a-z_]+(?:\.[a-z_]+|\[\d{1,4}\]){0,8})")


def rework(tree: dict[str, Tree], wish: str) -> dict[str, Tree]:
    """The tree after one button. A wish that makes no sense (a row that is gone) changes nothing."""
    asked = WISH.fullmatch(wish)
    if not asked:
        return tree
    tree = copy.deepcopy(tree)
    steps = [int(step) if step.isdigit() else step for step in STEP.findall(asked[2])]
    try:
        holder, node = _find(tree, steps)
        _do(asked[1], holder, steps[-1], node)
    except (LookupError, TypeError):  # a row or a place that is not there
        return tree
    return tree


def _find(tree: Tree, steps: list[Any]) -> tuple[Any, Node]:
    """What holds the last step, and the layout of what that step names. Objects on the way are made where missing."""
    node: Node = SPECIFICATION
    holder = tree
    for number, step in enumerate(steps):
        if isinstance(node, Either):
            node = node.part
        if isinstance(node, Rows):
            node, place = node.item, holder[step]
        elif isinstance(node, Part):
            places = {place.key: place for place in node.of_type(holder.get("type", ""))}
            node = places[step]
            empty: Any = [] if isinstance(node, Rows) else {}
            place = holder.get(step, empty)
            if number < len(steps) - 1 and step not in holder:
                holder[step] = place
        else:
            raise LookupError(step)
        if number < len(steps) - 1:
            holder = place
    return holder, node


def _do(wish: str, holder: Any, step: Any, node: Node) -> None:
    if wish == "add" and isinstance(node, Rows):
        rows = holder.setdefault(step, [])
        if len(rows) < node.most:
            rows.append(_blank(node, rows))
    elif wish == "add" and isinstance(node, Part) and node.optional:
        holder[step] = {}
        holder[KEPT] = " ".join([*holder.get(KEPT, "").split(), step])
    elif wish == "remove" and isinstance(holder, list):
        del holder[step]
    elif wish == "remove" and isinstance(node, Part) and node.optional:
        holder.pop(step, None)
        holder[KEPT] = " ".join(key for key in holder.get(KEPT, "").split() if key != step)
    elif wish == "copy" and isinstance(holder, list):
        holder.insert(step + 1, copy.deepcopy(holder[step]))
    elif wish == "up" and isinstance(holder, list) and step > 0:
        holder[step - 1], holder[step] = holder[step], holder[step - 1]
    elif wish == "own" and isinstance(node, Either) and not isinstance(holder.get(step), dict):
        holder[step] = {"name": holder.get(step, "")}
    elif wish == "standard" and isinstance(node, Either) and isinstance(holder.get(step), dict):
        holder[step] = holder[step].get("name", "")


def _blank(node: Rows, rows: list[Tree]) -> Tree:
    """A new row. A zone takes over the shape before it, a rod is like the first one: as a person would write."""
    if node.key == "zones" and rows:
        return {**copy.deepcopy(rows[-1]), "to": ""}
    if node.key == "rods":
        return (
            {"mark": "", "like": rows[0].get("mark", "")} if rows else {"mark": "R1", "profile": [["", ""], ["", ""]]}
        )
    if isinstance(node.item, Part):
        return {}
    return ["", ""] if node.key == "profile" else ""
