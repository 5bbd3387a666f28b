"""When something is not as it should be: held, rejected and made again, a non-conformance to its end, a gate's list of
what is missing, and a gate passed over with a reason. Who writes, who decides, who only looks."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from jobs.actions import pieces, quality
from jobs.models import GatePass, NonConformance, Piece, Role, Stage
from reports.models import RecordKind
from tests.browser.floor.doing import nothing_called, posted, refused, row_of, shot, shut, unfold, write
from tests.browser.test_label_and_photo import taken
from tests.factories import check_form, person, piece_at, pour
from tests.production.test_quality import raised
from tests.reports.test_piece_records import checked_design

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_crew_holds_a_piece_and_the_engineer_takes_it_up_again(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.CURING)
    address = f"/pieces/{piece.pk}/"
    crew, engineer, viewer = at_work("crew"), at_work("engineer"), at_work("viewer")
    crew.goto(address)
    unfold(crew)
    crew.get_by_label("Why it has to wait").fill("The cover blew off in the night")
    write(crew, f"Hold {piece}", f"{piece} is held.")
    expect(crew.locator("main")).to_contain_text("The engineer or the shop manager decides.")
    nothing_called(crew, "Take it up again", "Mark stripped")
    refused(crew, f"{address}resume/")
    assert pieces.fresh(piece).stage == Stage.HELD
    viewer.goto(address)
    expect(viewer.locator("main")).to_contain_text("The cover blew off in the night")
    nothing_called(viewer, "Take it up again", "Hold")
    engineer.goto(address)
    write(engineer, "Take it up again", f"{piece} is taken up again")
    assert pieces.fresh(piece).stage == Stage.CURING
    viewer.reload()
    expect(viewer.locator("[aria-current=step]")).to_have_text("Curing")
    refused(viewer, f"{address}hold/", reason="because")


def test_the_engineer_rejects_with_a_reason_and_the_manager_has_another_made(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.CURING)
    address = f"/pieces/{piece.pk}/"
    crew, engineer, manager = at_work("crew"), at_work("engineer"), at_work("manager")
    crew.goto(address)
    nothing_called(crew, "Reject")
    refused(crew, f"{address}reject/", reason="ugly")
    engineer.goto(address)
    unfold(engineer)
    engineer.get_by_label("What is wrong with it").fill("Cracked through at the middle")
    write(engineer, f"Reject {piece}", f"{piece} is rejected.")
    nothing_called(engineer, "Make another in its place", "Mark", "Hold")
    refused(engineer, f"{address}remake/")
    manager.goto(address)
    expect(manager.locator("main")).to_contain_text("Cracked through at the middle")
    write(manager, "Make another in its place", f"is to be made in place of {piece}")
    expect(manager.locator(".title-block")).to_contain_text("In place of")
    manager.locator(".title-block").get_by_role("link", name=str(piece)).click()
    expect(manager.get_by_role("heading", level=2, name="Rejected")).to_be_visible()
    made = Piece.objects.get(remake_of=piece)
    assert (made.stage, made.pour) == (Stage.ORDERED, None)


def test_a_non_conformance_with_its_photo_from_the_tablet_to_the_repair(
    at_work: Callable[..., Page], settings: object, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    piece = piece_at(Stage.POURED)
    crew, engineer, manager = at_work("crew"), at_work("engineer"), at_work("manager")
    crew.goto(f"/pieces/{piece.pk}/")
    unfold(crew)
    crew.get_by_role("link", name="Something is wrong with it").click()
    crew.get_by_label("What is not as it should be").fill("Void at the left end")
    crew.get_by_label("Where on the piece").fill("pocket R2")
    crew.locator("#id_photo").set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": taken("#334455")})
    write(crew, "Write it down", "the engineer decides.")
    row = NonConformance.objects.get()
    page = f"/non-conformances/{row.pk}/"
    photo = crew.get_by_role("img", name="Void at the left end")
    assert photo.evaluate("image => image.decode().then(() => image.naturalWidth)") == 640
    nothing_called(crew, "Decide", "It is repaired")
    refused(crew, page, decision="use-as-is", note="fine")
    crew.goto(f"/pieces/{piece.pk}/")
    expect(crew.locator(".next .blockers")).to_contain_text("waits for the engineer: Void at the left end")
    nothing_called(crew, "Mark curing")

    engineer.goto("/today/")
    engineer.get_by_role("link", name="Non-conformances").click()
    engineer.get_by_role("link", name=f"No. {row.pk}").click()
    shot(engineer, "non-conformance")
    engineer.get_by_label("Repair", exact=True).check()
    engineer.get_by_label("Why; and, for a repair, how").fill("Cut back to sound concrete and fill")
    write(engineer, "Decide", f"Non-conformance {row.pk}: written down.")
    expect(engineer.locator("main")).to_contain_text("licence E-")
    nothing_called(engineer, "Decide", "It is repaired")

    crew.goto(page)
    crew.get_by_label("What was done").fill("Cut back and filled with the same mix")
    write(crew, "It is repaired", f"Non-conformance {row.pk}: written down.")
    manager.goto("/non-conformances/")
    expect(row_of(manager, "Void at the left end")).to_contain_text("epair")
    crew.goto(f"/pieces/{piece.pk}/")
    write(crew, "Mark curing", "is now curing")
    row.refresh_from_db()
    assert (row.is_settled, row.photos.count()) == (True, 1)


@pytest.mark.parametrize(("decision", "stage"), [("Use as is", Stage.CURING), ("Remake", Stage.REJECTED)])
def test_what_the_engineer_decides_becomes_of_the_piece(
    decision: str, stage: str, at_work: Callable[..., Page]
) -> None:
    row = raised(piece_at(Stage.CURING))
    page = f"/non-conformances/{row.pk}/"
    engineer, manager, viewer = at_work("engineer"), at_work("manager"), at_work("viewer")
    for other in (manager, viewer):
        other.goto(page)
        expect(other.locator("main")).to_contain_text("It waits for the engineer.")
        nothing_called(other, "Decide")
        refused(other, page, decision="use-as-is", note="fine")
    engineer.goto(page)
    engineer.get_by_label(decision, exact=True).check()
    engineer.get_by_label("Why; and, for a repair, how").fill("Seen on site, end face")
    write(engineer, "Decide", "written down.")
    manager.goto(f"/pieces/{row.piece_id}/")
    assert pieces.fresh(row.piece).stage == stage
    again = manager.get_by_role("button", name="Make another in its place")
    expect(again).to_have_count(1 if stage == Stage.REJECTED else 0)


def test_an_engineer_without_a_licence_on_record_decides_nothing(at_work: Callable[..., Page]) -> None:
    row = raised(piece_at(Stage.POURED))
    engineer = at_work(person(Role.ENGINEER, licence_number=""))
    engineer.goto(f"/non-conformances/{row.pk}/")
    engineer.get_by_label("Use as is", exact=True).check()
    engineer.get_by_label("Why; and, for a repair, how").fill("Hidden side")
    engineer.get_by_role("button", name="Decide").click()
    expect(engineer.locator("main")).to_contain_text("licence number and jurisdiction must be on record")
    row.refresh_from_db()
    assert row.decision == ""


def test_a_gate_says_what_is_missing_and_who_has_it(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.FORMED)
    check_form(piece, pockets_set=False)
    raised(piece, what="End plate bent")
    crew = at_work("crew")
    crew.goto(f"/pieces/{piece.pk}/")
    missing = crew.locator(".next .blockers li")
    expect(missing).to_have_count(3)
    for words, who in (("pockets set", "crew"), ("The pour is not recorded", "crew"), ("End plate bent", "engineer")):
        expect(missing.filter(has_text=words)).to_contain_text(f"In hand: {who}")
    nothing_called(crew, "Mark poured")
    shot(crew, "blockers")


def test_the_manager_passes_over_a_gate_with_a_reason_and_it_stands_in_the_log(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.FORMED)
    piece_page, gate = f"/pieces/{piece.pk}/", f"/pieces/{piece.pk}/pass/poured/"
    manager, crew, engineer = at_work("manager"), at_work("crew"), at_work("engineer")
    for other in (crew, engineer):
        other.goto(piece_page)
        nothing_called(other, "Pass over the gate")
    shut(crew, gate)
    refused(crew, gate, reason="quick")
    engineer.goto(gate)  # theirs to look at, and nothing on it is theirs to pass over
    expect(engineer.locator("main")).to_contain_text("Nothing of what is missing here is yours to pass over.")
    nothing_called(engineer, "Pass over it")
    assert posted(engineer, gate, reason="Quick") == 409
    assert not GatePass.objects.exists()

    manager.goto(piece_page)
    unfold(manager)
    manager.get_by_role("link", name="Pass over the gate to poured", exact=False).click()
    expect(row_of(manager, "The form is not checked")).to_contain_text("yes")
    expect(row_of(manager, "The pour is not recorded")).to_contain_text("no")
    shot(manager, "gate-pass")
    manager.get_by_label("Why it may go on all the same").fill("Checked by eye, the tablet was flat")
    write(manager, "Pass over it", "The piece still has to be moved.")
    expect(manager.locator(".history").last).to_contain_text("Reason: Checked by eye, the tablet was flat")
    crew.goto(piece_page)
    expect(crew.locator(".next .blockers")).not_to_contain_text("form")
    expect(crew.get_by_role("link", name="Pour it")).to_be_visible()
    assert pieces.fresh(piece).stage == Stage.FORMED


def test_what_was_passed_over_stands_on_the_handover_record(
    at_work: Callable[..., Page], record_of: Callable[[Page, RecordKind], str]
) -> None:
    piece = piece_at(Stage.FORMED, checked_design())
    quality.pass_gate(piece, Stage.POURED, by=person(), reason="Checked by eye, the tablet was flat")
    pour(piece)
    records = f"/pieces/{piece.pk}/records/"
    manager, crew = at_work("manager"), at_work("crew")
    crew.goto(records)
    nothing_called(crew, str(RecordKind.HANDOVER.label))
    refused(crew, f"/pieces/{piece.pk}/record/", kind=RecordKind.HANDOVER.value)
    manager.goto(records)
    words = " ".join(record_of(manager, RecordKind.HANDOVER).split())
    assert "Passed over on the way to poured" in words
    assert "Checked by eye, the tablet was flat" in words
