"""Orders, designs, pieces and people for tests: plain functions over the site's own actions, so that events are
there too.

`finished_checks` lands a made-up result on a waiting run by the worker's own door (claim, finish): tests of gates and
pages need a given verdict, not the engine's. The engine is tested in `tests/core`.
"""

from __future__ import annotations

import io
import itertools
from copy import deepcopy
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.utils import timezone

from engineering import leases
from engineering.core.contract import canonical_hash
from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun
from engineering.queries import described_piece, latest_run
from jobs import targets
from jobs.actions import attachments, designs, orders, people, pieces, production, shop
from jobs.attachments import read_upload
from jobs.load_tests import load_for
from jobs.models import (
    Attachment,
    CouponTest,
    Design,
    LoadTestPlan,
    Mix,
    Order,
    Person,
    Piece,
    Pour,
    Release,
    Revision,
    Role,
    Stage,
    Stressing,
    Wrench,
)

PASSWORD = "long enough for tests 7"
_numbers = itertools.count(1)

DOCUMENT: dict[str, Any] = {
    "format": "piece-specification/1",
    "mark": "C-104",
    "title": "Counter",
    "units": "us",
    "length": 108,
    "zones": [{"to": 108, "shape": {"type": "solid", "width": 25, "depth": 3}}],
    "supports": [{"at": 4, "bearing": 2}, {"at": 104, "bearing": 2}],
    "loads": [{"label": "use", "case": "live", "type": "area", "value": 40}],
    "concrete": {
        "density": 130,
        "strength": 7000,
        "strength_at_stressing": 4500,
        "modulus": 2500000,
        "modulus_at_stressing": 2000000,
        "flexural_yield": 1000,
        "flexural_ultimate": 1800,
        "shrinkage": 0.0006,
        "creep": 2.0,
    },
    "rods": [
        {
            "mark": "R1",
            "thread": "1/2-13 UNC",
            "grade": "A193 B7",
            "across": 6,
            "profile": [[3, 1.25], [105, 1.25]],
            "sleeve": {"outside": 0.75, "friction": 0.15, "wobble": 0.0005},
            "anchor": {"width": 3.5, "height": 1.75, "thickness": 0.625, "hole": 0.5625},
            "pocket": {"width": 3.75, "height": 2},
            "jacking_force": 8600,
        },
        {"mark": "R2", "like": "R1", "across": 19},
    ],
    "stressing": {"age": 7, "method": "torque", "steps": [0.5, 1.0], "order": ["R2", "R1"]},
    "handling": {"lift_points": [22, 86], "age": 2, "strength": 2500},
}


def document(**changes: Any) -> dict[str, Any]:
    """A small counter with two rods, two steps; `changes` replace top-level keys, None leaves a key out."""
    made = deepcopy(DOCUMENT) | changes
    return {key: value for key, value in made.items() if value is not None}


def without_rods(**changes: Any) -> dict[str, Any]:
    return document(rods=None, stressing=None, **changes)


def result_for(revision: Revision, verdict: str = "pass") -> dict[str, Any]:
    """A result document with the figures that stressing needs, round numbers, in US units."""
    rods = [rod["mark"] for rod in revision.specification.document.get("rods", [])]
    figures: dict[str, Any] = {
        "batch.volume": 4.2,
        "weight": 610.0,
        "crown.transfer": 0.10,
        "crown.transfer_low": 0.07,
        "crown.transfer_high": 0.13,
    }
    for mark in rods:
        figures |= {
            f"rod.{mark}.torque": 80.0,
            f"rod.{mark}.elongation": 0.25,
            f"rod.{mark}.nut_turns": 3.5,
            f"rod.{mark}.force_jacking": 8600.0,
            f"rod.{mark}.force_transfer": 8000.0,
        }
    unit = {
        "torque": "lbf·ft",
        "elongation": "in",
        "nut_turns": "",
        "force_jacking": "lbf",
        "force_transfer": "lbf",
        "volume": "ft³",
        "weight": "lbf",
    }
    return {
        "format": "check-result/1",
        "mark": revision.design.mark,
        "units": "us",
        "engine": ENGINE_VERSION,
        "specification": canonical_hash(revision.specification.document),
        "basis": ["made up for a test"],
        "verdict": verdict,
        "checks": [
            {
                "name": "crown at stressing",
                "clause": "",
                "verdict": "pass",
                "demand": 0.1,
                "capacity": 0.45,
                "unit": "in",
                "ratio": 0.22,
                "at": 54,
                "variant": "high",
                "working": ["0.10 / 0.45 = 0.22"],
                "caution": "",
                "why": "",
            }
        ],
        "figures": {
            name: {"value": value, "unit": unit.get(name.rpartition(".")[2], "in"), "at": None, "why": ""}
            for name, value in figures.items()
        },
        "series": {},
        "cautions": [],
    }


def person(role: str = Role.MANAGER, **fields: Any) -> Person:
    """An active person; an engineer is licensed unless told otherwise."""
    number = next(_numbers)
    licence = {"licence_number": f"E-{number}", "jurisdiction": "Anywhere"} if role == Role.ENGINEER else {}
    made = Person(
        **{
            "username": f"{role}-{number}",
            "role": role,
            "first_name": str(role).title(),
            "last_name": f"No. {number}",
            **licence,
            **fields,
        }
    )
    made.set_password(PASSWORD)
    made.save()
    return made


def make_order(by: Person | None = None, **fields: Any) -> Order:
    number = next(_numbers)
    return orders.create_order(by or person(), **{"number": f"O-{number}", "client": f"Client {number}", **fields})


def make_design(
    order: Order | None = None, by: Person | None = None, verdict: str | None = "pass", **fields: Any
) -> Design:
    """A design with one piece, its checks finished with `verdict`; verdict=None leaves them waiting."""
    by = by or person()
    made = designs.create_design(order or make_order(by), by=by, **{"document": document(), **fields})
    if verdict:
        finished_checks(newest(made), verdict)
    return made


def newest(design: Design) -> Revision:
    return Revision.objects.filter(design=design).select_related("design__order", "specification").latest("number")


def finished_checks(revision: Revision, verdict: str = "pass") -> CheckRun:
    waiting = latest_run(revision.specification)
    assert waiting is not None
    claimed = leases.claim(waiting.pk)
    assert claimed is not None
    assert leases.finish(claimed, result_for(revision, verdict))
    return CheckRun.objects.get(pk=claimed.pk)


def revise(design: Design, verdict: str | None = "pass", by: Person | None = None, **changes: Any) -> Revision:
    """The next revision, a little longer bearing making it another document, its checks finished with `verdict`."""
    before = newest(design)
    changed = {"supports": [{"at": 4, "bearing": 2 + 0.01 * before.number}, {"at": 104, "bearing": 2}]}
    made = designs.revise(
        design,
        by=by or person(),
        base_revision=before.number,
        document={**before.specification.document, **changed, **changes},
    )
    if verdict:
        finished_checks(made, verdict)
    return made


def release(design: Design, by: Person | None = None) -> Release:
    return designs.release(newest(design), by=by or person(Role.ENGINEER))


def make_wrench(**fields: Any) -> Wrench:
    days = fields.pop("days", 90)
    return shop.save_wrench(
        by=person(),
        **{
            "name": f"Wrench {next(_numbers)}",
            "calibrated_until": timezone.localdate() + timedelta(days=days),
            **fields,
        },
    )


def make_mix() -> Mix:
    return shop.save_mix(by=person(), name=f"Mix {next(_numbers)}")


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
    return production.record_pour([piece], by=by or person(Role.CREW), batch=f"B-{next(_numbers)}")


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
        Pour.objects.filter(pk=pour.pk).update(mix=Mix.objects.create(name=f"Mix {next(_numbers)}"))
    concrete = described_piece(pieces.fresh(piece).revision.specification).concrete
    size = {"span_in": 10, "width_in": 2, "depth_in": 0.5}
    loads = {
        "yield_lbf": 2 * concrete.flexural_yield_psi / 20,
        "ultimate_lbf": 2 * concrete.flexural_ultimate_psi / 20,
    }
    CouponTest.objects.create(by=by, at=timezone.now(), pour=pour, specimens=[loads | size] * 6)


def make_attachment(order: Order, by: Person | None = None, piece: Piece | None = None, **fields: Any) -> Attachment:
    """A small text hung on an order."""
    upload = read_upload(io.BytesIO(b"The lift is 1.1 m wide."), **{"name": "lift.txt", "size": None, **fields})
    return attachments.attach(order, by=by or person(), upload=upload, piece=piece)


def token(owner: Person, **fields: Any) -> str:
    """The key of a fresh token."""
    return people.issue_token(
        owner,
        by=owner,
        **{"label": "test", "expires_at": timezone.now() + timedelta(days=1), "read_only": False, **fields},
    )[1]
