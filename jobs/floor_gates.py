"""The gates of the floor, from the pour on: each looks at what the crew wrote down. The table is in `jobs.gates`."""

from __future__ import annotations

from functools import partial

from django.utils import timezone

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.core.contract.units import format_quantity
from jobs import strength_rule
from jobs.coupon_rule import coupon_blockers
from jobs.errors import Blocker
from jobs.models import Finishing, FormCheck, Installation, NonConformance, Stressing, Wrench
from jobs.stages import Stage
from jobs.standing import Standing
from jobs.targets import rods_out
from jobs.tightness import last_complete, loosened_since
from jobs.words import listed, say

CREW, MANAGER, ENGINEER = say("crew"), say("shop manager"), say("engineer")
SUPPORT_TOLERANCE_IN = 0.5
ROUNDING_IN = 1e-6  # measured 104.5 against drawn 104 is on the limit, not past it


def form_is_checked(standing: Standing) -> list[Blocker]:
    piece = standing.piece
    check = FormCheck.objects.filter(piece=piece, revision=piece.revision).order_by("-at", "-pk").first()
    if check is None:
        return [
            Blocker("form-not-checked", say("The form is not checked to this revision. Check it and record it."), CREW)
        ]
    open_points = [
        words
        for done, words in (
            (check.core_held, say("core held down")),
            (check.sleeves_sealed, say("sleeves straight and sealed")),
            (check.pockets_set, say("pockets set")),
        )
        if not done
    ]
    return (
        [
            Blocker(
                "form-not-right",
                say(
                    "Not right at the newest form check: {open_points}. Mend it and check again.",
                    open_points=listed(open_points),
                ),
                CREW,
            )
        ]
        if open_points
        else []
    )


def nothing_is_open(standing: Standing) -> list[Blocker]:
    """No non-conformance of the piece waits for the engineer's decision, or for the repair that was decided."""
    rows = NonConformance.objects.filter(piece=standing.piece, repaired_at=None).filter(
        decision__in=("", NonConformance.Decision.REPAIR)
    )
    return [
        Blocker(
            "repair-not-done",
            say("Non-conformance {pk} is to be repaired: {decision_note}", pk=row.pk, decision_note=row.decision_note),
            CREW,
        )
        if row.decision
        else Blocker(
            "non-conformance-open",
            say("Non-conformance {pk} waits for the engineer: {what}", pk=row.pk, what=row.what),
            ENGINEER,
        )
        for row in rows.order_by("pk")
    ]


def pour_is_recorded(standing: Standing) -> list[Blocker]:
    return [] if standing.piece.pour_id else [Blocker("no-pour", say("The pour is not recorded."), CREW)]


def strength_to_strip(standing: Standing) -> list[Blocker]:
    handling = standing.described.handling
    if handling is None:
        return []
    return [
        Blocker("strength-handling", say("{words} This is for stripping and lifting.", words=words), CREW)
        for words in strength_rule.shortfalls(standing.strength_test, handling.strength_psi, standing.described.units)
    ]


def strength_at_stressing(standing: Standing) -> list[Blocker]:
    needed_psi = standing.described.concrete.strength_at_stressing_psi
    return [
        Blocker(
            "strength-stressing", say("{words} This is for stressing, and cannot be passed over.", words=words), CREW
        )
        for words in strength_rule.shortfalls(standing.strength_test, needed_psi, standing.described.units)
    ]


def wrench_is_calibrated(standing: Standing, wrench: Wrench | None) -> list[Blocker]:
    stressing = standing.described.stressing
    if stressing is None or stressing.method != "torque":
        return []
    today = timezone.localdate()
    if wrench is None:
        if Wrench.objects.filter(active=True, calibrated_until__gte=today).exists():
            return []
        return [Blocker("no-wrench", say("No torque wrench of the shop is within its calibration."), MANAGER)]
    if not wrench.active:
        return [Blocker("wrench-retired", say("{wrench} is out of use. Take another wrench.", wrench=wrench), CREW)]
    if wrench.calibrated_until < today:
        return [
            Blocker(
                "wrench-calibration",
                say(
                    "The calibration of {wrench} ended on {calibrated_until}. Take another wrench, or have it "
                    "calibrated.",
                    wrench=wrench,
                    calibrated_until=wrench.calibrated_until,
                ),
                MANAGER,
            )
        ]
    return []


def rods_are_tight(standing: Standing) -> list[Blocker]:
    piece = standing.piece
    if not standing.described.rods:
        return []
    stressings = Stressing.objects.filter(piece=piece, revision=piece.revision)
    if stressings.filter(state=Stressing.State.OPEN).exists():
        return [Blocker("stressing-open", say("Its stressing is under way. Finish it first."), CREW)]
    done = last_complete(piece)
    if done is None:
        return [Blocker("not-stressed", say("Its rods are not stressed, or the stressing was stopped."), CREW)]
    if slack := rods_are_still_tight(standing):
        return slack
    return [Blocker("rod-out", words, CREW) for words in rods_out(done)] + strength_at_stressing(standing)


def rods_are_still_tight(standing: Standing) -> list[Blocker]:
    """Nothing was slackened and nothing broke since the rods were last tightened."""
    loosened = loosened_since(standing.piece, last_complete(standing.piece)) if standing.described.rods else None
    if loosened is None:
        return []
    rods = ", ".join(loosened.rods) or say("its rods")
    return [
        Blocker(
            "rods-slack",
            say(
                "{what} ({rods}). The rods have to be stressed again.", what=say(loosened.get_kind_display()), rods=rods
            ),
            CREW,
        )
    ]


FINISH_WORDS = {
    "tails_cut": say("tails cut"),
    "capped": say("ends capped"),
    "greased": say("ends greased"),
    "pockets_filled": say("pockets filled"),
}


def finish_asked_for(described: DescribedPiece) -> list[str]:
    """Which of the four the drawing asks for: tails with any rod, pockets where there are some, the rest if sealed."""
    if not described.rods:
        return []
    asked = ["tails_cut"]
    if any(rod.coating == "sealed" for rod in described.rods):
        asked += ["greased", "capped"]
    if any(rod.pocket is not None for rod in described.rods):
        asked.append("pockets_filled")
    return asked


def ends_are_finished(standing: Standing) -> list[Blocker]:
    asked = finish_asked_for(standing.described)
    if not asked:
        return []
    newest = Finishing.objects.filter(piece=standing.piece).order_by("-at", "-pk").first()
    left = [FINISH_WORDS[name] for name in asked if newest is None or not getattr(newest, name)]
    if not left:
        return []
    return [Blocker("finish-not-recorded", say("Not written down as done: {left}.", left=listed(left)), CREW)]


def coupons_stand_behind_it(standing: Standing) -> list[Blocker]:
    return coupon_blockers(standing.piece.pour, standing.described.concrete, standing.described.units)


def load_test_is_asked_for(standing: Standing) -> list[Blocker]:
    if standing.piece.design.load_test_required:
        return []
    return [Blocker("load-test-not-asked", say("No load test is asked for; move it to finished."), CREW)]


def load_test_is_accepted(standing: Standing) -> list[Blocker]:
    if not standing.piece.design.load_test_required:
        return []
    newest = standing.piece.load_tests.order_by("-at", "-pk").first()
    if newest is None:
        return [Blocker("no-load-test", say("A load test is asked for, and none is recorded."), CREW)]
    if not newest.accepted:
        words = say("The newest load test was not accepted. Ask the engineer.")
        return [Blocker("load-test-not-accepted", words, ENGINEER)]
    return []


def is_load_tested(standing: Standing) -> list[Blocker]:
    """From stressed straight to finished only where no load test is asked for."""
    if standing.piece.stage == Stage.STRESSED and standing.piece.design.load_test_required:
        return [Blocker("load-test-asked", say("A load test is asked for; it comes before finished."), CREW)]
    return []


def is_set_in_place(standing: Standing) -> list[Blocker]:
    installation = Installation.objects.filter(piece=standing.piece).first()
    if installation is None:
        return [
            Blocker(
                "no-installation", say("The installation is not recorded: supports measured, cautions confirmed."), CREW
            )
        ]
    return [Blocker("support-out", words, CREW) for words in supports_out(standing.described, installation.supports_in)]


def supports_out(described: DescribedPiece, measured_in: list[float]) -> list[str]:
    """Which supports stand further than half an inch from where the drawing has them; in words."""
    drawn = [support.at_in for support in described.supports]
    shown = partial(format_quantity, quantity="length", units=described.units)
    if len(measured_in) != len(drawn):
        return [
            say("The drawing has {drawn} supports; {found} were measured.", drawn=len(drawn), found=len(measured_in))
        ]
    return [
        say(
            "Support {n} stands at {is_at} and the drawing has it at {should_be}: more than {most} off. Move it, or "
            "ask the engineer.",
            n=n,
            is_at=shown(is_at),
            should_be=shown(should_be),
            most=shown(SUPPORT_TOLERANCE_IN),
        )
        for n, (is_at, should_be) in enumerate(zip(measured_in, drawn, strict=True), start=1)
        if abs(is_at - should_be) > SUPPORT_TOLERANCE_IN + ROUNDING_IN
    ]
