"""A piece of which everything that can be written down is written down, with values that no two entries share."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta
from typing import Any

from django.utils import timezone

from engineering.core.contract import parse
from jobs import targets
from jobs.actions import pieces, production, quality, stock
from jobs.models import CouponTest, Design, Piece, Pour, Role, Stage, Stressing
from tests.factories import check_form, make_wrench, move, person, piece_at
from tests.production.test_mix_and_cure import ticket, version
from tests.reports.documents import example
from tests.reports.test_piece_records import checked_design

AGE_AGAIN = 28
DAYS = timedelta(days=40)


def described(name: str) -> dict[str, Any]:
    """An example that is stressed by torque and asks for re-stressing."""
    document = deepcopy(example(name))
    document["stressing"] |= {"method": "torque", "restress": [AGE_AGAIN]}
    return document


def whole_piece(name: str) -> Piece:
    """Every kind of entry there is, in the order the floor makes them; installed in the end."""
    design = checked_design(described(name), load_test_required=True)
    piece = piece_at(Stage.FORMED, design)
    crew = person(Role.CREW, first_name="Ana", last_name="Brandt")
    pour = _poured(piece, crew)
    _cured(piece, pour, crew)
    _stressed(piece, crew)
    _proved(piece, crew)
    return _finished(piece, crew, design)


def _poured(piece: Piece, crew: Any) -> Pour:
    rods = [{"rod": "R1", "x_in": 11.3, "drawn_in": 1.26, "measured_in": 1.31}]
    marks = [rod["mark"] for rod in piece.revision.specification.document["rods"]]
    rods[0]["rod"] = marks[0]
    check_form(piece, crew, rod_heights=rods, note="one spacer moved")
    weighed = ticket(
        version(), batch="B-77", water_added_at=timezone.now() - DAYS, volume_ft3=4.91, waste=0.13,
        note="sand was damp", lots={"cement": "C-881"}, weighed_lb={"sand": 411.7},
    )  # fmt: skip
    pour = production.record_pour(
        [piece], by=crew, batch="B-77", ticket=weighed, at=timezone.now() - DAYS, slump_in=7.3, unit_weight_pcf=131.4,
        mix_temperature_f=71.6, air_temperature_f=66.2, note="no lumps",
    )  # fmt: skip
    lot = stock.save_lot(
        by=person(), kind="rod", lot="HEAT-4471", description="B7 half inch", certificate="MTR 90-12", received_on=None
    )
    stock.use_lot(piece, by=crew, lot=lot, rods=marks[:1])
    move(piece, Stage.POURED)
    move(piece, Stage.CURING)
    return pour


def _cured(piece: Piece, pour: Pour, crew: Any) -> None:
    production.record_cure_check(pour, by=crew, covered=True, moist=False, note="wetted again")
    start_at = timezone.now() - DAYS
    production.record_temperatures(
        pour,
        by=crew,
        source="logger 3",
        readings=[(start_at + timedelta(hours=h), f) for h, f in ((1, 70.7), (9, 103.1))],
    )
    for days, kind, broken in (
        (3, "cube", [5210.0, 5355.0]),
        (7, "cube", [7310.0, 7455.0]),
        (28, "cylinder", [7120.0, 7245.0, 7390.0]),
    ):
        at = start_at + timedelta(days=days)
        production.record_strength_test(pour, by=crew, kind=kind, specimens_psi=broken, at=at)
    specimens = [
        {"yield_lbf": 51.7, "ultimate_lbf": 93.1, "span_in": 10.1, "width_in": 2.03, "depth_in": 0.49},
        {"yield_lbf": 54.9, "ultimate_lbf": 98.3, "span_in": 10.1, "width_in": 1.97, "depth_in": 0.52},
    ]
    production.record_coupon_test(pour, by=crew, specimens=specimens)
    # The gate asks for six of the mix.
    before = Pour.objects.create(by=crew, at=start_at, batch="before it", mix=pour.mix)
    CouponTest.objects.create(by=crew, at=timezone.now(), pour=before, specimens=specimens * 2)
    production.record_washout(pour, by=crew, sample_lb=3.07, fibre_lb=0.091)
    move(piece, Stage.STRIPPED)


def _stressed(piece: Piece, crew: Any) -> Stressing:
    piece = pieces.fresh(piece)
    wrench = make_wrench(name="Torque wrench 5", certificate="CAL-2026-118")
    stressing = production.start_stressing(piece, by=crew, wrench=wrench, gauge_resolution_in=0.001)
    for number, (rod, step) in enumerate(targets.turns(stressing.targets)):
        aim = targets.target_at(stressing.targets, (rod, step))
        off = 1 + 0.001 * (number % 7) - 0.003
        production.record_reading(
            stressing, by=crew, rod=rod, step=step, torque_lbf_ft=aim["torque_lbf_ft"] * off,
            elongation_in=aim["elongation_in"] * (2 - off), crown_in=stressing.targets["crown"]["transfer_in"] * off,
            line_clear=True,
        )  # fmt: skip
    production.finish_stressing(stressing, by=crew)
    move(piece, Stage.STRESSED)
    transfer = stressing.targets["force_transfer_lbf"]
    for number, rod in enumerate(stressing.targets["order"]):
        production.record_lift_off(
            piece, by=crew, rod=rod, force_lbf=transfer[rod] * (0.99 - 0.007 * number), line_clear=True
        )
    values = {
        rod: stressing.targets["rods"][rod]["torque_lbf_ft"] * (1.003 + 0.002 * n)
        for n, rod in enumerate(stressing.targets["order"])
    }
    production.record_restressing(
        piece, by=crew, age_days=AGE_AGAIN, values=values, wrench=wrench, line_clear=True,
        crown_in=stressing.targets["crown"]["transfer_in"] * 0.97,
    )  # fmt: skip
    return stressing


def _proved(piece: Piece, crew: Any) -> None:
    layers = [{"number": 30 + n, "where": where} for n, where in enumerate(("middle", "left", "right", "all along"))]
    plan = production.plan_load_test(
        piece, by=crew, what="sand bags", unit_lbf=33.3, layers=layers, hold_minutes=61, stop_deflection_in=0.431
    )
    full = plan.total_lbf * 1.001
    for hours, load, dial in ((0, full / 2, 0.0131), (1, full, 0.0277), (3, full, 0.0283), (30, 0.0, 0.0021)):
        production.record_load_reading(
            plan, by=crew, load_lbf=load, deflection_in=dial, nobody_under=True,
            at=timezone.now() - timedelta(days=9) + timedelta(hours=hours),
        )  # fmt: skip
    production.conclude_load_test(plan, by=crew)
    move(piece, Stage.LOAD_TESTED)


def _finished(piece: Piece, crew: Any, design: Design) -> Piece:
    production.record_finishing(
        piece, by=crew, tails_cut=True, capped=True, greased=True, pockets_filled=True, note="grey grout"
    )
    wrong = quality.raise_non_conformance(piece, by=crew, what="a chip at the back edge", place="S2")
    quality.decide_non_conformance(
        wrong, by=person(Role.ENGINEER, first_name="Ruth", last_name="Okafor"), decision="use-as-is", note="cosmetic"
    )
    for stage in (Stage.FINISHED, Stage.DELIVERED):
        piece = move(piece, stage)
    supports = [s.at_in + 0.04 * (n + 1) for n, s in enumerate(_supports(piece))]
    production.record_installation(piece, by=crew, supports_in=supports, cautions_confirmed=True)
    return pieces.fresh(piece)


def _supports(piece: Piece) -> Any:
    return parse(piece.revision.specification.document).supports
