"""Every figure of a result in tables: families with a column for each zone, rod or support, and lists for the rest."""

from collections.abc import Mapping, Sequence
from typing import Any

from reportlab.platypus import CondPageBreak
from reportlab.platypus.flowables import Flowable

from reports.ruled import ruled_table
from reports.sheet import CELL, NUMBER, SMALL, SUBHEAD, para
from reports.words import FAMILIES, SINGLES, name_of, number_text

MOST_COLUMNS = 6
Figures = Mapping[str, Mapping[str, Any]]


def figure_tables(result: Mapping[str, Any], width: float) -> list[Flowable]:
    """Every figure stands here once; the engine's own name of each can be read off its table and row."""
    figures: Figures = result["figures"]
    grouped: dict[str, dict[str, Mapping[str, Any]]] = {}
    for name, figure in figures.items():
        grouped.setdefault(name.split(".")[0], {})[name] = figure
    parts: list[Flowable] = []
    general = {
        name: f
        for head, group in grouped.items()
        if head not in FAMILIES and head not in SINGLES
        for name, f in group.items()
    }
    parts += _list("The whole piece", general, width)
    for head, (title, column) in FAMILIES.items():
        group = grouped.get(head, {})
        parts += _family(title, column, {n: f for n, f in group.items() if n.count(".") >= 2}, width)
        parts += _list(f"{title}, elsewhere", {n: f for n, f in group.items() if n.count(".") < 2}, width)
    for head, title in SINGLES.items():
        parts += _list(title, grouped.get(head, {}), width)
    return parts


def _family(title: str, column: str, figures: Figures, width: float) -> list[Flowable]:
    members = list(dict.fromkeys(name.split(".")[1] for name in figures))
    parts: list[Flowable] = []
    for start in range(0, len(members), MOST_COLUMNS):
        chosen = members[start : start + MOST_COLUMNS]
        kinds = list(dict.fromkeys(name.split(".", 2)[2] for name in figures if name.split(".")[1] in chosen))
        head = ("figure", *(name_of(m) if title.startswith("Stress") else column.format(m) for m in chosen), "unit")
        first = name_prefix(figures)
        rows = [_family_row(first, kind, chosen, figures) for kind in kinds]
        share = (width - 150 - 48) / max(len(chosen), 3)
        table = ruled_table(
            head, rows, [150, *([share] * len(chosen)), 48], numbers=range(1, len(chosen) + 1), padding=1.4
        )
        parts += [CondPageBreak(70), para(title if start == 0 else f"{title}, continued", SUBHEAD), table]
    return parts


def name_prefix(figures: Figures) -> str:
    return next(iter(figures)).split(".")[0]


def _family_row(first: str, kind: str, members: Sequence[str], figures: Figures) -> list[Any]:
    cells, unit = [], ""
    for member in members:
        figure = figures.get(f"{first}.{member}.{kind}")
        cells.append(_value(figure) if figure else para("", CELL))
        unit = unit or str((figure or {}).get("unit") or "")
    return [para(name_of(kind), CELL), *cells, para(unit, CELL)]


def _value(figure: Mapping[str, Any]) -> list[Flowable]:
    parts: list[Flowable] = [para(number_text(figure.get("value")), NUMBER)]
    where = figure.get("at")
    note = f"at {number_text(where)}" if where is not None else str(figure.get("why") or "")
    if note:
        parts.append(para(note, SMALL.clone("small-right", alignment=NUMBER.alignment)))
    return parts


def _list(title: str, figures: Figures, width: float) -> list[Flowable]:
    if not figures:
        return []
    rows = []
    for name, figure in figures.items():
        where = figure.get("at")
        note = str(figure.get("why") or "") or (f"at {number_text(where)}" if where is not None else "")
        rows.append(
            (
                para(name_of(name), CELL),
                para(number_text(figure.get("value")), NUMBER),
                para(figure.get("unit") or "", CELL),
                para(note, CELL),
            )
        )
    table = ruled_table(
        ("figure", "value", "unit", "where, or why there is none"),
        rows,
        (200, 90, 48, width - 338),
        numbers=(1,),
        padding=1.4,
    )
    return [CondPageBreak(60), para(title, SUBHEAD), table]
