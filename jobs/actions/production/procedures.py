"""Lift-off, re-stressing, slackening, a broken rod, an incident, and the finish of the ends."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.utils import timezone

from engineering.queries import described_piece
from jobs import later_targets
from jobs.access import need
from jobs.actions import events, pieces, quality
from jobs.actions.pieces import locked
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number, number_or_none, when_done
from jobs.errors import BadEntry, GateClosed, NotNow
from jobs.floor_gates import nothing_is_open, rods_are_still_tight, strength_at_stressing, wrench_is_calibrated
from jobs.models import Finishing, Incident, LiftOff, Person, Piece, Restressing, Stage, Stressing, Wrench
from jobs.procedures import PROCEDURES
from jobs.standing import Standing
from jobs.tightness import last_complete, restress_ages, restress_dues
from jobs.words import say

NOTE_LENGTH = 5_000
TIGHT = (Stage.STRESSED, Stage.LOAD_TESTED, Stage.FINISHED, Stage.DELIVERED, Stage.INSTALLED)
LINE_FIRST = "Confirm that nobody stands in the line of the rod. Nothing was written."


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
def record_incident(
    piece: Piece,
    *,
    by: Person,
    kind: str,
    what: str,
    rods: Sequence[str] = (),
    somebody_hurt: bool = False,
    confirmed: Sequence[str] = (),
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> Incident:
    """Slackening, a broken rod or an incident. It ends a stressing under way; a breakage or an incident also holds
    the piece and raises a non-conformance. It is a fact, so it is taken at every stage.
    """
    need(by, "produce")
    if event := events.seen(request_id, "incident-recorded", by, piece=piece):
        return Incident.objects.get(pk=event.detail["incident"])
    if kind not in PROCEDURES:
        raise BadEntry(say("Say whether rods were slackened, a rod broke, or it was an incident."), field="kind")
    procedure, piece = PROCEDURES[kind], locked(piece)
    steps = [step for step in procedure.first if step in confirmed]
    if procedure.planned and len(steps) < len(procedure.first):
        raise BadEntry(say("Every step has to be confirmed first. Nothing was written."), field="confirmed")
    made = Incident.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        kind=kind,
        rods=_rods_of(piece, rods, needed=kind != Incident.Kind.INCIDENT),
        what=clean_text(what, name="account", most=NOTE_LENGTH, required=True),
        somebody_hurt=somebody_hurt is True,
        confirmed=steps,
    )
    events.record(
        "incident-recorded",
        f"{piece}: {made.get_kind_display().lower()}{', SOMEBODY WAS HURT' if made.somebody_hurt else ''}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"incident": made.pk, "kind": kind, "rods": made.rods, "what": made.what, "confirmed": steps},
    )
    _stop_what_is_under_way(made)
    if procedure.holds:
        _hold(made)
    return made


def _rods_of(piece: Piece, rods: Sequence[str], *, needed: bool) -> list[str]:
    known = [rod.mark for rod in described_piece(piece.revision.specification).rods] if piece.revision else []
    if unknown := [rod for rod in rods if rod not in known]:
        raise BadEntry(
            say("{piece} has no rod {join}.", piece=piece, join=", ".join(str(rod)[:40] for rod in unknown)),
            field="rods",
        )
    if needed and not rods:
        raise BadEntry(say("Say which rods."), field="rods")
    return [rod for rod in known if rod in rods]


def _stop_what_is_under_way(incident: Incident) -> None:
    piece = incident.piece
    under_way = Stressing.objects.filter(piece=piece, state=Stressing.State.OPEN)
    if under_way.update(state=Stressing.State.STOPPED, finished_at=timezone.now()):
        events.record(
            "stressing-stopped",
            f"Stressing of {piece} stopped: {incident.get_kind_display().lower()}",
            by=incident.by,
            piece=piece,
            detail={"incident": incident.pk, "reason": incident.what},
        )


def _hold(incident: Incident) -> None:
    piece, words = incident.piece, f"{incident.get_kind_display()}: {incident.what}"
    if piece.stage not in quality.NOT_YET_A_PIECE:
        quality.raise_non_conformance(piece, by=incident.by, what=words, place=", ".join(incident.rods)[:200])
    if piece.stage not in (Stage.HELD, Stage.REJECTED, Stage.INSTALLED):
        pieces.hold(piece, by=incident.by, reason=words[: pieces.REASON_LENGTH])


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
