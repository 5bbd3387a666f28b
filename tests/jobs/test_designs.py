"""Designs and revisions: a change makes the next revision with its own checks, and sets back what is not formed yet."""

from uuid import uuid4

import pytest
from django.core.management import call_command

from engineering.models import CheckRun, JobStatus, Specification
from jobs.actions import designs, orders
from jobs.errors import (
    BadEntry,
    EditConflict,
    GateClosed,
    NotAllowed,
    NothingChanged,
    NotNow,
    SpecificationNotAccepted,
    Taken,
)
from jobs.models import Design, Event, Piece, Release, Revision, Role, Stage
from tests.factories import (
    document,
    finished_checks,
    make_design,
    make_order,
    newest,
    person,
    piece_at,
    release,
    revise,
)

pytestmark = pytest.mark.django_db


def test_a_design_comes_with_revision_a_a_waiting_run_and_its_pieces():
    design = make_design(verdict=None, pieces=3)
    revision = newest(design)
    run = revision.specification.check_runs.get()
    assert (revision.letter, run.status, design.mark, design.title) == ("A", JobStatus.WAITING, "C-104", "Counter")
    assert [(piece.serial, piece.stage) for piece in design.pieces.all()] == [
        (1, "ordered"),
        (2, "ordered"),
        (3, "ordered"),
    ]
    assert list(Event.objects.filter(design=design).values_list("verb", flat=True)) == ["design-made", "pieces-added"]


def test_a_refused_document_tells_every_fault_and_writes_nothing():
    order, manager = make_order(), person()
    with pytest.raises(SpecificationNotAccepted, match="2 things to correct") as caught:
        designs.create_design(order, by=manager, document=document(length="twelve", supports="none"))
    assert {fault.path for fault in caught.value.faults} == {"length", "supports"}
    assert not Design.objects.exists()
    assert not Specification.objects.exists()
    assert not Event.objects.filter(verb="design-made").exists()


def test_a_mark_is_used_once_in_an_order():
    design = make_design()
    with pytest.raises(Taken, match="mark C-104 already"):
        make_design(design.order)
    assert Specification.objects.count() == 1


def test_the_same_tap_twice_makes_one_design():
    order, manager, tap = make_order(), person(), uuid4()
    first, second = (
        designs.create_design(order, by=manager, document=document(), pieces=2, request_id=tap) for _ in range(2)
    )
    assert first == second
    assert (Piece.objects.count(), CheckRun.objects.count()) == (2, 1)


def test_nothing_is_added_to_an_archived_order():
    design = make_design()
    orders.archive_order(design.order, by=person())
    with pytest.raises(NotNow, match="archived"):
        make_design(design.order, document=document(mark="C-105"))
    with pytest.raises(NotNow, match="archived"):
        designs.add_pieces(design, by=person(), count=1)
    assert (Design.objects.count(), Piece.objects.count()) == (1, 1)


def test_a_change_makes_the_next_revision_with_a_waiting_run():
    design = make_design()
    revision = revise(design, verdict=None)
    assert (revision.number, revision.letter) == (2, "B")
    assert revision.specification.check_runs.get().status == JobStatus.WAITING
    assert Event.objects.get(verb="revision-made").detail["from"] == 1


def test_a_change_from_an_old_revision_is_a_conflict_and_keeps_theirs():
    design = make_design()
    theirs = revise(design)
    with pytest.raises(EditConflict, match="C-104 revision B was saved while you were working") as caught:
        designs.revise(design, by=person(), document=document(title="Mine"), base_revision=1)
    assert caught.value.newest == theirs
    assert Revision.objects.count() == 2
    assert Specification.objects.count() == 2


def test_an_unchanged_document_makes_no_revision():
    design = make_design()
    reordered = dict(reversed(document().items()))
    with pytest.raises(NothingChanged, match="the same as C-104 revision A"):
        designs.revise(design, by=person(), document=reordered, base_revision=1)
    assert (Revision.objects.count(), Specification.objects.count(), CheckRun.objects.count()) == (1, 1, 1)


def test_the_same_tap_twice_makes_one_revision():
    design, engineer, tap = make_design(), person(Role.ENGINEER), uuid4()
    first, second = (
        designs.revise(design, by=engineer, document=document(title="New"), base_revision=1, request_id=tap)
        for _ in range(2)
    )
    assert first == second
    assert Revision.objects.count() == 2


@pytest.mark.parametrize("stage", ["designed", "released"])
def test_pieces_not_yet_formed_go_back_to_designed(stage):
    piece = piece_at(stage)
    revise(piece.design)
    piece.refresh_from_db()
    assert (piece.stage, piece.revision) == ("designed", None)
    assert Event.objects.get(verb="piece-set-back").detail == {"from": stage, "to": "designed"}


def test_a_formed_piece_stays_and_its_pour_gate_says_that_the_drawing_changed():
    piece = piece_at("formed")
    revise(piece.design)
    release(piece.design)
    piece.refresh_from_db()
    from jobs import gates

    codes = {blocker.code for blocker in gates.blockers(piece, Stage.POURED)}
    assert (piece.stage, piece.revision.letter) == ("formed", "A")
    assert "drawing-changed" in codes


def test_an_ordered_piece_stays_ordered():
    design = make_design()
    revise(design)
    assert design.pieces.get().stage == "ordered"
    assert not Event.objects.filter(verb="piece-set-back").exists()


def test_a_held_piece_that_was_released_comes_back_to_designed():
    from jobs.actions import pieces

    piece = piece_at("released")
    pieces.hold(piece, by=person(), reason="client asks")
    revise(piece.design)
    back = pieces.resume(piece, by=person())
    assert (back.stage, back.revision) == ("designed", None)


def test_more_pieces_are_numbered_on():
    design = make_design(pieces=2)
    made = designs.add_pieces(design, by=person(), count=2)
    assert [piece.serial for piece in made] == [3, 4]


@pytest.mark.parametrize("count", [0, -1, 201, True, 1.5])
def test_a_silly_number_of_pieces_is_refused(count):
    design = make_design()
    with pytest.raises(BadEntry, match="from 1 to 200"):
        designs.add_pieces(design, by=person(), count=count)
    assert Piece.objects.count() == 1


# ---- release ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("verdict", "role"), [("pass", "manager"), ("pass", "engineer"), ("review", "engineer")])
def test_who_may_release_what(verdict, role):
    design, accepter = make_design(verdict=verdict), person(role)
    made = designs.release(newest(design), by=accepter)
    assert (made.verdict, made.accepted_by, made.accepted_as, made.licence_number) == (
        verdict,
        accepter,
        role,
        accepter.licence_number,
    )
    assert Event.objects.get(verb="revision-released").detail["verdict"] == verdict


@pytest.mark.parametrize(
    ("verdict", "role", "code"),
    [
        ("fail", "engineer", "checks-failed"),
        ("fail", "manager", "checks-failed"),
        ("review", "manager", "needs-engineer"),
    ],
)
def test_who_may_not_release_what(verdict, role, code):
    design = make_design(verdict=verdict)
    with pytest.raises(GateClosed, match="was not released") as caught:
        designs.release(newest(design), by=person(role))
    assert [blocker.code for blocker in caught.value.blockers] == [code]
    assert not Release.objects.exists()
    assert not Event.objects.filter(verb="revision-released").exists()


@pytest.mark.parametrize("missing", ["licence_number", "jurisdiction", "names"])
def test_an_engineer_without_a_licence_on_record_releases_nothing(missing):
    gone = {"first_name": "", "last_name": ""} if missing == "names" else {missing: ""}
    engineer = person(Role.ENGINEER, **gone)
    with pytest.raises(GateClosed, match="licence number and jurisdiction must be on record"):
        designs.release(newest(make_design(verdict="pass")), by=engineer)
    assert not Release.objects.exists()


@pytest.mark.parametrize("role", ["crew", "viewer"])
def test_the_crew_and_viewers_release_nothing(role):
    with pytest.raises(NotAllowed, match="for the shop manager or an engineer"):
        designs.release(newest(make_design()), by=person(role))
    assert not Release.objects.exists()


def test_nothing_is_released_before_its_checks_are_done():
    with pytest.raises(GateClosed, match="are not finished"):
        designs.release(newest(make_design(verdict=None)), by=person())
    assert not Release.objects.exists()


def test_an_old_revision_is_not_released():
    design = make_design()
    old = newest(design)
    revise(design)
    with pytest.raises(GateClosed, match="C-104 revision B has taken its place"):
        designs.release(old, by=person())
    assert not Release.objects.exists()


def test_a_verdict_of_an_older_engine_releases_nothing():
    design = make_design()
    CheckRun.objects.update(engine_version="0.0.1")
    with pytest.raises(GateClosed, match=r"by engine 0\.0\.1"):
        designs.release(newest(design), by=person())
    assert not Release.objects.exists()


def test_a_revision_is_released_once():
    design = make_design()
    release(design)
    with pytest.raises(NotNow, match="released already"):
        release(design)
    assert Release.objects.count() == 1


def test_the_same_tap_twice_is_one_release():
    design, manager, tap = make_design(), person(), uuid4()
    first, second = (designs.release(newest(design), by=manager, request_id=tap) for _ in range(2))
    assert first == second


# ---- checks again ----------------------------------------------------------------------------------------------------


def test_broken_checks_are_asked_for_again_with_an_event():
    design = make_design(verdict=None)
    CheckRun.objects.update(status=JobStatus.BROKEN, problem="no")
    run = designs.rerun_checks(newest(design), by=person(Role.ENGINEER))
    assert run.status == JobStatus.WAITING
    assert Event.objects.filter(verb="checks-asked-again").count() == 1


def test_checks_that_are_done_are_not_asked_for_again():
    design = make_design()
    with pytest.raises(NothingChanged, match=r"are done, or under way"):
        designs.rerun_checks(newest(design), by=person())
    assert not Event.objects.filter(verb="checks-asked-again").exists()


def test_a_revision_can_change_the_mark_but_not_to_one_in_use():
    design = make_design()
    make_design(design.order, document=document(mark="C-105"))
    with pytest.raises(Taken, match="mark C-105 already"):
        revise(design, mark="C-105")
    revise(design, mark="C-106")
    design.refresh_from_db()
    assert design.mark == "C-106"


def test_after_an_engine_update_a_release_on_a_pass_does_not_cover_a_review():
    from jobs import gates

    piece = piece_at("released")
    CheckRun.objects.update(engine_version="0.0.1")
    revision = newest(piece.design)
    assert [blocker.code for blocker in gates.blockers(piece, "formed")] == ["checks-old"]
    designs.rerun_checks(revision, by=person())
    assert [blocker.code for blocker in gates.blockers(piece, "formed")] == ["checks-not-done"]
    finished_checks(revision, "review")
    assert gates.blockers(piece, "formed") == []  # released by an engineer
    Release.objects.update(accepted_as="manager")
    assert [blocker.code for blocker in gates.blockers(piece, "formed")] == ["needs-engineer"]


def test_after_an_update_the_open_designs_are_checked_again_and_archived_ones_are_not(capsys):
    make_design()
    revise(make_design())
    gone = make_design()
    orders.archive_order(gone.order, by=person())
    CheckRun.objects.update(engine_version="0.0.1")
    call_command("rerun_checks", "--open")
    assert capsys.readouterr().out == "2 check runs wait for the worker.\n"
    assert CheckRun.objects.filter(status=JobStatus.WAITING).count() == 2
    assert not CheckRun.objects.filter(status=JobStatus.WAITING, specification=newest(gone).specification).exists()
    call_command("rerun_checks", "--open")
    assert capsys.readouterr().out == "0 check runs wait for the worker.\n"
    assert Event.objects.filter(verb="checks-asked-again", by=None).count() == 2


def test_a_specification_is_never_edited():
    specification = newest(make_design()).specification
    specification.title = "Other"
    with pytest.raises(TypeError, match="never edited"):
        specification.save()
    specification.refresh_from_db()
    assert specification.title == "Counter"
