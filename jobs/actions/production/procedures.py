"""What comes after the first round: lift-off, re-stressing, and the finish of the ends."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from jobs import later_targets
from jobs.access import need
from jobs.actions import events, quality
from jobs.actions.pieces import locked
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number, number_or_none, when_done
from jobs.errors import BadEntry, GateClosed, NotNow
from jobs.floor_gates import nothing_is_open, rods_are_still_tight, strength_at_stressing, wrench_is_calibrated
from jobs.models import Finishing, LiftOff, Person, Piece, Restressing, Stage, Stressing, Wrench
from jobs.standing import Standing
from jobs.tightness import last_complete, restress_ages, restress_dues
from jobs.words import say

NOTE_LENGTH = 5_000
TIGHT = (Stage.STRESSED, Stage.LOAD_TESTED, Stage.FINISHED, Stage.DELIVERED, Stage.INSTALLED)
LINE_FIRST = say("Confirm that nobody stands in the line of the rod. Nothing was written.")


@one_act
def record_lift_off(
    piece: Piece,
    *,
    by: Person,
    rod: str,
    force_lbf: float,
    line_clear: bool = False,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> LiftOff:
    """The force at which the nut left its plate; out of tolerance it raises a non-conformance by itself."""
    need(by, "produce")
    if event := events.seen(request_id, "lifted-off", by, piece=piece):
        return LiftOff.objects.get(pk=event.detail["lift_off"])
    piece = locked(piece)
    stressing = last_complete(piece)
    if stressing is None:
        raise NotNow(say("The rods of {piece} are not stressed yet; there is nothing to lift off.", piece=piece))
    if rod not in stressing.targets["order"]:
        raise BadEntry(say("{piece} has no rod {rod}.", piece=piece, rod=str(rod)[:40]), field="rod")
    if line_clear is not True:
        raise BadEntry(LINE_FIRST, field="line_clear")
    force = number(force_lbf, name="lift-off force", least=0, most=1e6, unit="lbf")
    expected = stressing.targets.get("force_transfer_lbf", {}).get(rod)
    findings = later_targets.lift_off_findings(stressing.targets, force, expected)
    made = LiftOff.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        stressing=stressing,
        rod=rod,
        force_lbf=force,
        expected_lbf=expected,
        line_clear=True,
        within_tolerance=not findings,
        findings=findings,
    )
    events.record(
        "lifted-off",
        f"{piece}: rod {rod} lifted off, {'OUT OF' if findings else 'in'} tolerance",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"lift_off": made.pk, "rod": rod, "force_lbf": force, "expected_lbf": expected, "findings": findings},
    )
    if findings:
        quality.raise_non_conformance(piece, by=by, what=" ".join(findings), place=f"rod {rod}"[:200])
    return made


@one_act
def record_restressing(
    piece: Piece,
    *,
    by: Person,
    age_days: float,
    values: dict[str, float],
    wrench: Wrench | None = None,
    crown_in: float | None = None,
    line_clear: bool = False,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> Restressing:
    """Every rod back to its jacking force at an age of the specification. `values`: for each rod the torque [lbf·ft],
    or, where the method is not torque, the force [lbf].
    """
    need(by, "produce")
    if event := events.seen(request_id, "restressed", by, piece=piece):
        return Restressing.objects.get(pk=event.detail["restressing"])
    piece = locked(piece)
    done = _tight(piece, wrench)
    described = Standing(piece).described
    if age_days not in restress_ages(described):
        raise BadEntry(say("The drawing asks for no re-stressing at that age."), field="age_days")
    if age_days not in {due.age_days for due in restress_dues(piece, described)}:
        age = f"{age_days:g}"
        raise NotNow(say("The re-stressing of {piece} at {age} days is done already.", piece=piece, age=age))
    if line_clear is not True:
        raise BadEntry(LINE_FIRST, field="line_clear")
    rods, findings = _brought_back(done, values)
    crown = number_or_none(crown_in, name="crown", least=-50, most=50, unit="in")
    findings += later_targets.crown_findings(done.targets, crown)
    made = Restressing.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        revision=done.revision,
        age_days=age_days,
        wrench=wrench,
        rods=rods,
        crown_in=crown,
        line_clear=True,
        within_tolerance=not findings,
        findings=findings,
    )
    events.record(
        "restressed",
        f"{piece} re-stressed at {age_days:g} days, {'OUT OF' if findings else 'in'} tolerance",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"restressing": made.pk, "rods": rods, "crown_in": crown, "findings": findings},
    )
    return made


def _tight(piece: Piece, wrench: Wrench | None) -> Stressing:
    """The last complete stressing of a piece that may be brought back to force now, or GateClosed."""
    done, standing = last_complete(piece), Standing(piece)
    if done is None or piece.stage not in TIGHT:
        raise NotNow(
            say(
                "{piece} is {stage}; re-stressing comes after its first stressing is complete.",
                piece=piece,
                stage=piece.stage,
            )
        )
    missing = [
        *rods_are_still_tight(standing),
        *nothing_is_open(standing),
        *strength_at_stressing(standing),
        *wrench_is_calibrated(standing, wrench),
    ]
    if missing:
        raise GateClosed(say("{piece} may not be re-stressed", piece=piece), missing)
    if done.targets["method"] == "torque" and wrench is None:
        raise BadEntry(say("Say which torque wrench is used."), field="wrench")
    return done


def _brought_back(done: Stressing, values: dict[str, float]) -> tuple[list[dict[str, Any]], list[str]]:
    rods, findings = [], []
    by_torque = done.targets["method"] == "torque"
    key, name, unit = ("torque_lbf_ft", "torque", "lbf·ft") if by_torque else ("force_jacking_lbf", "force", "lbf")
    for rod in done.targets["order"]:
        if rod not in values:
            raise BadEntry(say("Rod {rod} is missing: every rod is brought back.", rod=rod), field="values")
        value = number(values[rod], name=f"{name} of rod {rod}", least=0, most=1e6, unit=unit)
        aim = done.targets["rods"][rod][key]
        rods.append({"rod": rod, key: value, "target": aim})
        findings += later_targets.brought_back_findings(done.targets, rod, value)
    return rods, findings


@one_act
def record_finishing(
    piece: Piece,
    *,
    by: Person,
    tails_cut: bool = False,
    capped: bool = False,
    greased: bool = False,
    pockets_filled: bool = False,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> Finishing:
    """What of the ends is done now; the newest entry counts."""
    need(by, "produce")
    if event := events.seen(request_id, "finish-recorded", by, piece=piece):
        return Finishing.objects.get(pk=event.detail["finishing"])
    piece = locked(piece)
    if piece.stage not in (Stage.STRESSED, Stage.LOAD_TESTED):
        raise NotNow(
            say(
                "{piece} is {stage}; the ends are finished after stressing, before it is marked finished.",
                piece=piece,
                stage=piece.stage,
            )
        )
    points = {"tails_cut": tails_cut, "capped": capped, "greased": greased, "pockets_filled": pockets_filled}
    made = Finishing.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        **points,
    )
    events.record(
        "finish-recorded",
        f"Ends of {piece}: {', '.join(name.replace('_', ' ') for name, done in points.items() if done) or 'none done'}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"finishing": made.pk, **points},
    )
    return made
