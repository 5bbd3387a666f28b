"""Stock and tools: a lot with its certificate into a piece and back, a wrench past its date, and the label sheet."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from jobs.models import Stage, StockLot, Stressing, Wrench
from reports.models import IssuedRecord, RecordKind
from tests.browser.floor.doing import nothing_called, refuse, refused, row_of, shot, shut, unfold, write
from tests.factories import make_wrench, piece_at
from tests.production.test_stock import make_lot

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_manager_writes_in_a_lot_with_its_certificate(at_work: Callable[..., Page]) -> None:
    make_lot(lot="H-4470")
    manager, crew = at_work("manager"), at_work("crew")
    manager.goto("/shop/")
    manager.get_by_role("link", name="Lots and load cells").click()
    manager.get_by_role("link", name="Write in a lot").click()
    manager.get_by_label("Lot or heat number").fill("H-4470")
    manager.get_by_label("Thread and grade, or size").fill("1/2-13 UNC A193 B7")
    manager.get_by_label("Certificate").fill("MTR 90-12")
    refuse(manager, "Save", "already")
    expect(manager.get_by_label("Certificate")).to_have_value("MTR 90-12")
    manager.get_by_label("Lot or heat number").fill("H-4471")
    write(manager, "Save", "is saved.")
    expect(row_of(manager, "H-4471")).to_contain_text("MTR 90-12")
    shot(manager, "lots")
    crew.goto("/shop/lots/")
    expect(row_of(crew, "H-4471")).to_be_visible()
    nothing_called(crew, "Write in a lot", "H-4471")
    shut(crew, "/shop/lots/new/")
    refused(crew, "/shop/lots/new/", lot="H-1", kind="rod", description="x")
    assert StockLot.objects.count() == 2


def test_a_piece_traces_to_its_lot_and_the_lot_to_its_piece(at_work: Callable[..., Page]) -> None:
    lot, piece = make_lot(lot="H-4471", certificate="MTR 90-12"), piece_at(Stage.STRESSED)
    trace = f"/pieces/{piece.pk}/lots/"
    crew, engineer, manager = at_work("crew"), at_work("engineer"), at_work("manager")
    crew.goto(f"/pieces/{piece.pk}/")
    unfold(crew)
    crew.get_by_role("link", name="Lots and trace").click()
    crew.get_by_label("Lot", exact=True).select_option(str(lot.pk))
    crew.get_by_label("R2", exact=True).check()
    write(crew, "Write down the lot", "The lot is written down.")
    shot(crew, "trace")
    engineer.goto(trace)
    expect(row_of(engineer, "H-4471")).to_contain_text("MTR 90-12")
    expect(row_of(engineer, "H-4471")).to_contain_text("R2")
    expect(row_of(engineer, "Batch").first).to_contain_text(piece.pour.batch)
    expect(row_of(engineer, "Stressing, complete")).to_contain_text(Wrench.objects.get().name)
    nothing_called(engineer, "Write down the lot")
    refused(engineer, trace, lot=lot.pk, rods="R1")
    manager.goto(f"/shop/lots/{lot.pk}/")
    row_of(manager, "R2").get_by_role("link", name=str(piece)).click()
    expect(manager.get_by_role("heading", level=1)).to_contain_text(str(piece))


def test_a_wrench_past_its_calibration_closes_the_gate_until_it_is_calibrated(at_work: Callable[..., Page]) -> None:
    piece, old = piece_at(Stage.STRIPPED), make_wrench(name="Wrench 5", days=-3)
    address = f"/pieces/{piece.pk}/stressing/"
    crew, manager = at_work("crew"), at_work("manager")
    crew.goto(address)
    expect(crew.get_by_role("heading", name="Not yet")).to_be_visible()
    expect(crew.locator(".blockers")).to_contain_text("No torque wrench of the shop is within its calibration.")
    expect(crew.locator(".blockers")).to_contain_text("In hand: shop manager")
    make_wrench(name="Wrench 6")
    crew.reload()
    crew.get_by_label("Torque wrench").select_option(str(old.pk))
    crew.get_by_label("Smallest step").fill("0.001")
    refuse(crew, "Begin", "The calibration of Wrench 5 ended on")
    expect(crew.get_by_label("Smallest step")).to_have_value("0.001")
    assert not Stressing.objects.exists()
    shut(crew, f"/shop/wrenches/{old.pk}/")
    refused(crew, f"/shop/wrenches/{old.pk}/", name="Wrench 5", calibrated_until="2099-01-01")
    manager.goto("/shop/")
    expect(row_of(manager, "Wrench 5")).to_contain_text("late")
    manager.get_by_role("link", name="Wrench 5").click()
    manager.get_by_label("Calibrated until").fill(f"{timezone.localdate() + timedelta(days=365)}")
    manager.get_by_label("Calibration certificate").fill("CAL-118")
    write(manager, "Save", "Wrench Wrench 5 is saved.")
    crew.goto(address)
    crew.get_by_label("Torque wrench").select_option(str(old.pk))
    crew.get_by_label("Smallest step").fill("0.001")
    write(crew, "Begin", "The stressing has begun.")
    assert Stressing.objects.get().wrench == old


def test_the_label_sheet_is_made_on_the_page_and_taken_away(
    at_work: Callable[..., Page], record_of: Callable[[Page, RecordKind], str]
) -> None:
    piece = piece_at(Stage.FORMED)
    crew, viewer = at_work("crew"), at_work("viewer")
    crew.goto(f"/pieces/{piece.pk}/")
    crew.get_by_role("link", name="Records and the label of this piece").click()
    viewer.goto(f"/pieces/{piece.pk}/records/")
    nothing_called(viewer, str(RecordKind.LABEL.label))
    refused(viewer, f"/pieces/{piece.pk}/record/", kind=RecordKind.LABEL.value)
    words = record_of(crew, RecordKind.LABEL)
    assert str(piece) in words
    assert piece.design.order.number in words
    row = IssuedRecord.objects.get()
    crew.goto(f"/pieces/{piece.pk}/records/")
    expect(row_of(crew, row.number)).to_contain_text("stands")
    shot(crew, "label")
