"""Non-conformances stop a piece until an engineer has decided; a gate is passed over only where the table lets it."""

from __future__ import annotations

import io
from uuid import uuid4

import pytest
from PIL import Image

from jobs import gates
from jobs.actions import pieces, production, quality
from jobs.errors import BadEntry, GateClosed, NotAllowed, NotNow
from jobs.models import Event, GatePass, NonConformance, Piece, Role, Stage
from jobs.photos import read_picture
from tests.factories import check_form, good_coupons, make_design, move, person, piece_at, pour, strength_test

pytestmark = pytest.mark.django_db


def raised(piece: Piece, **fields: str) -> NonConformance:
    return quality.raise_non_conformance(piece, by=person(Role.CREW), **{"what": "Corner chipped", **fields})


def codes(piece: Piece, to_stage: str) -> list[str]:
    return [blocker.code for blocker in gates.blockers(pieces.fresh(piece), to_stage)]


def picture_file(kind: str = "PNG", size: tuple[int, int] = (40, 30)) -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", size, (90, 120, 150)).save(out, kind)
    out.seek(0)
    return out


def test_a_piece_with_an_open_non_conformance_does_not_move_on() -> None:
    piece = piece_at(Stage.POURED)
    raised(piece)
    with pytest.raises(GateClosed, match="waits for the engineer"):
        move(piece, Stage.CURING)
    assert pieces.fresh(piece).stage == Stage.POURED


def test_use_as_is_opens_the_way_and_keeps_the_licence_of_that_day() -> None:
    piece, engineer = piece_at(Stage.POURED), person(Role.ENGINEER)
    decided = quality.decide_non_conformance(raised(piece), by=engineer, decision="use-as-is", note="Hidden side.")
    assert (decided.decided_by, decided.licence_number) == (engineer, engineer.licence_number)
    assert move(piece, Stage.CURING).stage == Stage.CURING
    assert Event.objects.filter(verb="non-conformance-decided", piece=piece).count() == 1


def test_a_repair_is_waited_for() -> None:
    piece, crew = piece_at(Stage.POURED), person(Role.CREW)
    row = quality.decide_non_conformance(raised(piece), by=person(Role.ENGINEER), decision="repair", note="Patch it.")
    assert codes(piece, Stage.CURING) == ["repair-not-done"]
    quality.record_repair(row, by=crew, note="Patched with the same mix.")
    assert codes(piece, Stage.CURING) == []
    with pytest.raises(NotNow, match="No repair is waiting"):
        quality.record_repair(row, by=crew, note="Again.")


def test_remake_rejects_the_piece_and_another_is_made_in_its_place() -> None:
    piece = piece_at(Stage.CURING)
    quality.decide_non_conformance(raised(piece), by=person(Role.ENGINEER), decision="remake", note="Cracked through.")
    piece = pieces.fresh(piece)
    assert piece.stage == Stage.REJECTED
    assert "Cracked through." in piece.hold_reason
    assert pieces.remake(piece, by=person()).stage == Stage.ORDERED


@pytest.mark.parametrize("role", [Role.MANAGER, Role.CREW, Role.VIEWER])
def test_only_an_engineer_decides(role: str) -> None:
    row = raised(piece_at(Stage.POURED))
    with pytest.raises(NotAllowed, match="This is for an engineer"):
        quality.decide_non_conformance(row, by=person(role), decision="use-as-is", note="Fine.")
    row.refresh_from_db()
    assert row.decision == ""


def test_an_engineer_without_a_licence_on_record_decides_nothing() -> None:
    row = raised(piece_at(Stage.POURED))
    engineer = person(Role.ENGINEER, licence_number="")
    with pytest.raises(NotAllowed, match="licence number"):
        quality.decide_non_conformance(row, by=engineer, decision="use-as-is", note="Fine.")


def test_it_is_decided_once() -> None:
    row, engineer = raised(piece_at(Stage.POURED)), person(Role.ENGINEER)
    quality.decide_non_conformance(row, by=engineer, decision="repair", note="Patch it.")
    with pytest.raises(NotNow, match="decided already"):
        quality.decide_non_conformance(row, by=engineer, decision="use-as-is", note="Changed my mind.")


def test_a_tap_sent_twice_raises_one() -> None:
    piece, crew, tap = piece_at(Stage.POURED), person(Role.CREW), uuid4()
    first = quality.raise_non_conformance(piece, by=crew, what="Chipped", request_id=tap)
    assert quality.raise_non_conformance(piece, by=crew, what="Chipped", request_id=tap) == first
    assert NonConformance.objects.count() == 1


def test_nothing_can_be_wrong_with_a_piece_that_is_only_drawn() -> None:
    piece = make_design().pieces.get()
    with pytest.raises(NotNow, match="nothing of it on the floor"):
        raised(piece)


def test_stressing_waits_for_an_open_non_conformance() -> None:
    piece = piece_at(Stage.STRIPPED)
    raised(piece)
    assert [blocker.code for blocker in gates.stressing_blockers(pieces.fresh(piece))] == [
        "non-conformance-open",
        "no-wrench",
    ]


# ---- passing over ----------------------------------------------------------------------------------------------------


def test_the_manager_passes_over_a_form_check_with_a_reason_and_it_is_written_down() -> None:
    piece, manager = piece_at(Stage.FORMED), person()
    made = quality.pass_gate(piece, Stage.POURED, by=manager, reason="Checked by eye, the tablet was flat.")
    assert made.codes == ["form-not-checked"]
    assert codes(piece, Stage.POURED) == ["no-pour"]
    event = Event.objects.get(verb="gate-passed-over")
    assert event.detail["reason"] == "Checked by eye, the tablet was flat."
    pour(piece)
    assert move(piece, Stage.POURED).stage == Stage.POURED


def test_a_pass_counts_only_while_the_piece_stands_there() -> None:
    piece = piece_at(Stage.FORMED)
    quality.pass_gate(piece, Stage.POURED, by=person(), reason="In a hurry.")
    pieces.hold(piece, by=person(Role.CREW), reason="Wait.")
    pieces.resume(pieces.fresh(piece), by=person())
    assert "form-not-checked" in codes(piece, Stage.POURED)


def test_strength_at_stressing_is_never_passed_over() -> None:
    piece = piece_at(Stage.CURING)
    strength_test(piece, specimens=(2600, 2700))
    good_coupons(piece, person())
    piece = move(piece, Stage.STRIPPED)
    for role in (Role.MANAGER, Role.ENGINEER):
        with pytest.raises(NotNow, match="Nothing of what is missing"):
            quality.pass_gate(piece, Stage.STRESSED, by=person(role), reason="It will be fine.")
    with pytest.raises(GateClosed, match="cannot be passed over"):
        production.start_stressing(piece, by=person())
    assert not GatePass.objects.exists()


def test_failed_checks_are_never_passed_over() -> None:
    piece = make_design(verdict="fail").pieces.get()
    piece = move(piece, Stage.DESIGNED)
    with pytest.raises(NotNow, match="Nothing of what is missing"):
        quality.pass_gate(piece, Stage.RELEASED, by=person(), reason="The client waits.")


def test_the_crew_passes_over_nothing() -> None:
    with pytest.raises(NotAllowed):
        quality.pass_gate(piece_at(Stage.FORMED), Stage.POURED, by=person(Role.CREW), reason="Quick.")


def test_no_gate_is_passed_over_that_the_piece_does_not_go_through() -> None:
    """A load test is asked for: what is passed over on the way straight to finished would count for nothing later."""
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    assert {"load-test-asked", "finish-not-recorded"} <= set(codes(piece, Stage.FINISHED))
    for role in (Role.MANAGER, Role.ENGINEER):
        with pytest.raises(NotNow, match="A load test is asked for; it comes before finished"):
            quality.pass_gate(piece, Stage.FINISHED, by=person(role), reason="The ends are capped on site.")
    assert not GatePass.objects.exists()
    plain = piece_at(Stage.STRESSED)
    assert quality.pass_gate(plain, Stage.FINISHED, by=person(), reason="Capped on site.").codes == [
        "finish-not-recorded"
    ]


def test_a_form_found_not_right_stays_on_record_when_it_is_passed_over() -> None:
    piece = piece_at(Stage.FORMED)
    check_form(piece, pockets_set=False)
    made = quality.pass_gate(piece, Stage.POURED, by=person(), reason="Pockets are cut later.")
    assert made.texts == ["Not right at the newest form check: pockets set. Mend it and check again."]


# ---- photos ----------------------------------------------------------------------------------------------------------


def test_a_photo_is_written_anew_and_made_no_larger_than_needed() -> None:
    picture = read_picture(picture_file("PNG", (4000, 1000)), size=1000)
    assert (picture.width, picture.height) == (2000, 500)
    assert picture.data[:3] == b"\xff\xd8\xff"


def test_what_is_no_photo_is_refused() -> None:
    with pytest.raises(BadEntry, match="not a photo"):
        read_picture(io.BytesIO(b"<svg onload=alert(1)>"), size=20)


def test_a_photo_too_large_is_refused_before_it_is_read() -> None:
    with pytest.raises(BadEntry, match="larger than"):
        read_picture(io.BytesIO(b""), size=50_000_000)


def test_a_photo_hangs_on_its_non_conformance(settings: object, tmp_path: object) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's own fixture
    row = quality.raise_non_conformance(
        piece_at(Stage.POURED), by=person(Role.CREW), what="Void", picture=read_picture(picture_file(), size=100)
    )
    kept = row.photos.get()
    assert kept.file.read()[:3] == b"\xff\xd8\xff"
    assert Event.objects.get(verb="non-conformance-raised").detail["photo"] == kept.sha256
