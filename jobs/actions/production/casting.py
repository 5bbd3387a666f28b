"""Form check, pour and strength test."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from jobs import gates
from jobs.access import need
from jobs.actions import events
from jobs.actions.pieces import locked
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number, number_or_none, when_done
from jobs.errors import BadEntry, GateClosed, NotNow
from jobs.models import BatchTicket, FormCheck, Mix, Person, Piece, Pour, Shop, Stage, StrengthTest
from jobs.words import say

NOTE_LENGTH = 5_000
MOST_PIECES_IN_A_POUR = 50
MOST_SPECIMENS = 20


@one_act
def record_form_check(
    piece: Piece,
    *,
    by: Person,
    core_held: bool,
    sleeves_sealed: bool,
    pockets_set: bool,
    rod_heights: Sequence[Mapping[str, Any]] = (),
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> FormCheck:
    """`rod_heights`: [{rod, x_in, drawn_in, measured_in}], as read on the form."""
    need(by, "produce")
    if event := events.seen(request_id, "form-checked", by, piece=piece):
        return FormCheck.objects.get(pk=event.detail["form_check"])
    piece = locked(piece)
    if piece.stage != Stage.FORMED or piece.revision is None:
        raise NotNow(
            say(
                "{piece} is {stage}; a form is checked once it is formed and before the pour.",
                piece=piece,
                stage=piece.stage,
            )
        )
    check = FormCheck.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        revision=piece.revision,
        core_held=core_held,
        sleeves_sealed=sleeves_sealed,
        pockets_set=pockets_set,
        rod_heights=_heights(rod_heights),
    )
    points = {"core_held": core_held, "sleeves_sealed": sleeves_sealed, "pockets_set": pockets_set}
    events.record(
        "form-checked",
        f"Form of {piece} checked",
        by=by,
        piece=piece,
        request_id=request_id,
        detail=points | {"form_check": check.pk, "revision": piece.revision.number, "rod_heights": check.rod_heights},
    )
    return check


@one_act
def record_pour(
    pieces: Sequence[Piece],
    *,
    by: Person,
    batch: str,
    mix: Mix | None = None,
    ticket: BatchTicket | None = None,
    water_added_at: datetime | None = None,
    slump_in: float | None = None,
    unit_weight_pcf: float | None = None,
    mix_temperature_f: float | None = None,
    air_temperature_f: float | None = None,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> Pour:
    """One batch into the forms of one or more pieces. GateClosed, for all of them, where one may not be poured."""
    need(by, "produce")
    if event := events.seen(request_id, "poured", by):
        return Pour.objects.get(pk=event.detail["pour"])
    if not 1 <= len({piece.pk for piece in pieces}) <= MOST_PIECES_IN_A_POUR:
        raise BadEntry(
            say("A pour goes into 1 to {MOST_PIECES_IN_A_POUR} pieces.", MOST_PIECES_IN_A_POUR=MOST_PIECES_IN_A_POUR),
            field="pieces",
        )
    standing = [
        _ready_to_pour(locked(piece)) for piece in sorted(set(pieces), key=lambda piece: (piece.design_id, piece.pk))
    ]
    if ticket is not None:
        mix = _mix_of(ticket, mix)
        water_added_at = water_added_at or ticket.water_added_at
    pour = Pour.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        batch=clean_text(batch, name="batch", most=40, required=True),
        mix=mix,
        ticket=ticket,
        water_added_at=None if water_added_at is None else when_done(water_added_at, name="time of the water"),
        slump_in=number_or_none(slump_in, name="slump", least=0, most=40, unit="in"),
        unit_weight_pcf=number_or_none(unit_weight_pcf, name="unit weight", least=20, most=300, unit="lb/ft³"),
        mix_temperature_f=number_or_none(mix_temperature_f, name="mix temperature", least=-40, most=212, unit="°F"),
        air_temperature_f=number_or_none(air_temperature_f, name="air temperature", least=-60, most=150, unit="°F"),
    )
    _bind(standing, pour, by=by, request_id=request_id)
    return pour


def _mix_of(ticket: BatchTicket, mix: Mix | None) -> Mix:
    if Pour.objects.filter(ticket=ticket).exists():
        raise NotNow(say("The ticket of batch {batch} belongs to another pour already.", batch=ticket.batch))
    if mix is not None and mix.pk != ticket.mix_version.mix_id:
        raise BadEntry(
            say("The ticket is of {mix}; choose that mix or leave it out.", mix=ticket.mix_version.mix), field="mix"
        )
    return ticket.mix_version.mix


def _ready_to_pour(piece: Piece) -> Piece:
    if piece.pour_id:
        raise NotNow(say("{piece} was poured already, in {pour}.", piece=piece, pour=piece.pour))
    if piece.stage != Stage.FORMED:
        raise NotNow(say("{piece} is {stage}; only a formed piece is poured.", piece=piece, stage=piece.stage))
    if missing := [blocker for blocker in gates.blockers(piece, Stage.POURED) if blocker.code != "no-pour"]:
        raise GateClosed(say("The pour was not recorded; {piece} may not be poured", piece=piece), missing)
    return piece


def _bind(pieces: list[Piece], pour: Pour, *, by: Person, request_id: UUID | None) -> None:
    """The pour's own event, and one for each piece."""
    if Piece.objects.filter(pk__in=[piece.pk for piece in pieces], pour=None).update(pour=pour) != len(pieces):
        raise NotNow(say("One of these pieces was poured meanwhile. Reload to see which."))
    names = ", ".join(str(piece) for piece in pieces)
    events.record(
        "poured",
        f"Batch {pour.batch} poured into {names}",
        by=by,
        order=pieces[0].design.order,
        detail={"pour": pour.pk, "batch": pour.batch, "pieces": [piece.pk for piece in pieces]},
        request_id=request_id,
    )
    for piece in pieces:
        events.record(
            "piece-poured", f"{piece} poured, batch {pour.batch}", by=by, piece=piece, detail={"pour": pour.pk}
        )


@one_act
def record_strength_test(
    pour: Pour,
    *,
    by: Person,
    kind: str,
    specimens_psi: Sequence[float],
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> StrengthTest:
    """Specimens of one pour, broken together. Cubes are taken times the shop's factor, which is stored with them."""
    need(by, "produce")
    if event := events.seen(request_id, "strength-tested", by):
        return StrengthTest.objects.get(pk=event.detail["strength_test"])
    if kind not in StrengthTest.Kind.values:
        raise BadEntry(say("The specimens should be cylinders or cubes."), field="kind")
    if not 1 <= len(specimens_psi) <= MOST_SPECIMENS:
        raise BadEntry(
            say("A strength test has 1 to {MOST_SPECIMENS} specimens.", MOST_SPECIMENS=MOST_SPECIMENS),
            field="specimens_psi",
        )
    pieces = [locked(piece) for piece in Piece.objects.filter(pour=pour).order_by("design_id", "pk")]
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    test = StrengthTest.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        pour=pour,
        kind=kind,
        factor=shop.cube_factor if kind == StrengthTest.Kind.CUBE else 1.0,
        specimens_psi=[number(psi, name="strength", least=0, most=40_000, unit="psi") for psi in specimens_psi],
    )
    events.record(
        "strength-tested",
        f"{test.get_kind_display()} of batch {pour.batch} broken",
        by=by,
        order=pieces[0].design.order if pieces else None,
        request_id=request_id,
        detail={
            "strength_test": test.pk,
            "pour": pour.pk,
            "kind": kind,
            "factor": test.factor,
            "specimens_psi": test.specimens_psi,
            "pieces": [piece.pk for piece in pieces],
        },
    )
    return test


def _heights(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    if len(rows) > 500:
        raise BadEntry(say("More rod heights than a form has."), field="rod_heights")
    return [
        {"rod": clean_text(row.get("rod", ""), name="rod", most=40, required=True)}
        | {
            key: number(row.get(key), name=key, least=-1000, most=12_000, unit="in")
            for key in ("x_in", "drawn_in", "measured_in")
        }
        for row in rows
    ]
