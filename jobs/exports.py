"""Lists as CSV and XLSX. What the cells hold is data here; how a file of either kind is written stands below.

Text that a spreadsheet would take for a formula gets an apostrophe in CSV; in XLSX text is text.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from xml.sax.saxutils import escape

from django.db.models import QuerySet
from django.utils import timezone

from jobs.models import NonConformance, Piece, Pour, StockLot, StrengthTest, StressingReading, Wrench
from jobs.queries import order_list

Cell = str | float | int | None
MOST_ROWS = 100_000
FORMULA = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True)
class ExportList:
    title: str
    head: tuple[str, ...]
    rows: Callable[[], QuerySet[Any]]
    cells: Callable[[Any], tuple[Any, ...]]


LISTS: dict[str, ExportList] = {
    "orders": ExportList(
        "Orders",
        ("number", "client", "site", "due", "designs", "pieces", "installed"),
        lambda: order_list(),
        lambda row: (
            row.number,
            row.client,
            row.site,
            row.due_date,
            row.design_count,
            row.piece_count,
            row.installed_count,
        ),
    ),
    "pieces": ExportList(
        "Pieces",
        ("piece", "order", "client", "due", "stage", "since", "revision", "batch", "pour planned"),
        lambda: Piece.objects.select_related("design__order", "revision", "pour").order_by("design", "serial"),
        lambda row: (
            str(row),
            row.design.order.number,
            row.design.order.client,
            row.design.order.due_date,
            row.stage,
            row.stage_since,
            row.revision.letter if row.revision else "",
            row.pour.batch if row.pour else "",
            row.pour_planned,
        ),
    ),
    "non-conformances": ExportList(
        "Non-conformances",
        ("number", "piece", "found", "by", "what", "where", "decision", "reason", "repaired"),
        lambda: NonConformance.objects.select_related("piece__design", "by").order_by("pk"),
        lambda row: (
            row.pk,
            str(row.piece),
            row.at,
            row.by.display_name,
            row.what,
            row.place,
            row.decision,
            row.decision_note,
            row.repaired_at,
        ),
    ),
    "pours": ExportList(
        "Pours",
        ("batch", "mix", "poured", "by", "slump in", "unit weight lb/ft3", "mix F", "air F"),
        lambda: Pour.objects.select_related("mix", "by").order_by("at", "pk"),
        lambda row: (
            row.batch,
            str(row.mix or ""),
            row.at,
            row.by.display_name,
            row.slump_in,
            row.unit_weight_pcf,
            row.mix_temperature_f,
            row.air_temperature_f,
        ),
    ),
    "strength-tests": ExportList(
        "Strength tests",
        ("batch", "broken", "kind", "factor", "specimens", "mean as cylinders psi"),
        lambda: StrengthTest.objects.select_related("pour").order_by("at", "pk"),
        lambda row: (row.pour.batch, row.at, row.kind, row.factor, len(row.specimens_psi), row.mean_psi),
    ),
    "readings": ExportList(
        "Stressing readings",
        (
            "piece",
            "rod",
            "step",
            "read",
            "by",
            "torque lbf ft",
            "stretch in",
            "crown in",
            "lift-off lbf",
            "in tolerance",
        ),
        lambda: StressingReading.objects.select_related("stressing__piece__design", "by").order_by("recorded_at", "pk"),
        lambda row: (
            str(row.stressing.piece),
            row.rod,
            row.step + 1,
            row.at,
            row.by.display_name,
            row.torque_lbf_ft,
            row.elongation_in,
            row.crown_in,
            row.lift_off_lbf,
            "in" if row.within_tolerance else "out",
        ),
    ),
    "lots": ExportList(
        "Lots",
        ("kind", "lot", "description", "supplier", "certificate", "received", "valid until"),
        lambda: StockLot.objects.order_by("kind", "lot"),
        lambda row: (
            row.kind,
            row.lot,
            row.description,
            row.supplier,
            row.certificate,
            row.received_on,
            row.valid_until,
        ),
    ),
    "wrenches": ExportList(
        "Wrenches",
        ("wrench", "certificate", "calibrated until", "in use"),
        lambda: Wrench.objects.order_by("name"),
        lambda row: (row.name, row.certificate, row.calibrated_until, "yes" if row.active else "no"),
    ),
}


def cells_of(name: str) -> Iterable[tuple[Cell, ...]]:
    """The heading, then each row with its days and times as ISO text by the shop's clock."""
    found = LISTS[name]
    yield found.head
    for row in found.rows()[:MOST_ROWS].iterator(chunk_size=1_000):
        yield tuple(_cell(value) for value in found.cells(row))


def _cell(value: Any) -> Cell:
    if value is None or isinstance(value, str | int | float):
        return value
    return timezone.localtime(value).isoformat(timespec="minutes") if isinstance(value, datetime) else value.isoformat()


def no_formula(cell: Cell) -> Cell:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA) else cell


def as_csv(rows: Iterable[tuple[Cell, ...]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out)
    for row in rows:
        writer.writerow([no_formula(cell) for cell in row])
    return b"\xef\xbb\xbf" + out.getvalue().encode()


def as_xlsx(rows: Iterable[tuple[Cell, ...]], title: str) -> bytes:
    """One sheet, ECMA-376: text inline, numbers as numbers."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    kinds = "http://schemas.openxmlformats.org/package/2006/content-types"
    links = "http://schemas.openxmlformats.org/package/2006/relationships"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    sheet = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    body = "".join(f"<row>{''.join(_xml(cell) for cell in row)}</row>" for row in rows)
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{kinds}"><Default Extension="rels" ContentType="application/vnd.'
        'openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{sheet}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{sheet}.worksheet+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{links}"><Relationship Id="r1" Type="{office}/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{office}"><sheets><sheet name="{escape(title)}" '
        'sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{links}"><Relationship Id="r1" '
        f'Type="{office}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData>{body}</sheetData></worksheet>',
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in parts.items():
            packed.writestr(name, f'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>{text}')
    return out.getvalue()


def _xml(cell: Cell) -> str:
    if cell is None or cell == "":
        return "<c/>"
    if isinstance(cell, int | float):
        return f"<c><v>{cell!r}</v></c>"
    clean = "".join(sign for sign in cell if sign in "\t\n" or sign >= " ")
    return f'<c t="inlineStr"><is><t xml:space="preserve">{escape(clean)}</t></is></c>'
