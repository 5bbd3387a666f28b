"""A piece list as CSV: read whole, every fault by its row, before anything is written.

Columns `mark, pieces, like, title`: `like` is the design whose drawing is taken (`MARK` of this order or `ORDER/MARK`);
empty where the mark is in this order already and only pieces are added.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

from jobs.errors import ShopError
from jobs.models import Design, Order

COLUMNS = ("mark", "pieces", "like", "title")
MOST_ROWS = 500
MOST_PIECES = 200
MARK = re.compile(r"[A-Za-z0-9_-]{1,40}")


class ListRefused(ShopError):
    """`faults`: (row, words). Nothing of the list was written."""

    code, http_status = "list-refused", 422

    def __init__(self, faults: list[tuple[int, str]]) -> None:
        self.faults = faults
        count = len(faults)
        super().__init__(f"Nothing was taken: {count} {'fault' if count == 1 else 'faults'} in the list.")


@dataclass(frozen=True)
class ListRow:
    """`design`: of this order, to add pieces to; `like`: the design whose drawing a new one takes."""

    mark: str
    pieces: int
    title: str
    design: Design | None
    like: Design | None


def read_list(text: str, order: Order) -> list[ListRow]:
    """The rows, or ListRefused with every fault. A fixed number of queries."""
    delimiter = ";" if text.count(";") > text.count(",") else ","
    lines = list(csv.reader(io.StringIO(text.removeprefix("\ufeff")), delimiter=delimiter))
    head = [cell.strip().lower() for cell in lines[0]] if lines else []
    if missing := [name for name in ("mark", "pieces") if name not in head]:
        raise ListRefused([(1, f"the heading has no column {' and no '.join(missing)}; it is {', '.join(COLUMNS)}")])
    if unknown := [name for name in head if name and name not in COLUMNS]:
        raise ListRefused([(1, f"the heading has a column “{unknown[0]}” that means nothing here")])
    rows = [(number, line) for number, line in enumerate(lines[1:], start=2) if any(cell.strip() for cell in line)]
    if not 1 <= len(rows) <= MOST_ROWS:
        raise ListRefused([(1, f"the list has {len(rows)} rows; 1 to {MOST_ROWS} fit")])
    here = {design.mark: design for design in Design.objects.filter(order=order).select_related("order")}
    everywhere = {f"{design.order.number}/{design.mark}": design for design in Design.objects.select_related("order")}
    faults: list[tuple[int, str]] = []
    found, seen = [], set()
    for number, line in rows:
        cells = dict(zip(head, (cell.strip() for cell in line), strict=False))
        words, row = _row(cells, here, everywhere)
        if row is not None and row.mark in seen:
            words.append(f"the mark {row.mark} is in the list twice")
        if row is not None:
            seen.add(row.mark)
            found.append(row)
        faults += [(number, said) for said in words]
    if faults:
        raise ListRefused(faults)
    return found


def _row(
    cells: dict[str, str], here: dict[str, Design], everywhere: dict[str, Design]
) -> tuple[list[str], ListRow | None]:
    faults = []
    mark, count, like = cells.get("mark", ""), cells.get("pieces", ""), cells.get("like", "")
    if not MARK.fullmatch(mark):
        faults.append(f"the mark “{mark[:60]}” should be letters, digits, - and _")
    if not (count.isascii() and count.isdigit() and 1 <= int(count) <= MOST_PIECES):
        faults.append(f"pieces “{count[:20]}” should be a whole number from 1 to {MOST_PIECES}")
    if len(cells.get("title", "")) > 200:
        faults.append("the title is longer than 200 characters")
    design, source = here.get(mark), here.get(like) or everywhere.get(like)
    if like and design is not None:
        faults.append(f"{mark} is in this order already; leave “like” empty to add pieces to it")
    elif like and source is None:
        faults.append(f"there is no design “{like[:60]}” to take the drawing from")
    elif not like and design is None:
        faults.append(f"{mark or 'it'} is not in this order; say under “like” whose drawing it takes")
    row = ListRow(mark, int(count), cells.get("title", ""), design, source if like else None) if not faults else None
    return faults, row
