"""Pieces on their way over the floor, and what is written down of them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.utils import timezone

from engineering.queries import described_piece, latest_run
from jobs import targets
from jobs.actions import pieces, production
from jobs.load_tests import load_for
from jobs.models import (
    CouponTest,
    Design,
    LoadTestPlan,
    Mix,
    Person,
    Piece,
    Pour,
    Release,
    Role,
    Stage,
    Stressing,
)
from tests.factories.book import make_design, make_wrench, numbers, person, release


def move(piece: Piece, to_stage: str, by: Person | None = None) -> Piece:
    pieces.move(piece, to_stage, by=by or person(), request_id=uuid4())
    return pieces.fresh(piece)


def piece_at(stage: str, design: Design | None = None, **fields: Any) -> Piece:
    """A piece that went, through every gate, as far as `stage`."""
    by = person()
    design = design or make_design(by=by, **fields)
    piece = Piece.objects.filter(design=design).order_by("serial")[0]
    if stage == Stage.ORDERED:
        return piece
    for step in _way_to(stage, load_test=design.load_test_required):
        _prepare(piece, step, by)
        if pieces.fresh(piece).stage != step:  # a release has taken it along already
            piece = move(piece, step, by)
    return pieces.fresh(piece)


def _way_to(stage: str, *, load_test: bool) -> list[Stage]:
    line = [step for step in list(Stage)[1:-2] if load_test or step != Stage.LOAD_TESTED]
    return line[: line.index(Stage(stage)) + 1]


def _prepare(piece: Piece, to_stage: str, by: Person) -> None:
    """Write down what the gate of the next stage asks for."""
    piece = pieces.fresh(piece)
    if to_stage == Stage.RELEASED and not Release.objects.filter(revision__design=piece.design).exists():
        release(piece.design)
    elif to_stage == Stage.POURED:
        check_form(piece, by)
        pour(piece, by)
    elif to_stage == Stage.STRIPPED:
        strength_test(piece, by)
        good_coupons(piece, by)  # for the gate to stressed
    elif to_stage == Stage.STRESSED:
        stress(piece, by)
    elif to_stage == Stage.FINISHED:
        finish_ends(piece, by)
    elif to_stage == Stage.LOAD_TESTED:
        load_test(piece, by)
    elif to_stage == Stage.INSTALLED:
        production.record_installation(piece, by=by, supports_in=[4.1, 103.8], cautions_confirmed=True)


def plan_load_test(piece: Piece, by: Person | None = None, **fields: Any) -> LoadTestPlan:
    layers = [{"number": 10, "where": place} for place in ("middle", "left third", "right third", "all along")]
    given = {"what": "sand bags", "unit_lbf": 31.0, "layers": layers, "hold_minutes": 60, **fields}
    return production.plan_load_test(piece, by=by or person(Role.CREW), **given)


def read_load(plan: LoadTestPlan, load_lbf: float, deflection_in: float, hours: float, **fields: Any) -> None:
    """One reading, so many hours after a moment ten days ago."""
    production.record_load_reading(
        plan,
        load_lbf=load_lbf,
        deflection_in=deflection_in,
        at=timezone.now() - timedelta(days=10) + timedelta(hours=hours),
        **{"nobody_under": True, **fields, "by": fields.get("by") or person(Role.CREW)},
    )


def load_test(piece: Piece, by: Person | None = None) -> Any:
    """One that its plan and readings accept: all of the load, an hour, a fifth of the deflection that is allowed."""
    described = described_piece(piece.revision.specification)
    load = load_for(described, latest_run(piece.revision.specification))
    plan = plan_load_test(piece, by, unit_lbf=load.to_put_on_lbf / 40 + 1)
    for hours in (0, 1):
        read_load(plan, 40 * plan.unit_lbf, 0.2 * load.limit_in, hours, by=by)
    return production.conclude_load_test(plan, by=by or person(Role.CREW))


def finish_ends(piece: Piece, by: Person | None = None, **points: bool) -> Any:
    done = {"tails_cut": True, "capped": True, "greased": True, "pockets_filled": True}
    return production.record_finishing(piece, by=by or person(Role.CREW), **{**done, **points})


def check_form(piece: Piece, by: Person | None = None, **points: bool) -> Any:
    return production.record_form_check(
        piece, by=by or person(Role.CREW), **{"core_held": True, "sleeves_sealed": True, "pockets_set": True, **points}
    )


def pour(piece: Piece, by: Person | None = None) -> Any:
    return production.record_pour([piece], by=by or person(Role.CREW), batch=f"B-{next(numbers)}")


def pour_long_ago(piece: Piece, *, days: float) -> Piece:
    """The same piece, poured so many days ago: no action writes the past, so the row is set."""
    Pour.objects.filter(pk=piece.pour_id).update(at=timezone.now() - timedelta(days=days))
    return pieces.fresh(piece)


def strength_test(
    piece: Piece, by: Person | None = None, specimens: tuple[float, ...] = (5000, 5200), **fields: Any
) -> Any:
    piece = pieces.fresh(piece)
    return production.record_strength_test(
        piece.pour, by=by or person(Role.CREW), **{"kind": "cylinder", "specimens_psi": list(specimens), **fields}
    )


def start(piece: Piece, by: Person | None = None) -> Stressing:
    return production.start_stressing(piece, by=by or person(Role.CREW), wrench=make_wrench())


def read(stressing: Stressing, rod: str, step: int, by: Person | None = None, **fields: Any) -> Any:
    """One reading, on target unless `fields` say otherwise."""
    aim = targets.target_at(stressing.targets, (rod, step))
    return production.record_reading(
        stressing,
        by=by or person(Role.CREW),
        rod=rod,
        step=step,
        **{
            "torque_lbf_ft": aim["torque_lbf_ft"],
            "elongation_in": aim["elongation_in"],
            "crown_in": stressing.targets["crown"]["transfer_in"],
            "line_clear": True,
            **fields,
        },
    )


def stress(piece: Piece, by: Person | None = None) -> Stressing:
    by = by or person(Role.CREW)
    stressing = start(piece, by)
    for rod, step in targets.turns(stressing.targets):
        read(stressing, rod, step, by)
    return production.finish_stressing(stressing, by=by)


def good_coupons(piece: Piece, by: Person) -> None:
    """Six of the mix of its pour, twice as strong as the drawing counts on, as rows alone: 20 lbf on 10 × 2 × 0.5 in
    are 400 psi.
    """
    pour = Pour.objects.get(pk=pieces.fresh(piece).pour_id)
    if pour.mix_id is None:
        Pour.objects.filter(pk=pour.pk).update(mix=Mix.objects.create(name=f"Mix {next(numbers)}"))
    concrete = described_piece(pieces.fresh(piece).revision.specification).concrete
    size = {"span_in": 10, "width_in": 2, "depth_in": 0.5}
    loads = {
        "yield_lbf": 2 * concrete.flexural_yield_psi / 20,
        "ultimate_lbf": 2 * concrete.flexural_ultimate_psi / 20,
    }
    CouponTest.objects.create(by=by, at=timezone.now(), pour=pour, specimens=[loads | size] * 6)
