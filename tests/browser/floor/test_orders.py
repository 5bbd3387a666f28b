"""Orders in the office: a piece list in, lists out, copies, put away, found again, and files by whoever has them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pyogrio
import pytest
from playwright.sync_api import Page, expect

from jobs.models import Attachment, Design, Order, Piece, Role, Stage
from tests.browser.floor.doing import look_for, nothing_called, refuse, refused, row_of, shot, shut, unfold, write
from tests.factories import make_design, make_mix, make_order, make_wrench, person, piece_at
from tests.production.test_quality import raised
from tests.production.test_stock import make_lot

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def choose(page: Page, name: str, text: str) -> None:
    kind = "text/csv" if name.endswith(".csv") else "text/plain"
    page.locator("#id_file").set_input_files({"name": name, "mimeType": kind, "buffer": text.encode()})


def test_a_piece_list_is_taken_whole_or_every_fault_is_named_by_its_row(at_work: Callable[..., Page]) -> None:
    design = make_design()
    order = f"/orders/{design.order_id}/"
    manager = at_work("manager")
    manager.goto(order)
    manager.get_by_role("link", name="Take in a piece list").click()
    choose(manager, "list.csv", "mark,pieces,like\nC-105,many,C-104\nC-106,2,C-104\nC-107,1,C-999\n")
    refuse(manager, "Take it in", "2 faults in the list")
    expect(row_of(manager, "pieces “many” should be a whole number")).to_contain_text("2")
    expect(row_of(manager, "no design “C-999”")).to_contain_text("4")
    assert (Design.objects.count(), Piece.objects.count()) == (1, 1)
    shot(manager, "piece-list-faults")
    choose(manager, "list.csv", "mark,pieces,like,title\nC-105,3,C-104,North wall\nC-104,2,,\n")
    write(manager, "Take it in", "5 pieces are taken in.")
    expect(row_of(manager, "North wall").get_by_role("link")).to_have_count(4)  # the design and its three pieces
    assert Piece.objects.count() == 6
    for role in ("crew", "engineer"):
        page = at_work(role)
        page.goto(order)
        nothing_called(page, "Take in a piece list", "Change", "Share")
        shut(page, f"{order}list/")
        refused(page, f"{order}list/")


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_whoever_may_look_takes_the_lists_away(kind: str, at_work: Callable[..., Page], tmp_path: Path) -> None:
    """Read by another program: the one of GDAL for the workbook, the standard library's for the text."""
    piece = piece_at(Stage.FORMED)
    page = at_work("viewer" if kind == "csv" else "crew")
    page.goto("/orders/")
    page.get_by_role("link", name="Lists to take away").click()
    with page.expect_download() as coming:
        row_of(page, "Pieces").get_by_role("link", name=kind.upper()).click()
    file = tmp_path / coming.value.suggested_filename
    coming.value.save_as(file)
    assert file.name.startswith("pieces-")
    if kind == "csv":
        (read,) = csv.DictReader(io.StringIO(file.read_bytes().decode("utf-8-sig")))
    else:
        about, _, _, columns = pyogrio.raw.read(file)
        (cells,) = zip(*columns, strict=True)
        read = dict(zip(about["fields"], cells, strict=True))
    assert (read["piece"], read["order"], read["stage"]) == (str(piece), piece.design.order.number, "formed")


def test_an_order_and_a_design_are_copied_by_those_who_may(at_work: Callable[..., Page]) -> None:
    design = make_design(pieces=2)
    manager, engineer = at_work("manager"), at_work("engineer")
    manager.goto(f"/orders/{design.order_id}/")
    manager.get_by_role("link", name="Copy", exact=True).click()
    manager.get_by_label("Number of the new order").fill(design.order.number)
    refuse(manager, "Copy it", "already")
    manager.get_by_label("Number of the new order").fill("O-AGAIN")
    write(manager, "Copy it", "Order O-AGAIN is made.")
    expect(row_of(manager, "C-104")).to_contain_text("ordered")
    assert Order.objects.get(number="O-AGAIN").designs.get().pieces.count() == 2

    engineer.goto(f"/designs/{design.pk}/")
    engineer.get_by_role("link", name="Copy", exact=True).click()
    engineer.get_by_label("Mark of the new one").fill("C-204")
    write(engineer, "Copy it", "C-204 is drawn from C-104.")
    expect(engineer.get_by_role("heading", level=1)).to_contain_text("C-204")
    engineer.goto(f"/orders/{design.order_id}/")
    nothing_called(engineer, "Copy")
    shut(engineer, f"/orders/{design.order_id}/copy/")
    crew = at_work("crew")
    crew.goto(f"/designs/{design.pk}/")
    nothing_called(crew, "Copy")
    refused(crew, f"/designs/{design.pk}/copy/", mark="C-205", pieces="1")
    assert not Design.objects.filter(mark="C-205").exists()


def test_an_order_that_was_put_away_leaves_the_board_and_is_still_found(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.FORMED)
    order = piece.design.order
    crew, manager = at_work("crew"), at_work("manager")
    crew.goto(f"/orders/{order.pk}/")
    nothing_called(crew, "Put away")
    refused(crew, f"/orders/{order.pk}/put-away/")
    crew.goto("/board/")
    expect(crew.get_by_role("link", name=str(piece)).first).to_be_visible()
    manager.goto(f"/orders/{order.pk}/")
    unfold(manager)
    write(manager, f"Put away order {order.number}", "is put away")
    expect(manager.get_by_role("link", name=order.number, exact=True)).to_have_count(0)
    manager.get_by_label("Show").select_option("archived")
    manager.locator("main").get_by_role("button", name="Look").click()
    expect(manager.get_by_role("link", name=order.number, exact=True)).to_be_visible()
    crew.reload()
    expect(crew.get_by_role("link", name=str(piece))).to_have_count(0)
    look_for(crew, order.number)
    expect(row_of(crew, order.client).first).to_contain_text("put away")


def test_the_one_box_finds_every_kind_and_shows_each_person_what_is_theirs(at_work: Callable[..., Page]) -> None:
    order = make_order(client="Quillfeather Works", number="O-QUILL")
    piece = piece_at(Stage.POURED, make_design(order))
    raised(piece, what="Quill-sized chip at the edge")
    make_lot(lot="QUILL-7")
    make_mix()
    make_wrench(name="Quill wrench")
    person(Role.CREW, first_name="Quill", last_name="Maker")
    manager, crew = at_work("manager"), at_work("crew")
    seen = {}
    for name, page in (("manager", manager), ("crew", crew)):
        page.goto("/board/")
        look_for(page, "quill")
        seen[name] = page.locator("main h2").all_inner_texts()
    floor = ["Orders", "Clients", "Designs", "Pieces", "Lots", "Non-conformances"]
    assert seen["crew"] == floor
    assert seen["manager"] == [*floor, "Wrenches", "People"]
    shot(manager, "search")
    crew.get_by_role("link", name=str(piece)).first.click()
    expect(crew.get_by_role("heading", level=1)).to_contain_text(str(piece))


def test_a_file_hangs_on_its_piece_for_all_and_is_taken_off_by_whoever_kept_it(
    at_work: Callable[..., Page], settings: object, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    piece = piece_at(Stage.FORMED)
    files = f"/pieces/{piece.pk}/files/"
    crew, engineer, viewer = at_work("crew"), at_work("engineer"), at_work("viewer")
    crew.goto(f"/pieces/{piece.pk}/")
    unfold(crew)
    crew.get_by_role("link", name="Files", exact=True).click()
    choose(crew, "program.txt", "\0\1\2 no text at all")
    crew.get_by_label("Note").fill("way in for the lift")
    refuse(crew, "Keep the file", "A file here is a PDF, a picture")
    expect(crew.get_by_label("Note")).to_have_value("way in for the lift")
    assert not Attachment.objects.exists()
    choose(crew, "lift.txt", "The lift is 1.1 m wide.")
    write(crew, "Keep the file", "lift.txt is kept.")
    shot(crew, "files-of-a-piece")

    engineer.goto(f"/orders/{piece.design.order_id}/")
    with engineer.expect_download() as coming:
        engineer.get_by_role("link", name="lift.txt").click()
    assert Path(coming.value.path()).read_text() == "The lift is 1.1 m wide."
    engineer.goto(files)
    nothing_called(engineer, "Take off")
    shut(engineer, f"/files/{Attachment.objects.get().pk}/take-off/")
    viewer.goto(files)
    expect(viewer.get_by_role("link", name="lift.txt")).to_be_visible()
    nothing_called(viewer, "Keep the file", "Take off")
    refused(viewer, files, note="mine")

    crew.get_by_role("link", name="Take off").click()
    crew.get_by_label("Why it is taken off").fill("measured anew")
    write(crew, "Take it off", "It is taken off.")
    viewer.reload()
    expect(viewer.get_by_role("link", name="lift.txt")).to_have_count(0)
    manager = at_work("manager")
    manager.goto(files)
    expect(row_of(manager, "measured anew")).to_contain_text("lift.txt")
