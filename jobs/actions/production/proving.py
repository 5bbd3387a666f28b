"""Load test and installation."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid4

from engineering.queries import described_piece
from jobs.access import need
from jobs.actions import events, quality
from jobs.actions.pieces import locked
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number, number_or_none, when_done
from jobs.errors import BadEntry, GateClosed, NotNow
from jobs.floor_gates import supports_out
from jobs.load_tests import missing_for_acceptance, outcome_of
from jobs.models import Installation, LoadTest, LoadTestPlan, Person, Piece, Stage
from jobs.words import listed, say

NOTE_LENGTH = 5_000
MOST_SUPPORTS = 100


@one_act
def record_load_test(
    piece: Piece,
    *,
    by: Person,
    load_lbf: float,
    deflection_in: float,
    cracks_seen: bool,
    accepted: bool,
    residual_in: float | None = None,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> LoadTest:
    """A load test and whether it was accepted: never with a crack (ACI 318-19 27.4.5.1), and only where its plan and
    the readings under it pass (`jobs.load_tests`), with their figures. GateClosed says what is missing.
    """
    need(by, "produce")
    if event := events.seen(request_id, "load-tested", by, piece=piece):
        return LoadTest.objects.get(pk=event.detail["load_test"])
    piece = locked(piece)
    if piece.stage != Stage.STRESSED:
        raise NotNow(
            say(
                "{piece} is {stage}; a load test comes after stressing and before finishing.",
                piece=piece,
                stage=piece.stage,
            )
        )
    if accepted and cracks_seen:
        raise BadEntry(
            say("A load test with a crack cannot be accepted. Record it as not accepted and ask the engineer."),
            field="accepted",
        )
    if accepted:
        _passes(piece, load_lbf, deflection_in, residual_in)
    test = LoadTest.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        load_lbf=number(load_lbf, name="load", least=1, most=1e6, unit="lbf"),
        deflection_in=number(deflection_in, name="deflection", least=-10, most=50, unit="in"),
        residual_in=number_or_none(residual_in, name="residual deflection", least=-10, most=50, unit="in"),
        cracks_seen=cracks_seen,
        accepted=accepted,
    )
    events.record(
        "load-tested",
        f"{piece} load-tested, {'accepted' if accepted else 'NOT accepted'}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={
            "load_test": test.pk,
            "load_lbf": test.load_lbf,
            "deflection_in": test.deflection_in,
            "residual_in": test.residual_in,
            "cracks_seen": cracks_seen,
            "accepted": accepted,
        },
    )
    if not accepted:
        _tell_the_engineer(test, by)
    return test


def _tell_the_engineer(test: LoadTest, by: Person) -> None:
    """A test that was not accepted keeps the piece where it is until the engineer has decided. A crack that was read
    under its plan is told already."""
    newest = LoadTestPlan.objects.filter(piece=test.piece).order_by("-pk").first()
    if test.cracks_seen and newest is not None and newest.readings.filter(crack_seen=True).exists():
        return
    why = "a crack was seen" if test.cracks_seen else "what the readings say does not pass"
    what = f"The load test of {test.load_lbf:.0f} lbf besides its own weight was not accepted: {why}. {test.note}"
    quality.raise_non_conformance(test.piece, by=by, what=what)


def _passes(piece: Piece, load_lbf: float, deflection_in: float, residual_in: float | None) -> None:
    """GateClosed where plan and readings do not accept it; BadEntry where these are not the readings' figures."""
    if missing := missing_for_acceptance(piece):
        raise GateClosed(say("The load test of {piece} was not accepted", piece=piece), missing)
    plan = piece.load_test_plans.latest("pk")
    read = outcome_of(plan, list(plan.readings.order_by("at", "pk")))
    if (load_lbf, deflection_in, residual_in) != (read.most_lbf, read.greatest_in, read.residual_in):
        raise BadEntry(
            say("These are not the figures that were read under its plan. Conclude the load test there."),
            field="accepted",
        )


@one_act
def record_installation(
    piece: Piece,
    *,
    by: Person,
    supports_in: Sequence[float],
    cautions_confirmed: bool,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> Installation:
    """The piece on its supports: measured x of each, from the left, within half an inch of the drawing; cautions
    confirmed.
    """
    need(by, "produce")
    if event := events.seen(request_id, "install-recorded", by, piece=piece):
        return Installation.objects.get(pk=event.detail["installation"])
    if cautions_confirmed is not True:
        raise BadEntry(
            say("The cautions have to be read and confirmed before an install is recorded."), field="cautions_confirmed"
        )
    piece = locked(piece)
    if piece.stage != Stage.DELIVERED or piece.revision is None:
        raise NotNow(
            say(
                "{piece} is {stage}; an install is recorded once the piece is delivered.",
                piece=piece,
                stage=piece.stage,
            )
        )
    if Installation.objects.filter(piece=piece).exists():
        raise NotNow(say("The install of {piece} is recorded already.", piece=piece))
    if len(supports_in) > MOST_SUPPORTS:
        raise BadEntry(say("More supports than a piece has."), field="supports_in")
    measured = [number(x, name="place of a support", least=-1_000, most=13_000, unit="in") for x in supports_in]
    if out := supports_out(described_piece(piece.revision.specification), measured):
        raise BadEntry(listed(out, " "), field="supports_in")
    made = Installation.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        supports_in=measured,
        cautions_confirmed=True,
    )
    events.record(
        "install-recorded",
        f"Install of {piece} recorded",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"installation": made.pk, "supports_in": measured, "cautions_confirmed": True},
    )
    return made
