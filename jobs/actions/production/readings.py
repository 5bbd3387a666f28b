"""Readings of a round of tightening, turn by turn: put right by a later one or taken back, never deleted."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from uuid import UUID, uuid4

from jobs import rod_forces, targets
from jobs.access import need
from jobs.actions import events
from jobs.actions.pieces import locked
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number_or_none, when_done
from jobs.errors import BadEntry, NotNow
from jobs.models import Person, Stressing, StressingReading
from jobs.words import say

NOTE_LENGTH = 5_000


@one_act
def record_reading(
    stressing: Stressing,
    *,
    by: Person,
    rod: str,
    step: int,
    torque_lbf_ft: float | None = None,
    elongation_in: float | None = None,
    crown_in: float | None = None,
    lift_off_lbf: float | None = None,
    line_clear: bool = False,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> StressingReading:
    """One rod at one step (0-based), judged against its targets. A wrong reading is answered by a later one of the
    same turn.
    """
    need(by, "produce")
    if event := events.seen(request_id, "rod-read", by, piece=stressing.piece):
        return StressingReading.objects.get(pk=event.detail["reading"])
    stressing = open_round(stressing)
    turn = _turn(stressing, rod, step)
    if line_clear is not True:
        raise BadEntry(
            say("Confirm that nobody stands in the line of the rod. Nothing was written."), field="line_clear"
        )
    measured = _measured(torque_lbf_ft, elongation_in, crown_in, lift_off_lbf)
    coarse = rod_forces.gauge_too_coarse(stressing.targets, rod, stressing.gauge_resolution_in)
    if measured.elongation_in is not None and coarse:
        raise BadEntry(coarse, field="elongation_in")
    read = stressing.newest_readings
    verdict = targets.judge(
        stressing.targets, turn, measured, all_tight=targets.next_turn(stressing.targets, {*read, turn}) is None
    )
    reading = StressingReading.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        stressing=stressing,
        rod=rod,
        step=step,
        **asdict(measured),
        line_clear=True,
        within_tolerance=verdict.within_tolerance,
        findings=verdict.findings,
    )
    _tell(reading, by=by, request_id=request_id)
    return reading


@one_act
def take_back_reading(
    stressing: Stressing, *, by: Person, reading: int, reason: str, request_id: UUID | None = None
) -> StressingReading:
    """A counter-entry: the last reading counts no more, and both stay in the book.

    `reading`: its number. One over the limit of the crown is not taken back: that round is over.
    """
    need(by, "produce")
    if event := events.seen(request_id, "reading-taken-back", by, piece=stressing.piece):
        return StressingReading.objects.get(pk=event.detail["counter_entry"])
    reason = clean_text(reason, name="reason", most=2_000, required=True)
    stressing = open_round(stressing)
    last = max(stressing.newest_readings.values(), key=lambda row: (row.recorded_at, row.pk), default=None)
    if last is None or last.pk != reading:
        raise NotNow(
            say("Only the last reading can be taken back. Reload to see which that is; read any other one again.")
        )
    if over_limit(stressing, last):
        raise NotNow(
            say("A crown over its limit is not taken back. Slacken, stop this stressing and ask the engineer.")
        )
    made = StressingReading.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(None),
        stressing=stressing,
        rod=last.rod,
        step=last.step,
        within_tolerance=False,
        findings=[f"Taken back: {reason}"],
        takes_back=last,
    )
    events.record(
        "reading-taken-back",
        f"{stressing.piece}: the reading of {last} was taken back: {reason}",
        by=by,
        piece=stressing.piece,
        request_id=request_id,
        detail={"stressing": stressing.pk, "reading": last.pk, "counter_entry": made.pk, "reason": reason},
    )
    return made


def open_round(stressing: Stressing) -> Stressing:
    """The round as it stands now, its piece locked. NotNow where it is closed."""
    piece = locked(stressing.piece)
    now = Stressing.objects.select_related("revision").get(pk=stressing.pk)
    now.piece = piece
    if now.state != Stressing.State.OPEN:
        raise NotNow(
            say(
                "This stressing of {piece} is {state}; nothing can be added to it.",
                piece=piece,
                state=now.get_state_display().lower(),
            )
        )
    return now


def _measured(
    torque_lbf_ft: float | None, elongation_in: float | None, crown_in: float | None, lift_off_lbf: float | None
) -> targets.Measured:
    return targets.Measured(
        torque_lbf_ft=number_or_none(torque_lbf_ft, name="torque", least=0, most=5_000, unit="lbf·ft"),
        elongation_in=number_or_none(elongation_in, name="stretch", least=-1, most=20, unit="in"),
        crown_in=number_or_none(crown_in, name="crown", least=-50, most=50, unit="in"),
        lift_off_lbf=number_or_none(lift_off_lbf, name="lift-off force", least=0, most=1e6, unit="lbf"),
    )


def _tell(reading: StressingReading, *, by: Person, request_id: UUID | None) -> None:
    """The event of a reading."""
    piece = reading.stressing.piece
    events.record(
        "rod-read",
        f"{piece}: {reading} read, {'in' if reading.within_tolerance else 'OUT OF'} tolerance",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={
            "stressing": reading.stressing_id,
            "reading": reading.pk,
            "rod": reading.rod,
            "step": reading.step,
            "torque_lbf_ft": reading.torque_lbf_ft,
            "elongation_in": reading.elongation_in,
            "crown_in": reading.crown_in,
            "lift_off_lbf": reading.lift_off_lbf,
            "findings": reading.findings,
        },
    )


def _turn(stressing: Stressing, rod: str, step: int) -> targets.Turn:
    """The turn that was read: the next one, or one that was read before. No turn is skipped, and none follows a
    stop.
    """
    turn, plan = (rod, step), targets.turns(stressing.targets)
    if turn not in plan:
        raise BadEntry(
            say("The specification has no rod {rod} with a step {step}.", rod=str(rod)[:40], step=step + 1), field="rod"
        )
    read = stressing.newest_readings
    if turn in read:
        return turn
    if any(over_limit(stressing, reading) for reading in read.values()):
        raise NotNow(
            say(
                "The crown or sag is over its limit. No further turn: slacken, stop this stressing and ask the "
                "engineer."
            )
        )
    due = targets.next_turn(stressing.targets, read)
    if due is not None and turn != due:
        raise NotNow(
            say(
                "Rod {rod} step {step} comes next; every rod is brought to a step before any goes on to the "
                "following one.",
                rod=due[0],
                step=due[1] + 1,
            )
        )
    return turn


def over_limit(stressing: Stressing, reading: StressingReading) -> bool:
    return reading.crown_in is not None and abs(reading.crown_in) > stressing.targets["crown"]["limit_in"]
