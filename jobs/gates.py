"""What must be true before each move: reasons, never a bool. Each says what is missing and who has it in hand.

`GATES` is the table; a gate function gets the `Standing` of a piece and answers with blockers, none where the way is
free.
What of it somebody may pass over with a reason is data too (`jobs.passes`); stressing below strength and a failed
check are not in it.
"""

from __future__ import annotations

from collections.abc import Callable

from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun, JobStatus, Verdict
from engineering.queries import latest_run
from jobs import access, passes
from jobs.errors import Blocker
from jobs.floor_gates import (
    CREW,
    ENGINEER,
    MANAGER,
    coupons_stand_behind_it,
    ends_are_finished,
    form_is_checked,
    is_load_tested,
    is_set_in_place,
    load_test_is_accepted,
    load_test_is_asked_for,
    nothing_is_open,
    pour_is_recorded,
    rods_are_still_tight,
    rods_are_tight,
    strength_at_stressing,
    strength_to_strip,
    wrench_is_calibrated,
)
from jobs.models import Person, Piece, Revision, Role, Wrench
from jobs.stages import LINE, Stage
from jobs.standing import Standing, newest_revision
from jobs.tightness import last_complete
from jobs.words import say

AGAIN = LINE[LINE.index(Stage.STRESSED) :]  # where slackened rods are stressed again, at its place too
DRAWER, WORKER = say("engineer or shop manager"), say("the checks themselves")


def blockers(piece: Piece, to_stage: str) -> list[Blocker]:
    """What stands between the piece and the stage. Whether the shop makes that move at all is `stages.MOVES`."""
    if to_stage == Stage.DESIGNED and piece.stage != Stage.ORDERED:
        return []  # going back is always open
    standing = Standing(piece)
    missing = [blocker for gate in GATES.get(Stage(to_stage), ()) for blocker in gate(standing)]
    return passes.left_over(piece, to_stage, missing)


def stressing_blockers(piece: Piece, wrench: Wrench | None = None) -> list[Blocker]:
    """What stands between the piece and its first turn of a nut; never passed over. `wrench`: the one about to be
    used.
    """
    standing = Standing(piece)
    loosened = piece.stage in AGAIN and bool(rods_are_still_tight(standing))
    if piece.stage != Stage.STRIPPED and not loosened:
        return [
            Blocker(
                "not-stripped",
                say("{piece} is {stage}; a piece is stressed after it is stripped.", piece=piece, stage=piece.stage),
                CREW,
            )
        ]
    return _first_turn_blockers(standing, wrench)


def opens_by_slackening(piece: Piece) -> bool:
    """Nothing stands against a round but that the rods are tight: it can follow on a slackening that still waits on a
    tablet, whose page therefore carries the round, and keeps it shut until then.
    """
    standing = Standing(piece)
    tight = piece.stage in AGAIN and last_complete(piece) is not None and not rods_are_still_tight(standing)
    return tight and not _first_turn_blockers(standing, None)


def _first_turn_blockers(standing: Standing, wrench: Wrench | None) -> list[Blocker]:
    if not standing.described.rods:
        words = say("{piece} has no rods to tighten; move it on.", piece=standing.piece)
        return [Blocker("no-rods", words, CREW)]
    return [*nothing_is_open(standing), *strength_at_stressing(standing), *wrench_is_calibrated(standing, wrench)]


def release_blockers(revision: Revision, person: Person) -> list[Blocker]:
    """What keeps this person from accepting this revision."""
    newest = newest_revision(revision.design)
    if newest is not None and newest.pk != revision.pk:
        return [
            Blocker(
                "superseded",
                say("{newest} has taken its place. Look at that one and release it instead.", newest=newest),
                DRAWER,
            )
        ]
    if missing := _checks_current(revision, latest_run(revision.specification)):
        return missing
    run = latest_run(revision.specification)
    return _may_accept(run.verdict if run else "", person)


def _may_accept(verdict: str, person: Person) -> list[Blocker]:
    if verdict == Verdict.FAIL:
        return [
            Blocker("checks-failed", say("Its checks fail; nobody can release it. Change the specification."), DRAWER)
        ]
    if not access.may(person, "release"):
        return [Blocker("not-yours", say("Releasing is for {who}.", who=access.WHO_MAY["release"]), DRAWER)]
    if verdict == Verdict.REVIEW and person.role != Role.ENGINEER:
        return [Blocker("needs-engineer", say("The checks ask for a review; an engineer has to accept it."), ENGINEER)]
    if person.role == Role.ENGINEER and not person.is_licensed:
        return [
            Blocker(
                "needs-licence",
                say(
                    "An engineer's name, licence number and jurisdiction must be on record before a release. The "
                    "shop manager can enter them."
                ),
                MANAGER,
            )
        ]
    return []


def _checks_current(revision: Revision, run: CheckRun | None) -> list[Blocker]:
    """Done, and by the engine of today."""
    if run is None or run.status in (JobStatus.WAITING, JobStatus.RUNNING):
        return [
            Blocker(
                "checks-not-done",
                say("The checks of {revision} are not finished. Wait a moment.", revision=revision),
                WORKER,
            )
        ]
    if run.status == JobStatus.BROKEN:
        return [
            Blocker(
                "checks-broken",
                say(
                    "The checks of {revision} broke off: {problem} Run them again.",
                    revision=revision,
                    problem=run.problem,
                ),
                DRAWER,
            )
        ]
    if run.engine_version != ENGINE_VERSION:
        return [
            Blocker(
                "checks-old",
                say(
                    "The checks of {revision} are by engine {engine_version}; now it is {ENGINE_VERSION}. Run them "
                    "again.",
                    revision=revision,
                    engine_version=run.engine_version,
                    ENGINE_VERSION=ENGINE_VERSION,
                ),
                DRAWER,
            )
        ]
    return []


# ---- gates, in the order of the line ---------------------------------------------------------------------------------


def has_a_checked_drawing(standing: Standing) -> list[Blocker]:
    newest, run = standing.newest, standing.run
    if newest is None:
        return [Blocker("no-drawing", say("{design} has no specification yet.", design=standing.piece.design), DRAWER)]
    if run is None or run.status != JobStatus.DONE:
        return _checks_current(newest, run)
    return []


def newest_is_released(standing: Standing) -> list[Blocker]:
    """A release of the newest revision, and checks by the engine of today that are no worse than what was accepted."""
    newest, run, release = standing.newest, standing.run, standing.release
    if newest is None:
        return has_a_checked_drawing(standing)
    if missing := _checks_current(newest, run):
        return missing
    verdict = run.verdict if run else ""
    if verdict == Verdict.FAIL:
        return [
            Blocker(
                "checks-failed", say("The checks of {newest} fail. Change the specification.", newest=newest), DRAWER
            )
        ]
    if release is None:
        who = ENGINEER if verdict == Verdict.REVIEW else DRAWER
        return [
            Blocker(
                "not-released", say("{newest} is not released. It waits for the {who}.", newest=newest, who=who), who
            )
        ]
    if verdict == Verdict.REVIEW and release.accepted_as != Role.ENGINEER:
        return [
            Blocker(
                "needs-engineer",
                say(
                    "{newest} was released on a pass, and today's engine asks for a review. Make a new revision for "
                    "an engineer to accept.",
                    newest=newest,
                ),
                ENGINEER,
            )
        ]
    return []


def is_bound_to_newest(standing: Standing) -> list[Blocker]:
    piece, newest = standing.piece, standing.newest
    if newest is None or piece.revision is None:
        return [Blocker("not-bound", say("{piece} is not bound to a released drawing.", piece=piece), DRAWER)]
    if piece.revision.pk != newest.pk:
        return [
            Blocker(
                "drawing-changed",
                say(
                    "The drawing changed: {piece} is formed to revision {letter}, the newest is {newest}. Move it "
                    "back to designed and form it to the new drawing.",
                    piece=piece,
                    letter=piece.revision.letter,
                    newest=newest.letter,
                ),
                DRAWER,
            )
        ]
    return []


Gate = Callable[[Standing], list[Blocker]]
GATES: dict[Stage, tuple[Gate, ...]] = {
    Stage.DESIGNED: (has_a_checked_drawing,),
    Stage.RELEASED: (newest_is_released,),
    Stage.FORMED: (newest_is_released, is_bound_to_newest),
    Stage.POURED: (newest_is_released, is_bound_to_newest, form_is_checked, pour_is_recorded, nothing_is_open),
    Stage.CURING: (nothing_is_open,),
    Stage.STRIPPED: (strength_to_strip, nothing_is_open),
    Stage.STRESSED: (rods_are_tight, coupons_stand_behind_it, nothing_is_open),
    Stage.LOAD_TESTED: (rods_are_still_tight, load_test_is_asked_for, load_test_is_accepted, nothing_is_open),
    Stage.FINISHED: (rods_are_still_tight, is_load_tested, load_test_is_accepted, ends_are_finished, nothing_is_open),
    Stage.DELIVERED: (
        rods_are_still_tight,
        nothing_is_open,
    ),
    Stage.INSTALLED: (rods_are_still_tight, is_set_in_place, nothing_is_open),
}
