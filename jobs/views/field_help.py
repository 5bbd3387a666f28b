"""Help at the point of need: what a field of the editor means; all of them as a page; the trade's words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from jobs.errors import Unknown
from jobs.forms.specification.helps import FieldHelp, field_help, plain_path
from jobs.forms.specification.layout import SPECIFICATION
from jobs.forms.specification.nodes import UNITS, Cell, Either, Node, Pair, Rows
from jobs.forms.specification.paper import CHAPTERS


@dataclass(frozen=True)
class Field:
    """A field as the help names it. `group`: what it belongs to, as Rods · Sleeve."""

    path: str
    group: str
    label: str
    units: str
    empty: str
    help: FieldHelp | None

    @property
    def anchor(self) -> str:
        return "field-" + re.sub(r"[^a-z0-9_]+", "-", self.path).strip("-")

    @property
    def shows(self) -> str:
        return " ".join(self.help.shows) if self.help else ""


def all_fields() -> Iterator[Field]:
    """Every field of the form once, in its order."""
    seen = set[str]()
    for field in _walk(SPECIFICATION, "", ()):
        if field.path not in seen:
            seen.add(field.path)
            yield field


def _walk(node: Node, path: str, group: tuple[str, ...]) -> Iterator[Field]:
    if isinstance(node, Cell):
        units = " or ".join(dict.fromkeys(unit for unit in UNITS[node.dimension] if unit))
        label = node.label if node.key else group[-1]
        yield Field(path, " · ".join(group), label, units, node.empty, field_help(path))
    elif isinstance(node, Either):
        yield from _walk(node.cell, path, group)
        yield from _walk(node.part, path, group)
    elif isinstance(node, Pair):
        for number, cell in enumerate(node.cells):
            units = " or ".join(UNITS[cell.dimension])
            yield Field(f"{path}[{number}]", " · ".join(group), cell.label, units, "", field_help(f"{path}[{number}]"))
    elif isinstance(node, Rows):
        yield from _walk(node.item, path, (*group, node.label))
    else:
        named = node.label and path and node.label not in ("Zone", "Support", "Load", "Rod", "Core", "Rail")
        inner = (*group, node.label) if named else group
        for place in (*node.places, *(place for _, places in node.by_type for place in places)):
            yield from _walk(place, f"{path}.{place.key}" if path else place.key, inner)


@require_safe
def about(request: HttpRequest) -> HttpResponse:
    """The words for one field, as a part of the editor's page; `field`: its name there."""
    path = plain_path(request.GET.get("field", "")[:200])
    field = next((one for one in all_fields() if one.path == path), None)
    if field is None or field.help is None:
        raise Unknown("There is no such field in the form.")
    return render(request, "jobs/editor/_about.html", {"field": field})


def chapters() -> list[tuple[str, list[Field]]]:
    """All fields by chapter of the form."""
    fields = list(all_fields())
    return [(title, [one for one in fields if re.split(r"[.\[]", one.path)[0] in keys]) for title, keys in CHAPTERS]
