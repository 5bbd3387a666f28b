"""A load test by plan: planned, read while the load goes on and comes off, and concluded by the engine's rule."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from engineering.queries import latest_run
from jobs.access import need
from jobs.actions import events, quality
from jobs.actions.pieces import locked
from jobs.actions.production.proving import record_load_test
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number, when_done
from jobs.errors import BadEntry, NotNow
from jobs.load_tests import LEAST_LAYERS, load_for, outcome_of, went_wrong
from jobs.models import LoadTest, LoadTestPlan, LoadTestReading, Person, Piece, Stage
from jobs.standing import Standing
from jobs.words import say

NOTE_LENGTH = 5_000
CRACKED = "A crack was seen in the load test, at {load} besides its own weight."
BY_PLAN = "By plan {plan}. "


@one_act
def plan_load_test(
    piece: Piece,
    *,
    by: Person,
    what: str,
    unit_lbf: float,
    layers: Sequence[Mapping[str, Any]],
    hold_minutes: int,
    stop_deflection_in: float | None = None,
    replaces: int | None = None,
    note: str = "",
    request_id: UUID | None = None,
) -> LoadTestPlan:
    """`layers`: [{number, where}] in the order they go on, four or more, together no less than the test asks for.

    `replaces`: the plan whose place it takes, where the piece has one; two people never plan past each other.
    """
    need(by, "plan test")
    if event := events.seen(request_id, "load-test-planned", by, piece=piece):
        return LoadTestPlan.objects.get(pk=event.detail["plan"])
    piece = locked(piece)
    if piece.revision is None or piece.stage in (Stage.INSTALLED, Stage.REJECTED):
        raise NotNow(say("{piece} is {stage}; there is no load test to plan.", piece=piece, stage=piece.stage))
    if went_wrong(piece) and piece.non_conformances.filter(decision="").exists():
        raise NotNow(
            say("A load test of {piece} went wrong. It is tested again once the engineer has decided.", piece=piece)
        )
    _takes_the_place_of(piece, replaces)
    run = latest_run(piece.revision.specification)
    if run is None:
        raise NotNow(say("The checks of its drawing are not there. Run them first."))
    try:
        load = load_for(Standing(piece).described, run)
    except ValueError as exc:
        raise NotNow(say("No load can be found: {why}.", why=exc)) from exc
    each = number(unit_lbf, name="weight of one", least=0.1, most=10_000, unit="lbf")
    rows: list[dict[str, Any]] = [
        {
            "number": int(number(row.get("number"), name="number in a layer", least=1, most=10_000)),
            "where": clean_text(row.get("where", ""), name="place of a layer", most=200, required=True),
        }
        for row in layers
    ]
    if not LEAST_LAYERS <= len(rows) <= 200:
        raise BadEntry(say("The load goes on in {least} layers or more.", least=LEAST_LAYERS), field="layers")
    planned = each * sum(row["number"] for row in rows)
    if planned < load.to_put_on_lbf:
        raise BadEntry(
            say(
                "That is {planned} lbf; the test asks for {asked} lbf.",
                planned=f"{planned:.0f}",
                asked=f"{load.to_put_on_lbf:.0f}",
            ),
            field="layers",
        )
    made = LoadTestPlan.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(None),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        piece=piece,
        revision=piece.revision,
        what=clean_text(what, name="load", most=80, required=True),
        unit_lbf=each,
        layers=rows,
        hold_minutes=int(number(hold_minutes, name="hold", least=1, most=10_080, unit="minutes")),
        total_lbf=load.to_put_on_lbf,
        stop_deflection_in=number(
            load.limit_in * 2 if stop_deflection_in is None else stop_deflection_in,
            name="deflection to stop at",
            least=1e-3,
            most=20,
            unit="in",
        ),
        span_in=load.span_in,
        depth_in=load.depth_in,
    )
    events.record(
        "load-test-planned",
        f"Load test of {piece} planned: {planned:.0f} lbf of {made.what}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={"plan": made.pk, "layers": rows, "unit_lbf": each, "asked_lbf": load.to_put_on_lbf},
    )
    return made


def newest_plan(piece: Piece) -> LoadTestPlan | None:
    """The plan that counts."""
    return LoadTestPlan.objects.filter(piece=piece).select_related("by").order_by("-pk").first()


def _takes_the_place_of(piece: Piece, replaces: int | None) -> None:
    there = newest_plan(piece)
    if there is not None and there.pk != replaces:
        who = there.by.display_name
        raise NotNow(
            say(
                "{who} planned a load test of {piece} already. Look at that plan; yours takes its place only once you "
                "have seen it.",
                who=who,
                piece=piece,
            )
        )


def _still_counts(plan: LoadTestPlan) -> None:
    there = newest_plan(plan.piece)
    if there is None or there.pk != plan.pk:
        raise NotNow(say("Another plan has taken the place of this one. Look at that plan before you go on."))


@one_act
def record_load_reading(
    plan: LoadTestPlan,
    *,
    by: Person,
    load_lbf: float,
    deflection_in: float,
    crack_seen: bool = False,
    nobody_under: bool = False,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> LoadTestReading:
    """One look at load and deflection. A crack raises a non-conformance at once, test concluded or not."""
    need(by, "produce")
    if event := events.seen(request_id, "load-read", by, piece=plan.piece):
        return LoadTestReading.objects.get(pk=event.detail["reading"])
    if nobody_under is not True:
        raise BadEntry(say("Confirm that everybody is out from under it. Nothing was written."), field="nobody_under")
    piece = locked(plan.piece)
    if piece.stage != Stage.STRESSED:
        raise NotNow(
            say(
                "{piece} is {stage}; a load test comes after stressing and before finishing.",
                piece=piece,
                stage=piece.stage,
            )
        )
    _still_counts(plan)
    made = LoadTestReading.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=NOTE_LENGTH),
        plan=plan,
        load_lbf=number(load_lbf, name="load", least=0, most=1e6, unit="lbf"),
        deflection_in=number(deflection_in, name="deflection", least=-10, most=50, unit="in"),
        crack_seen=crack_seen is True,
    )
    events.record(
        "load-read",
        f"{piece}: {made.load_lbf:.0f} lbf, {made.deflection_in:.3f} in{', A CRACK' if made.crack_seen else ''}",
        by=by,
        piece=piece,
        request_id=request_id,
        detail={
            "reading": made.pk,
            "load_lbf": made.load_lbf,
            "deflection_in": made.deflection_in,
            "crack_seen": made.crack_seen,
        },
    )
    if made.crack_seen and plan.readings.filter(crack_seen=True).count() == 1:
        quality.raise_non_conformance(piece, by=by, what=CRACKED.format(load=f"{made.load_lbf:.0f} lbf"))
    return made


@one_act
def conclude_load_test(plan: LoadTestPlan, *, by: Person, request_id: UUID | None = None) -> LoadTest:
    """The load test as its readings have it; accepted or not is the engine's rule, not a tick."""
    need(by, "produce")
    if event := events.seen(request_id, "load-tested", by, piece=plan.piece):
        return LoadTest.objects.get(pk=event.detail["load_test"])
    locked(plan.piece)
    _still_counts(plan)
    _nothing_concluded_since(plan)
    outcome = outcome_of(plan, list(plan.readings.order_by("at", "pk")))
    if outcome.accepted is None:
        raise NotNow(say("The load test is not at its end: {words}", words=outcome.words))
    return record_load_test(
        plan.piece,
        by=by,
        load_lbf=outcome.most_lbf,
        deflection_in=outcome.greatest_in,
        residual_in=outcome.residual_in,
        cracks_seen=outcome.cracks_seen,
        accepted=outcome.accepted,
        note=f"{BY_PLAN.format(plan=plan.pk)}{outcome.words}",
        request_id=request_id,
    )


def _nothing_concluded_since(plan: LoadTestPlan) -> None:
    """A load test is concluded once; again only after something more was read."""
    last = plan.readings.order_by("-recorded_at").first()
    told = BY_PLAN.format(plan=plan.pk)
    done = LoadTest.objects.filter(piece=plan.piece, note__startswith=told).order_by("-recorded_at").first()
    if done is not None and (last is None or last.recorded_at <= done.recorded_at):
        raise NotNow(say("This load test is concluded already. Reload to see how."))
