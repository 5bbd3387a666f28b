"""What a load test is to bring and what its readings say: amounts from the drawing, acceptance from the engine.

The load is taken as spread over the whole piece. Point loads and loads that act alone are not in it: where they govern,
the engineer writes the plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.core.load_test_acceptance import RESIDUAL_SHARE, RETEST_SHARE, accepted
from engineering.core.proof_load import ProofLoad, proof_load
from engineering.models import CheckRun
from jobs.errors import Blocker
from jobs.floor_gates import CREW, ENGINEER
from jobs.models import LoadTestPlan, LoadTestReading, Piece
from jobs.words import say

RECOVERY = timedelta(hours=24)
LEAST_LAYERS = 4  # about equal increments, ACI 318-19 27.4 (from memory)
FULL_SHARE = 0.99  # a load is on when it is within one bag in a hundred
EMPTY_LBF = 1.0


def load_for(described: DescribedPiece, run: CheckRun) -> ProofLoad:
    """What the drawing asks for, by the engine, with its working. ValueError where the checks gave no weight."""
    figure = (run.result or {}).get("figures", {}).get("weight")
    if not figure or figure["value"] is None:
        raise ValueError("the result has no weight of the piece; run the checks again")
    return proof_load(described)


def missing_for_acceptance(piece: Piece) -> list[Blocker]:
    """What keeps the newest load test of a piece from being accepted: no plan, a plan for another drawing, or readings
    that do not pass. Whether it passes is worked out from the readings and is nobody's to tick.
    """
    plan = LoadTestPlan.objects.filter(piece=piece).order_by("-pk").first()
    if plan is None:
        return [
            Blocker(
                "load-test-no-plan",
                say("No load test is planned: write down its load, layers and hold first, then read it."),
                CREW,
            )
        ]
    if plan.revision_id != piece.revision_id:
        return [
            Blocker(
                "load-test-other-drawing", say("The load test was planned for another drawing. Plan it anew."), CREW
            )
        ]
    outcome = outcome_of(plan, list(plan.readings.order_by("at", "pk")))
    if outcome.accepted:
        return []
    return [Blocker("load-test-not-passed", outcome.words, CREW if outcome.accepted is None else ENGINEER)]


def went_wrong(piece: Piece) -> bool:
    """A load test of the piece was not accepted, or a crack was seen under one."""
    cracked = LoadTestReading.objects.filter(plan__piece=piece, crack_seen=True)
    return cracked.exists() or piece.load_tests.filter(accepted=False).exists()


@dataclass(frozen=True)
class Outcome:
    """How far the test is. `accepted` is None while it cannot be said yet, with what is missing in `words`."""

    accepted: bool | None
    words: str
    greatest_in: float = 0.0
    residual_in: float | None = None
    cracks_seen: bool = False
    most_lbf: float = 0.0


def outcome_of(plan: LoadTestPlan, readings: list[LoadTestReading]) -> Outcome:
    """By the engine's rule (ACI 318-19 ch. 27, second-hand): no crack, and deflection under l²/(20,000 h) or recovered
    to a quarter 24 hours after unloading, in a second test to a fifth. `readings` in order of time.
    """
    most = max((row.load_lbf for row in readings), default=0.0)
    greatest = max((row.deflection_in for row in readings), default=0.0)
    if any(row.crack_seen for row in readings):
        return Outcome(
            False,
            say("A crack was seen: not accepted. Unload from the side and ask the engineer."),
            greatest,
            cracks_seen=True,
            most_lbf=most,
        )
    full = [row for row in readings if row.load_lbf >= FULL_SHARE * plan.total_lbf]
    if not full:
        return Outcome(
            None,
            say("Not at its full load yet: {most} of {full} lbf.", most=f"{most:.0f}", full=f"{plan.total_lbf:.0f}"),
            greatest,
            most_lbf=most,
        )
    if full[-1].at - full[0].at < timedelta(minutes=plan.hold_minutes):
        return Outcome(
            None,
            say("The full load has to lie for {minutes} minutes and be read again.", minutes=plan.hold_minutes),
            greatest,
            most_lbf=most,
        )
    unloaded = [row for row in readings if row.load_lbf <= EMPTY_LBF and row.at > full[-1].at]
    late = [row for row in unloaded if row.at - full[-1].at >= RECOVERY]
    residual = late[-1].deflection_in if late else None
    again = plan.piece.load_tests.filter(accepted=False, recorded_at__lt=plan.recorded_at).exists()
    left = float("inf") if residual is None else residual
    if accepted(greatest, left, plan.span_in, plan.depth_in, retest=again):
        return Outcome(
            True,
            say("It passes: the deflection is small enough, or came back far enough."),
            greatest,
            residual,
            most_lbf=most,
        )
    if residual is None:
        return Outcome(
            None,
            say("The deflection is over l²/(20,000 h): unload, and read what is left 24 hours later."),
            greatest,
            most_lbf=most,
        )
    words = say(
        "Not accepted: more than {share} % of the deflection is left after 24 hours. Ask the engineer.",
        share=f"{100 * (RETEST_SHARE if again else RESIDUAL_SHARE):.0f}",
    )
    return Outcome(False, words, greatest, residual, most_lbf=most)
