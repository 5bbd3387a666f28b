"""Every gate: what opens it, what it says when closed, who has it in hand."""

import pytest

from engineering.models import CheckRun, JobStatus
from jobs import gates
from jobs.actions import pieces, shop
from jobs.models import Design, Installation, Piece, Stage, StrengthTest, Stressing, Wrench
from tests.factories import (
    check_form,
    document,
    finish_ends,
    finished_checks,
    load_test,
    make_design,
    make_wrench,
    move,
    newest,
    person,
    piece_at,
    pour,
    read,
    release,
    revise,
    start,
    strength_test,
    stress,
    without_rods,
)

pytestmark = pytest.mark.django_db


def codes(piece: Piece, to_stage: str) -> list[str]:
    return [blocker.code for blocker in gates.blockers(pieces.fresh(piece), to_stage)]


def texts(piece: Piece, to_stage: str) -> str:
    return " ".join(blocker.text for blocker in gates.blockers(pieces.fresh(piece), to_stage))


def test_every_blocker_names_who_has_it():
    piece = make_design(verdict=None).pieces.get()
    found = [blocker for stage in gates.GATES for blocker in gates.blockers(piece, stage)]
    assert found
    assert all(blocker.code and blocker.text.endswith(".") and blocker.who for blocker in found)


def test_every_stage_of_the_line_has_a_row_in_the_table():
    assert set(gates.GATES) == set(Stage) - {Stage.ORDERED, Stage.HELD, Stage.REJECTED}


# ---- designed, released, formed --------------------------------------------------------------------------------------


def test_designed_waits_for_the_checks():
    design = make_design(verdict=None)
    piece = design.pieces.get()
    assert codes(piece, "designed") == ["checks-not-done"]
    finished_checks(newest(design), "fail")
    assert codes(piece, "designed") == []  # a fail is a drawing too; it is released by nobody


def test_designed_says_why_checks_broke_off():
    design = make_design(verdict=None)
    CheckRun.objects.update(status=JobStatus.BROKEN, problem="The engine stopped.")
    assert codes(design.pieces.get(), "designed") == ["checks-broken"]
    assert "The engine stopped." in texts(design.pieces.get(), "designed")


def test_designed_needs_a_drawing():
    design = Design.objects.create(order=make_design().order, mark="EMPTY")
    piece = Piece.objects.create(design=design, serial=1)
    assert codes(piece, "designed") == ["no-drawing"]
    assert codes(piece, "released") == ["no-drawing"]


@pytest.mark.parametrize(
    ("verdict", "code", "who"),
    [
        ("pass", "not-released", "engineer or shop manager"),
        ("review", "not-released", "engineer"),
        ("fail", "checks-failed", "engineer or shop manager"),
    ],
)
def test_released_waits_for_whoever_may_accept_the_verdict(verdict, code, who):
    piece = move(make_design(verdict=verdict).pieces.get(), "designed")
    (blocker,) = gates.blockers(piece, "released")
    assert (blocker.code, blocker.who) == (code, who)


def test_released_is_open_once_the_newest_revision_is_released():
    piece = piece_at("designed")
    release(piece.design)
    assert codes(piece, "released") == []


def test_a_release_of_an_older_revision_opens_nothing():
    piece = piece_at("designed")
    release(piece.design)
    revise(piece.design)
    assert codes(piece, "released") == ["not-released"]


def test_a_change_makes_the_old_verdict_stale_at_once():
    piece = piece_at("released")
    revise(piece.design, verdict=None)
    piece = pieces.fresh(piece)
    assert piece.stage == "designed"
    assert codes(piece, "released") == ["checks-not-done"]


def test_formed_needs_the_newest_released_drawing():
    piece = piece_at("released")
    assert codes(piece, "formed") == []
    Piece.objects.filter(pk=piece.pk).update(revision=None)
    assert codes(piece, "formed") == ["not-bound"]


# ---- poured ----------------------------------------------------------------------------------------------------------


def test_poured_needs_form_check_and_pour():
    piece = piece_at("formed")
    assert codes(piece, "poured") == ["form-not-checked", "no-pour"]
    check_form(piece)
    assert codes(piece, "poured") == ["no-pour"]
    pour(piece)
    assert codes(piece, "poured") == []


@pytest.mark.parametrize("point", ["core_held", "sleeves_sealed", "pockets_set"])
def test_a_point_left_open_at_the_newest_form_check_closes_the_gate(point):
    piece = piece_at("formed")
    check_form(piece)
    check_form(piece, **{point: False})
    assert codes(piece, "poured") == ["form-not-right", "no-pour"]
    check_form(piece)
    assert codes(piece, "poured") == ["no-pour"]


def test_a_form_check_of_another_revision_does_not_count():
    piece = piece_at("formed")
    check_form(piece)
    revise(piece.design)
    release(piece.design)
    assert codes(piece, "poured") == ["drawing-changed", "no-pour"]
    piece = move(move(move(pieces.fresh(piece), "designed"), "released"), "formed")
    assert codes(piece, "poured") == ["form-not-checked", "no-pour"]


def test_a_new_drawing_after_the_pour_was_recorded_still_closes_the_gate():
    piece = piece_at("formed")
    check_form(piece)
    pour(piece)
    revise(piece.design)
    assert codes(piece, "poured") == ["not-released", "drawing-changed"]


# ---- strength --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("specimens", "open_"),
    [
        ((2500, 2500), True),
        ((2300, 2700), True),
        ((2250, 2750), True),
        ((2499, 2500), False),  # mean under
        ((2249, 2800), False),  # one under 0.9 of 2500
        ((5000,), False),
    ],
)  # one specimen proves nothing
def test_strength_to_strip(specimens, open_):
    piece = piece_at("curing")
    strength_test(piece, specimens=specimens)
    assert (codes(piece, "stripped") == []) is open_
    assert set(codes(piece, "stripped")) <= {"strength-handling"}


def test_stripping_waits_for_a_strength_test():
    piece = piece_at("curing")
    assert codes(piece, "stripped") == ["strength-handling"]
    assert "No strength test is recorded" in texts(piece, "stripped")


def test_cubes_count_times_the_shops_factor():
    piece = piece_at("curing")
    strength_test(piece, specimens=(3000, 3000), kind="cube")  # 0.8 × 3000 = 2400 < 2500
    assert codes(piece, "stripped") == ["strength-handling"]
    strength_test(piece, specimens=(3200, 3200), kind="cube")  # 2560
    assert codes(piece, "stripped") == []


def test_the_factor_of_the_day_stays_with_the_test():
    piece = piece_at("curing")
    strength_test(piece, specimens=(3000, 3000), kind="cube")
    shop.edit_shop(by=person(), cube_factor=0.9)
    assert StrengthTest.objects.get().factor == 0.8
    assert codes(piece, "stripped") == ["strength-handling"]


def test_the_newest_test_counts():
    piece = piece_at("curing")
    strength_test(piece, specimens=(2600, 2600))
    strength_test(piece, specimens=(2000, 2000))
    assert "mean of 2000 psi; 2500 psi are needed" in texts(piece, "stripped")


def test_a_piece_without_handling_is_stripped_without_a_test():
    piece = piece_at("curing", document=document(handling=None))
    assert codes(piece, "stripped") == []


def test_the_strength_of_another_pour_does_not_count():
    piece, other = piece_at("curing"), piece_at("curing")
    strength_test(other)
    assert codes(piece, "stripped") == ["strength-handling"]


def test_an_si_specification_is_held_to_its_own_strength():
    from engineering.core.contract import parse

    given = document(handling={"lift_points": [22, 86], "age": 2, "strength": "20 MPa"})
    piece = piece_at("curing", document=given)
    needed = parse(given).handling.strength_psi
    assert needed == pytest.approx(2900.755, abs=0.01)  # 20 / 0.00689476
    strength_test(piece, specimens=(2900, 2900))
    assert codes(piece, "stripped") == ["strength-handling"]
    strength_test(piece, specimens=(2901, 2901))
    assert codes(piece, "stripped") == []


# ---- stressing -------------------------------------------------------------------------------------------------------


def stressing_codes(piece: Piece, wrench: Wrench | None = None) -> list[str]:
    return [blocker.code for blocker in gates.stressing_blockers(pieces.fresh(piece), wrench)]


def weak_stripped() -> Piece:
    piece = piece_at("curing")
    strength_test(piece, specimens=(4400, 4400))  # enough to strip, not to stress
    return move(piece, "stripped")


def test_stressing_waits_for_its_strength():
    piece = weak_stripped()
    make_wrench()
    assert stressing_codes(piece) == ["strength-stressing"]
    strength_test(piece, specimens=(4500, 4500))
    assert stressing_codes(piece) == []


def test_stressing_waits_for_stripping():
    piece = piece_at("curing")
    strength_test(piece)
    assert stressing_codes(piece) == ["not-stripped"]


@pytest.mark.parametrize(("days", "expected"), [(0, []), (30, []), (-1, ["wrench-calibration"])])
def test_a_wrench_past_its_calibration_stresses_nothing(days, expected):
    assert stressing_codes(piece_at("stripped"), make_wrench(days=days)) == expected


def test_a_wrench_out_of_use_stresses_nothing():
    assert stressing_codes(piece_at("stripped"), make_wrench(active=False)) == ["wrench-retired"]


def test_without_any_calibrated_wrench_the_page_says_so():
    Wrench.objects.all().delete()
    assert stressing_codes(piece_at("stripped")) == ["no-wrench"]


def test_no_wrench_is_asked_for_where_a_jack_is_used():
    by_jack = document(stressing={"age": 7, "method": "jack", "steps": [1.0], "order": ["R1", "R2"]})
    assert stressing_codes(piece_at("stripped", document=by_jack)) == []


def test_a_piece_without_rods_has_nothing_to_tighten_and_goes_through():
    piece = piece_at("stripped", document=without_rods())
    assert stressing_codes(piece) == ["no-rods"]
    assert codes(piece, "stressed") == []


def test_stressed_needs_every_rod_at_its_last_step():
    piece = piece_at("stripped")
    assert codes(piece, "stressed") == ["not-stressed"]
    stressing = start(piece)
    assert codes(piece, "stressed") == ["stressing-open"]
    read(stressing, "R2", 0)
    Stressing.objects.update(state="complete")  # as if somebody had closed it past its own gate
    assert codes(piece, "stressed") == ["rod-out", "rod-out"]


def test_stressed_is_open_after_a_finished_stressing():
    piece = piece_at("stripped")
    stress(piece)
    assert codes(piece, "stressed") == []


def test_a_stopped_stressing_opens_nothing():
    piece = piece_at("stripped")
    start(piece)
    Stressing.objects.update(state="stopped")
    assert codes(piece, "stressed") == ["not-stressed"]


def test_a_later_weak_test_closes_stressed_again():
    piece = piece_at("stripped")
    stress(piece)
    strength_test(piece, specimens=(4400, 4400))
    assert codes(piece, "stressed") == ["strength-stressing"]


# ---- load test, finish, install --------------------------------------------------------------------------------------


def test_load_tested_only_where_it_is_asked_for():
    piece = piece_at("stressed")
    assert codes(piece, "load-tested") == ["load-test-not-asked"]
    assert codes(piece, "finished") == ["finish-not-recorded"]
    finish_ends(piece)
    assert codes(piece, "finished") == []


def test_where_a_load_test_is_asked_for_nothing_passes_it_by():
    from jobs.actions import production, quality

    piece = piece_at("stressed", load_test_required=True)
    finish_ends(piece)
    assert codes(piece, "load-tested") == ["no-load-test"]
    assert codes(piece, "finished") == ["load-test-asked", "no-load-test"]
    production.record_load_test(piece, by=person(), load_lbf=900, deflection_in=0.2, cracks_seen=True, accepted=False)
    assert codes(piece, "load-tested") == ["load-test-not-accepted", "non-conformance-open"]
    quality.decide_non_conformance(
        piece.non_conformances.get(), by=person("engineer"), decision="use-as-is", note="Test it again."
    )
    assert codes(piece, "load-tested") == ["load-test-not-accepted"]
    load_test(piece)
    assert codes(piece, "load-tested") == []
    assert codes(piece, "finished") == ["load-test-asked"]


def test_installed_needs_supports_where_the_drawing_has_them():
    piece = piece_at("delivered")
    assert codes(piece, "installed") == ["no-installation"]
    made = Installation.objects.create(
        piece=piece, by=person(), at=piece.stage_since, supports_in=[4.0, 105.0], cautions_confirmed=True
    )
    assert codes(piece, "installed") == ["support-out"]
    Installation.objects.filter(pk=made.pk).update(supports_in=[3.5, 104.5])
    assert codes(piece, "installed") == []
    Installation.objects.filter(pk=made.pk).update(supports_in=[4.0])
    assert "The drawing has 2 supports; 1 were measured." in texts(piece, "installed")
