"""Stressing on the tablet: one rod, one step, one target at a time."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from engineering.queries import described_piece
from jobs import access, gates, rod_forces, targets
from jobs.actions import production
from jobs.actions.production.readings import over_limit
from jobs.actions.production.stressing import released_targets
from jobs.errors import Blocker, NotNow, ShopError
from jobs.forms.floor import ReadingForm, ReasonForm, StartStressingForm
from jobs.models import Event, Piece, Stressing, StressingReading
from jobs.queries import stressings_of
from jobs.views import stressing_plan, stressing_shown
from jobs.views.entries import accepted, attempt, person_of, posts_only, request_id_of, show
from jobs.views.stressing_shown import Turn, crown_shown, ladder, turn_of
from jobs.views.units import unit, units_of
from jobs.words import say, tell

KEYS = (*"123456789", ".", "0", "/")


def stressing(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    if request.method == "POST":
        return _start(request, piece)
    return stressing_page(request, piece)


def _start(request: HttpRequest, piece: Piece) -> HttpResponse:
    form = StartStressingForm(request.POST, by_torque=_by_torque(piece), units=units_of(piece))
    error = None
    if form.is_valid():
        made, error = attempt(
            lambda: production.start_stressing(
                piece, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
            ),
            form,
        )
        if made is not None:
            return accepted(
                request,
                tell("The stressing has begun."),
                reverse("stressing", args=[piece.pk]),
                draft=f"stressing-{piece.pk}",
            )
    return stressing_page(request, piece, error, start_form=form)


def stressing_page(
    request: HttpRequest,
    piece: Piece,
    error: ShopError | None = None,
    *,
    start_form: StartStressingForm | None = None,
    reading_form: ReadingForm | None = None,
) -> HttpResponse:
    rounds = stressings_of(piece)
    now = next((row for row in rounds if row.state == Stressing.State.OPEN), None)
    context: dict[str, Any] = {
        "here": "board",
        "piece": piece,
        "rounds": rounds,
        "now": now,
        "reason_form": ReasonForm(),
    }
    if now is None:
        start_form = start_form or StartStressingForm(by_torque=_by_torque(piece), units=units_of(piece))
        context |= {"start_form": start_form} | _to_begin(request, piece)
        return show(request, "jobs/floor/stressing_start.html", context, error, start_form)
    context |= {"round": now.request_id} | _under_way(request, now, now.newest_readings, reading_form)
    return show(request, "jobs/floor/stressing.html", context, error, context["reading_form"])


def _to_begin(request: HttpRequest, piece: Piece) -> dict[str, Any]:
    """What stands against a round; where nothing does, the whole of it too, so that a tablet without the network can
    begin one and go through it.
    """
    blockers = gates.stressing_blockers(piece)
    if blockers and not gates.opens_by_slackening(piece):
        return {"blockers": blockers}
    try:
        revision, _described, wanted = released_targets(piece)
    except ShopError as refusal:
        return {"blockers": [*blockers, Blocker(refusal.code, refusal.message, "")]}
    return {"blockers": blockers} | _under_way(
        request, Stressing(piece=piece, revision=revision, targets=wanted), {}, None
    )


def _by_torque(piece: Piece) -> bool:
    revision = piece.revision or gates.newest_revision(piece.design)
    stressing = described_piece(revision.specification).stressing if revision else None
    return stressing is not None and stressing.method == "torque"


def _under_way(
    request: HttpRequest,
    now: Stressing,
    read: dict[tuple[str, int], StressingReading],
    reading_form: ReadingForm | None,
) -> dict[str, Any]:
    """`now`: the round, or one that could begin and is in no table yet; `read`: what counts of it so far."""
    last = max(read.values(), key=lambda reading: (reading.recorded_at, reading.pk), default=None)
    stopped = any(over_limit(now, reading) for reading in read.values())
    turn = _chosen(request, now, read, last)
    units = now.targets["units"]
    if reading_form is None:
        start = {"rod": turn.rod, "step": turn.step} if turn else None
        reading_form = ReadingForm(initial=start, units=units)
    final = turn is not None and turn.step == len(now.targets["steps"]) - 1
    last_of_all = turn is not None and targets.next_turn(now.targets, {*read, (turn.rod, turn.step)}) is None
    return {
        "turn": turn,
        "last": last,
        "stopped": stopped,
        "reading_form": reading_form,
        "ladder": ladder(now, read, turn),
        "all_read": targets.next_turn(now.targets, read) is None,
        "out": targets.rods_out(now) if now.pk else [],
        "final_step": final,
        "crown_wanted": last_of_all,
        "crown": crown_shown(now.targets),
        "force_unit": unit("force", units),
        "last_forces": stressing_shown.forces_words(now, last),
        "last_findings": stressing_shown.findings_of(now, read, last),
        "coarse": rod_forces.gauge_too_coarse(now.targets, turn.rod, now.gauge_resolution_in) if turn else "",
        "torque_unit": unit("torque", units),
        "length_unit": unit("length", units),
        "steps": len(now.targets["steps"]),
        "plan": stressing_plan.plan(now, lambda one: turn_of(now, one)),
        "turn_title": stressing_plan.title(turn) if turn else "",
        "turn_under": stressing_plan.under(turn, len(now.targets["steps"])) if turn else "",
        "turn_button": stressing_plan.button(turn) if turn else "",
        "drawing": stressing_shown.crown_picture(now, read),
        "keys": KEYS,
        "repeating": turn is not None and (turn.rod, turn.step) in read,
    }


def _chosen(
    request: HttpRequest, now: Stressing, read: dict[tuple[str, int], StressingReading], last: StressingReading | None
) -> Turn | None:
    """The turn to do: one asked for again, the last one while it is out of tolerance, or the next."""
    asked = request.GET.get("again", "").rpartition(":")
    again = next((turn for turn in read if (asked[0], asked[2]) == (turn[0], str(turn[1]))), None)
    if again is not None:
        return turn_of(now, again)
    if last is not None and not last.within_tolerance and "on" not in request.GET:
        return turn_of(now, (last.rod, last.step))
    due = targets.next_turn(now.targets, read)
    return turn_of(now, due) if due else None


def _round_meant(request: HttpRequest, piece: Piece) -> Stressing:
    """The round that the entry was made for. What waited on a tablet never gets into another one that began since."""
    done = Event.objects.filter(request_id=request_id_of(request), piece=piece, detail__has_key="stressing").first()
    if done is not None:
        return Stressing.objects.get(pk=done.detail["stressing"])  # its answer was lost; the action finds what it did
    row = next((row for row in stressings_of(piece) if row.state == Stressing.State.OPEN), None)
    if row is None:
        raise NotNow(say("No stressing of {piece} is under way.", piece=piece))
    if request.POST.get("round") not in (None, "", str(row.request_id)):
        raise NotNow(say("Another stressing of {piece} is under way than the one this belongs to.", piece=piece))
    return row


@posts_only("stressing")
def reading(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    now, error = attempt(lambda: _round_meant(request, piece))
    if now is None:
        return stressing_page(request, piece, error)
    form = ReadingForm(request.POST, units=now.targets["units"])
    if form.is_valid():
        made, error = attempt(
            lambda: production.record_reading(
                now, by=person_of(request), request_id=request_id_of(request), **form.values()
            ),
            form,
        )
        if made is not None:
            said = (
                tell("Rod {rod}, step {step}: in tolerance, written down.", rod=made.rod, step=made.step + 1)
                if made.within_tolerance
                else tell("Rod {rod}, step {step}: OUT OF tolerance, written down.", rod=made.rod, step=made.step + 1)
            )
            return accepted(
                request, said, reverse("stressing", args=[pk]), draft=f"reading-{pk}", well=made.within_tolerance
            )
    return stressing_page(request, piece, error, reading_form=form)


@posts_only("stressing")
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """The last reading, by a counter-entry."""
    piece = access.piece_for(request.user, pk, may="produce")
    sent = request.POST.get("reading", "")
    made, error = attempt(
        lambda: production.take_back_reading(
            _round_meant(request, piece),
            by=person_of(request),
            reading=int(sent) if sent.isascii() and sent.isdecimal() else 0,
            reason=request.POST.get("reason", ""),
            request_id=request_id_of(request),
        )
    )
    if made is not None:
        back = reverse("stressing", args=[pk])
        return accepted(request, _("Taken back. Both entries stay in the book."), back, draft=f"take-back-{pk}")
    return stressing_page(request, piece, error)


@posts_only("stressing")
def finish(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    made, error = attempt(
        lambda: production.finish_stressing(
            _round_meant(request, piece), by=person_of(request), request_id=request_id_of(request)
        )
    )
    if made is not None:
        return accepted(
            request, tell("The stressing of {piece} is complete.", piece=piece), reverse("piece", args=[pk])
        )
    return stressing_page(request, piece, error)


@posts_only("stressing")
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    made, error = attempt(
        lambda: production.stop_stressing(
            _round_meant(request, piece),
            by=person_of(request),
            reason=request.POST.get("reason", ""),
            request_id=request_id_of(request),
        )
    )
    if made is not None:
        return accepted(
            request,
            tell("The stressing of {piece} is stopped. A new one starts from the first turn.", piece=piece),
            reverse("piece", args=[pk]),
            draft=f"stop-{pk}",
        )
    return stressing_page(request, piece, error)
