"""Lots and trace, piece lists, copies, exports, and what the records teach."""

from __future__ import annotations

import csv
import io
import itertools
import zipfile
from typing import Any
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse

from jobs import exports, learning
from jobs.actions import copying, stock
from jobs.errors import BadEntry, NotAllowed, Taken
from jobs.models import Design, Event, Order, Piece, Role, Stage, StockLot, StressingReading
from jobs.piece_list import ListRefused
from tests.factories import make_design, make_order, person, piece_at
from tests.page_reading import as_read

pytestmark = pytest.mark.django_db
_numbers = itertools.count(1)


def make_lot(**fields: Any) -> StockLot:
    given = {"kind": "rod", "lot": f"H-{next(_numbers)}", "description": "1/2-13 UNC A193 B7", "certificate": "C-1"}
    return stock.save_lot(by=person(), **{**given, **fields})


def test_a_piece_traces_to_its_lots_and_back() -> None:
    piece, lot = piece_at(Stage.FORMED), make_lot()
    used = stock.use_lot(piece, by=person(Role.CREW), lot=lot, rods=["R2"])
    assert (used.rods, list(lot.uses.values_list("piece", flat=True))) == (["R2"], [piece.pk])
    assert Event.objects.filter(verb="lot-used", piece=piece).count() == 1


def test_a_lot_is_in_the_book_once_and_a_load_cell_goes_into_no_piece() -> None:
    lot = make_lot()
    with pytest.raises(Taken, match="already"):
        make_lot(lot=lot.lot)
    with pytest.raises(BadEntry, match="not one that goes into a piece"):
        stock.use_lot(piece_at(Stage.FORMED), by=person(Role.CREW), lot=make_lot(kind="load-cell"))


# ---- piece list ------------------------------------------------------------------------------------------------------


def test_a_list_adds_pieces_and_draws_new_marks() -> None:
    design = make_design()
    text = "mark,pieces,like,title\nC-104,2,,\nC-105,3,C-104,North wall\n"
    assert copying.take_list(design.order, by=person(), text=text) == 5
    assert design.pieces.count() == 3
    made = Design.objects.get(mark="C-105")
    assert (made.title, made.pieces.count(), made.revisions.get().specification.mark) == ("North wall", 3, "C-105")


def test_every_fault_is_named_by_its_row_and_nothing_is_taken() -> None:
    design = make_design()
    rows = ("C-105,0,C-104", "C 106,1,C-104", "C-107,1,nowhere", "C-108,1,", "C-104,1,C-104", "C-9,1,C-104")
    text = "\n".join(("mark,pieces,like", *rows, rows[-1]))
    with pytest.raises(ListRefused) as refused:
        copying.take_list(design.order, by=person(), text=text)
    assert [row for row, _ in refused.value.faults] == [2, 3, 4, 5, 6, 8]
    assert Design.objects.count() == 1
    assert Piece.objects.count() == 1


def test_a_heading_that_lacks_a_column() -> None:
    with pytest.raises(ListRefused) as refused:
        copying.take_list(make_order(), by=person(), text="name,pieces\nx,1")
    assert refused.value.faults[0][1].startswith("the heading has no column mark")


def test_the_list_page_shows_the_faults_by_row() -> None:
    design, client = make_design(), Client()
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    file = io.BytesIO(b"mark,pieces,like\nC-105,many,C-104\n")
    file.name = "list.csv"
    answer = client.post(reverse("list_import", args=[design.order_id]), {"file": file})
    assert answer.status_code == 422
    assert "pieces “many” should be a whole number" in as_read(answer)


# ---- copies ----------------------------------------------------------------------------------------------------------


def test_a_copied_order_has_the_newest_drawings_and_as_many_pieces() -> None:
    design = make_design(pieces=3)
    made = copying.copy_order(design.order, by=person(), number="O-COPY")
    copied = made.designs.get()
    assert (copied.mark, copied.pieces.count()) == (design.mark, 3)
    assert {piece.stage for piece in copied.pieces.all()} == {Stage.ORDERED}


def test_a_copy_that_cannot_be_leaves_nothing_behind() -> None:
    design = make_design()
    with pytest.raises(Taken):
        copying.copy_order(design.order, by=person(), number=design.order.number)
    with pytest.raises(NotAllowed):
        copying.copy_order(design.order, by=person(Role.CREW), number="O-X")
    assert Order.objects.count() == 1


# ---- exports ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(exports.LISTS))
def test_every_list_comes_as_csv_and_as_xlsx_with_the_same_cells(name: str) -> None:
    piece_at(Stage.STRESSED)
    make_lot()
    rows = list(exports.cells_of(name))
    read = list(csv.reader(io.StringIO(exports.as_csv(rows).decode("utf-8-sig"))))
    assert len(read) == len(rows)
    assert all(len(row) == len(rows[0]) for row in rows)
    with zipfile.ZipFile(io.BytesIO(exports.as_xlsx(rows, "List"))) as packed:
        sheet = ElementTree.fromstring(packed.read("xl/worksheets/sheet1.xml"))
        assert len([ElementTree.fromstring(packed.read(part)) for part in packed.namelist()]) == 5
    assert len(sheet.findall(".//{*}row")) == len(rows)
    assert [text.text for text in sheet.find(".//{*}row").findall(".//{*}t")] == list(rows[0])


def test_what_a_spreadsheet_takes_for_a_formula_is_defused() -> None:
    read = exports.as_csv([("=HYPERLINK(1)", "@x", "-5", -5, "plain")]).decode("utf-8-sig").strip()
    assert next(csv.reader([read])) == ["'=HYPERLINK(1)", "'@x", "'-5", "-5", "plain"]


def test_an_unknown_list_is_not_there() -> None:
    client = Client()
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("export", args=["people", "csv"])).status_code == 404
    assert client.get(reverse("export", args=["orders", "csv"]))["Content-Type"].startswith("text/csv")


# ---- learning --------------------------------------------------------------------------------------------------------


def test_nut_factor_and_modulus_on_target_are_what_was_assumed() -> None:
    """Factories read every rod exactly on target: K = 0.20, E = 2,000,000 psi, no spread."""
    piece_at(Stage.STRESSED)
    (factor,) = learning.nut_factors()
    assert (factor.found.mean, factor.found.variation, factor.found.number) == pytest.approx((0.20, 0, 2), abs=1e-9)
    (modulus,) = learning.moduli()
    assert modulus.found.mean == pytest.approx(2_000_000)


def test_less_stretch_than_torque_says_teaches_a_higher_nut_factor() -> None:
    """Stretch 5 % short at the same torque: K = 0.20/0.95; crown 0.08 for 0.10: E = 2.5 million psi."""
    piece_at(Stage.STRESSED)
    StressingReading.objects.update(elongation_in=0.25 * 0.95, crown_in=0.08)
    assert learning.nut_factors()[0].found.mean == pytest.approx(0.20 / 0.95)
    assert learning.moduli()[0].found.mean == pytest.approx(2_500_000)
