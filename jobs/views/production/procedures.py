"""Lift-off, re-stressing, slackening, a broken rod, an incident, and the finish of the ends: a page each."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse

from jobs import access
from jobs.actions import production
from jobs.errors import NotNow, Unknown
from jobs.floor_gates import FINISH_WORDS, finish_asked_for
from jobs.forms.procedures import FinishingForm, IncidentForm, LiftOffForm, RestressingForm
from jobs.models import Incident
from jobs.procedures import PROCEDURES
from jobs.tightness import last_complete, lift_off_due, restress_ages, restress_dues
from jobs.views.entries import person_of, request_id_of
from jobs.views.floor import described
from jobs.views.production import rods_later
from jobs.views.production.pages import Loud, Table, data_of, day_of, entry_page, to_piece, when
from jobs.views.units import shown, unit, units_of
from jobs.words import say, tell

LINE = say(
    "Stand clear of the rods' line, in front and behind, while a jack or wrench is on and whenever a pocket is open."
)


def lift_off(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    done, units = last_complete(piece), units_of(piece)
    if done is None:
        raise NotNow(say("The rods of {piece} are not stressed yet; there is nothing to lift off.", piece=piece))
    due, force = lift_off_due(done), unit("force", units)
    rows = [
        [
            row.rod,
            f"{shown(row.force_lbf, 'force', units)} {force}",
            f"{shown(row.expected_lbf, 'force', units)} {force}",
            tell("in tolerance") if row.within_tolerance else Loud(tell("OUT OF tolerance")),
            f"{when(row.at)}, {row.by.display_name}",
        ]
        for row in piece.lift_offs.select_related("by").order_by("-at", "-pk")
    ]
    form = LiftOffForm(*data_of(request), rods=done.targets["order"], units=units)
    return entry_page(
        request,
        form,
        lambda: production.record_lift_off(
            piece, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
        ),
        piece=piece,
        heading=tell("Lift-off of {piece}", piece=piece),
        lead=tell("From {due} on, 24 hours after the last turn.", due=when(due)) if due else "",
        cautions=[LINE],
        targets=rods_later.lift_off_aims(done),
        alike=True,
        plan=rods_later.lift_off_plan(done),
        script=rods_later.SCRIPT,
        template=rods_later.TEMPLATE,
        button=tell("Write down the lift-off"),
        said=lambda made: (
            tell("Rod {rod}: in tolerance, written down.", rod=made.rod)
            if made.within_tolerance
            else tell("Rod {rod}: OUT OF tolerance, written down.", rod=made.rod)
        ),
        well=lambda made: made.within_tolerance,
        back=request.path,
        draft=f"lift-off-{pk}",
        tables=[
            Table(
                tell("Lifted off so far"),
                (tell("Rod"), tell("Force"), tell("Expected"), "", tell("When and who")),
                rows,
                empty=tell("None yet."),
            )
        ],
    )


def restressing(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    done, units = last_complete(piece), units_of(piece)
    if done is None:
        raise NotNow(say("The rods of {piece} are not stressed yet.", piece=piece))
    drawn = described(piece)
    dues = restress_dues(piece, drawn)
    # Offered is what is due; taken is any age of the drawing: what waited on a tablet is answered as it stands now.
    ages = [due.age_days for due in dues] if request.method != "POST" else list(restress_ages(drawn))
    form = RestressingForm(
        *data_of(request),
        ages=ages,
        rods=done.targets["order"],
        by_torque=done.targets["method"] == "torque",
        units=units,
    )
    return entry_page(
        request,
        form if ages else None,
        lambda: production.record_restressing(
            piece, by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        piece=piece,
        heading=tell("Re-stressing of {piece}", piece=piece),
        lead="; ".join(tell("at {age} days: {day}", age=f"{due.age_days:g}", day=day_of(due.at)) for due in dues)
        or tell("The drawing asks for none, or all are done."),
        cautions=[LINE] if dues else [],
        targets=rods_later.restressing_aims(done) if ages else [],
        alike=True,
        plan=rods_later.restressing_plan(done),
        script=rods_later.SCRIPT,
        template=rods_later.TEMPLATE,
        button=tell("Write down the re-stressing"),
        said=lambda made: (
            tell("Re-stressed, in tolerance, written down.")
            if made.within_tolerance
            else tell("Re-stressed, OUT OF tolerance, written down.")
        ),
        well=lambda made: made.within_tolerance,
        back=to_piece(piece),
        draft=f"restressing-{pk}",
        tables=[_restressed(piece)],
    )


def _restressed(piece: Any) -> Table:
    rows = [
        [
            tell("{age} days", age=f"{row.age_days:g}"),
            tell("in tolerance") if row.within_tolerance else Loud(" ".join(row.findings)),
            f"{day_of(row.at)}, {row.by.display_name}",
        ]
        for row in piece.restressings.select_related("by").order_by("-at")
    ]
    return Table(tell("Re-stressed so far"), (tell("Age"), "", tell("When and who")), rows, empty=tell("Not yet."))


def incident(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    if kind not in PROCEDURES:
        raise Unknown
    procedure = PROCEDURES[kind]
    rods = [rod.mark for rod in described(piece).rods]
    form = IncidentForm(*data_of(request), procedure=procedure, rods=rods, rods_needed=kind != Incident.Kind.INCIDENT)
    return entry_page(
        request,
        form,
        lambda: production.record_incident(
            piece, by=person_of(request), kind=kind, request_id=request_id_of(request), **form.cleaned_data
        ),
        piece=piece,
        heading=tell("{title}: {piece}", title=say(procedure.title), piece=piece),
        lead=tell("First do this, then write.") if not procedure.planned else tell("In this order; confirm each step."),
        cautions=[LINE],
        button=tell("Write it down"),
        button_class="grave",
        said=tell("Written down. The piece is held until the engineer decides.")
        if procedure.holds
        else tell("Written down."),
        back=to_piece(piece),
        draft=f"incident-{kind}-{pk}",
    )


def finishing(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    asked = finish_asked_for(described(piece))
    newest = piece.finishings.order_by("-at", "-pk").first()
    start = {name: getattr(newest, name) for name in FINISH_WORDS} if newest else None
    form = FinishingForm(*data_of(request), asked=asked, initial=start)
    return entry_page(
        request,
        form,
        lambda: production.record_finishing(
            piece, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
        ),
        piece=piece,
        heading=tell("Finish of the ends of {piece}", piece=piece),
        lead=tell("Tick what is done. Cut a tail only past its nut, with a saw, never with heat at the nut or rod."),
        cautions=[tell("Stand beside, never behind, a rod whose tail is cut. The rods stay under force.")],
        button=tell("Write it down"),
        said=tell("The finish of {piece} is written down.", piece=piece),
        back=to_piece(piece),
        draft=f"finishing-{pk}",
    )
