"""Two revisions, or two studies of one kind, side by side: what was entered otherwise, and what moves because of it.

Everything is read from stored documents and results; nothing is calculated but differences.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from engineering.core.contract.refusal import Faults
from engineering.core.contract.units import QUANTITIES
from engineering.core.contract.values import Range, read_number
from engineering.models import Study
from engineering.queries import latest_run
from jobs.forms.specification.layout import SPECIFICATION
from jobs.forms.specification.nodes import Cell, Either, Node, Pair, Part, Rows
from jobs.models import Revision

WORSE = {"pass": 0, "not applicable": 0, "caution": 1, "review": 2, "fail": 3}
LOADS = {"area": "area load", "line": "line load", "point": "force"}  # what a load's value is, by its type
HAIR = 1e-6  # a ratio or figure that moves by less than this share of itself stands still
Document = Mapping[str, Any]
Value = float | str | None  # a figure is a number, or a word such as a mode of failure


@dataclass(frozen=True)
class Input:
    """One entry that differs. Empty text where it was left to its default, said in `default`."""

    path: str
    words: str
    left: str
    right: str
    default: str = ""


@dataclass(frozen=True)
class Moved:
    """One figure or one check that moves. `change`: right less left, None where that has no meaning."""

    name: str
    left: Value
    right: Value
    unit: str
    change: float | None
    left_verdict: str = ""
    right_verdict: str = ""

    @property
    def share(self) -> float | None:
        """Change over the left value."""
        base = self.left if isinstance(self.left, int | float) else 0.0
        return self.change / abs(base) if self.change is not None and base else None

    @property
    def worse(self) -> bool:
        return WORSE.get(self.right_verdict, 0) > WORSE.get(self.left_verdict, 0)

    @property
    def better(self) -> bool:
        return WORSE.get(self.right_verdict, 0) < WORSE.get(self.left_verdict, 0)


@dataclass(frozen=True)
class Comparison:
    """left_verdict, right_verdict: of finished checks, empty without. `still`: checks that do not move."""

    inputs: list[Input]
    checks: list[Moved]
    figures: list[Moved]
    still: int
    left_verdict: str = ""
    right_verdict: str = ""
    units_differ: bool = False

    def to_json(self) -> dict[str, Any]:
        return asdict(self)


def of_revisions(left: Revision, right: Revision) -> Comparison:
    """Inputs, checks and figures of two revisions, by their newest finished check runs."""
    before, after = _result(left), _result(right)
    checks, still = _checks(before, after)
    return Comparison(
        inputs_that_differ(left.specification.document, right.specification.document),
        checks,
        _figures(before, after),
        still,
        str(before.get("verdict", "")),
        str(after.get("verdict", "")),
        left.specification.units != right.specification.units,
    )


def _result(row: Revision) -> Document:
    run = latest_run(row.specification)
    return run.result if run and run.result else {}


def inputs_that_differ(left: Document, right: Document) -> list[Input]:
    """Entries that say something else, in the order of the form; rods are matched by mark, loads by what they are.

    The same length written in another way (9 ft, 108 in) is the same entry.
    """
    found = [{leaf.path: leaf for leaf in _leaves(document)} for document in (left, right)]
    paths = list(dict.fromkeys(itertools.chain(*found)))
    rows = []
    for path in paths:
        one, other = (side.get(path) for side in found)
        if one and other and one.same_as(other):
            continue
        leaf = one or other
        assert leaf is not None  # noqa: S101  the path came from one of them
        rows.append(Input(path, leaf.words, one.text if one else "", other.text if other else "", leaf.default))
    return rows


@dataclass(frozen=True)
class _Leaf:
    path: str
    words: str
    value: Any
    units: str
    dimension: str
    default: str

    @property
    def text(self) -> str:
        if isinstance(self.value, bool):
            return "yes" if self.value else "no"
        unit = QUANTITIES[self.dimension].unit(self.units) if self.dimension in QUANTITIES else ""
        if self.dimension == "percent":
            unit = "%"
        if isinstance(self.value, int | float):
            return f"{self.value:,.6g} {unit}".strip()
        if isinstance(self.value, list) and not any(isinstance(item, list | dict) for item in self.value):
            items = (item if isinstance(item, str) else f"{item:,.6g}" for item in self.value)
            return f"{', '.join(items) or 'none'} {unit}".strip()
        return self.value if isinstance(self.value, str) else json.dumps(self.value, ensure_ascii=False)

    def same_as(self, other: _Leaf) -> bool:
        if self.text == other.text:
            return True
        mine, theirs = self._in_us(), other._in_us()
        return mine is not None and theirs is not None and abs(mine - theirs) <= 1e-9 * max(abs(mine), abs(theirs))

    def _in_us(self) -> float | None:
        plain = isinstance(self.value, int | float | str) and not isinstance(self.value, bool)
        if self.dimension not in QUANTITIES or not plain:
            return None
        return read_number(self.value, "", self.dimension, Range(), self.units, Faults())


def _leaves(document: Document) -> Iterator[_Leaf]:
    yield from _walk(dict(document), SPECIFICATION, "", (), str(document.get("units", "us")))


def _walk(value: Any, node: Node | None, path: str, words: tuple[str, ...], units: str) -> Iterator[_Leaf]:
    if isinstance(node, Either):
        node = node.part if isinstance(value, dict) else node.cell
    if isinstance(value, dict):
        inside = _places(node, value)
        order = [*(key for key in inside if key in value), *(key for key in value if key not in inside)]
        for key in order:
            place = inside.get(key)
            label = (place.label if place else "") or key.replace("_", " ")
            if isinstance(place, Cell) and place.dimension == "load":
                place = replace(place, dimension=LOADS.get(str(value.get("type")), ""))
            yield from _walk(value[key], place, f"{path}.{key}" if path else key, (*words, label), units)
    elif isinstance(value, list) and isinstance(node, Rows) and not isinstance(node.item, Cell):
        for key, label, item in _items(value, node):
            yield from _walk(item, node.item, f"{path}[{key}]", (*words[:-1], label), units)
    else:
        cell = node if isinstance(node, Cell) else None
        if isinstance(node, Pair):
            cell = node.cells[0]
        yield _Leaf(path, " · ".join(words), value, units, cell.dimension if cell else "", cell.empty if cell else "")


def _places(node: Node | None, value: Mapping[str, Any]) -> dict[str, Node]:
    if not isinstance(node, Part):
        return {}
    kind = value.get("type", "")
    return {place.key: place for place in node.of_type(kind if isinstance(kind, str) else "")}


def _items(value: Sequence[Any], node: Rows) -> Iterator[tuple[str, str, Any]]:
    """Key, words and item; keyed by its name where every item has one of its own, else by its number."""
    names = [str(item.get(node.named_by, "")) if node.named_by and isinstance(item, dict) else "" for item in value]
    named = all(names) and len(set(names)) == len(names)
    for number, (name, item) in enumerate(zip(names, value, strict=True)):
        words = f"{node.one.capitalize()} {name if named else number + 1}"
        yield name if named else str(number), words, item


def _checks(left: Document, right: Document) -> tuple[list[Moved], int]:
    """Checks that move, those that grow worse first, then by how far; and how many stand still."""
    sides = [{check["name"]: check for check in result.get("checks", [])} for result in (left, right)]
    moved, still = [], 0
    for name in dict.fromkeys(itertools.chain(*sides)):
        one, other = (side.get(name, {}) for side in sides)
        ratios: tuple[Value, Value] = (one.get("ratio"), other.get("ratio"))
        row = Moved(name, *ratios, "", _change(*ratios), one.get("verdict", ""), other.get("verdict", ""))
        if row.left_verdict == row.right_verdict and not _moves(*ratios):
            still += 1
        else:
            moved.append(row)
    moved.sort(key=lambda row: (not row.worse, not row.better, -abs(row.change or 0.0), row.name))
    return moved, still


def _figures(left: Document, right: Document) -> list[Moved]:
    """Figures that move, in report order."""
    sides = [result.get("figures", {}) for result in (left, right)]
    found = []
    for name in dict.fromkeys(itertools.chain(*sides)):
        one, other = (side.get(name, {}) for side in sides)
        values, units = (one.get("value"), other.get("value")), (one.get("unit", ""), other.get("unit", ""))
        alike = not all(units) or units[0] == units[1]
        if _moves(*values) or not alike:
            unit = (units[0] or units[1]) if alike else f"{units[0]}; {units[1]}"
            found.append(Moved(name, *values, unit, _change(*values) if alike else None))
    return found


def _moves(left: Value, right: Value) -> bool:
    if not isinstance(left, int | float) or not isinstance(right, int | float):
        return left != right
    return abs(right - left) > HAIR * max(abs(left), abs(right))


def _change(left: Value, right: Value) -> float | None:
    return right - left if isinstance(left, int | float) and isinstance(right, int | float) else None


def of_studies(left: Study, right: Study) -> Comparison:
    """Two finished studies of one kind: what their specifications and settings say otherwise, and what they answer."""
    before, after = ({"settings": study.settings, **study.specification.document} for study in (left, right))
    return Comparison(
        inputs_that_differ(before, after),
        [],
        _figures({"figures": dict(study_figures(left))}, {"figures": dict(study_figures(right))}),
        0,
        units_differ=left.specification.units != right.specification.units,
    )


def study_figures(study: Study) -> Iterator[tuple[str, dict[str, Any]]]:
    """The leading figures of a study's answer, by name."""
    result = study.result or {}
    unit = result.get("unit", {})
    for name, value, kind in _leading(study.kind, result) if result else ():
        yield name, {"value": value, "unit": unit.get(kind, kind)}


def _leading(kind: str, result: Document) -> Iterator[tuple[str, float | None, str]]:
    if kind == "find-rods":
        yield from ((f"designs that {word}", result[key], "") for word, key in (("pass", "passing"),
                    ("want an engineer", "for_review")))  # fmt: skip
        for wish in result["wishes"]:
            best = wish["designs"][0] if wish["designs"] else {}
            for name, unit in (("steel", "steel"), ("force", "force"), ("margin", ""), ("crown", "crown")):
                yield f"{wish['words']}: {name}", best.get(name), unit
    elif kind == "tolerance":
        yield "chance that a check fails", result["chance_of_fail"], ""
        yield "chance of a review", result["chance_of_review"], ""
        for check in result["checks"]:
            yield f"chance that {check['name']} fails", check["chance_of_fail"], ""
    elif kind == "region":
        yield "present force", result["present"]["force"], "force"
        yield "heights at which some force holds", len(result["region"]), ""
        yield "widest band of force", max((row["to"] - row["from"] for row in result["region"]), default=0.0), "force"
    elif kind == "re-tightening":
        yield "force that service needs", result["need"]["force"], "force"
        yield "visits", len(result["visits"]), ""
        yield "left at the end of life, with the visits", result["left"], "force"
        yield "left at the end of life, without", result["left_without_visits"], "force"
    elif kind == "advice":
        for check in result["checks"]:
            yield f"{check['check']}: ratio", check["ratio"], ""
