"""What must be true before each move: reasons, never a bool. Each says what is missing and who has it in hand.

`GATES` is the table; a gate function gets the `Standing` of a piece and answers with blockers, none where the way is free.
No gate here can be passed over: stressing below strength and a failed check never may be, and the rest rest on records.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

from django.utils import timezone

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun, JobStatus, Verdict
from engineering.queries import described_piece, latest_run
from jobs import access, strength_rule
from jobs.errors import Blocker
from jobs.models import Design, FormCheck, Installation, Person, Piece, Release, Revision, Role, StrengthTest, Stressing, Wrench
from jobs.stages import Stage
from jobs.targets import rods_out

CREW, MANAGER, ENGINEER, DRAWER, WORKER = "crew", "shop manager", "engineer", "engineer or shop manager", "the checks themselves"
SUPPORT_TOLERANCE_IN = 0.5
ROUNDING_IN = 1e-6          # measured 104.5 against drawn 104 is on the limit, not past it


def newest_revision(design: Design) -> Revision | None:
    return Revision.objects.filter(design=design).select_related("design", "specification").order_by("-number").first()


class Standing:
    """What the gates ask about one piece, each thing read once."""

    def __init__(self, piece: Piece) -> None:
        self.piece = piece

    @cached_property
    def newest(self) -> Revision | None:
        return newest_revision(self.piece.design)

    @cached_property
    def run(self) -> CheckRun | None:
        return latest_run(self.newest.specification) if self.newest else None

    @cached_property
    def release(self) -> Release | None:
        return Release.objects.filter(revision=self.newest).first() if self.newest else None

    @cached_property
    def described(self) -> DescribedPiece:
        """The piece as its own revision describes it, or the newest where it is bound to none."""
        revision = self.piece.revision or self.newest
        if revision is None:
            raise ValueError(f"{self.piece} has no specification yet")
        return described_piece(revision.specification)

    @cached_property
    def strength_test(self) -> StrengthTest | None:
        return strength_rule.newest_test(self.piece.pour)


def blockers(piece: Piece, to_stage: str) -> list[Blocker]:
    """What stands between the piece and the stage. Whether the shop makes that move at all is `stages.MOVES`."""
    if to_stage == Stage.DESIGNED and piece.stage != Stage.ORDERED:
        return []                                       # going back is always open
    standing = Standing(piece)
    return [blocker for gate in GATES.get(Stage(to_stage), ()) for blocker in gate(standing)]


def stressing_blockers(piece: Piece, wrench: Wrench | None = None) -> list[Blocker]:
    """What stands between the piece and its first turn of a nut; never passed over. `wrench`: the one about to be used."""
    standing = Standing(piece)
    if piece.stage != Stage.STRIPPED:
        return [Blocker("not-stripped", f"{piece} is {piece.stage}; a piece is stressed after it is stripped.", CREW)]
    if not standing.described.rods:
        return [Blocker("no-rods", f"{piece} has no rods to tighten; move it on.", CREW)]
    return [*strength_at_stressing(standing), *wrench_is_calibrated(standing, wrench)]


def release_blockers(revision: Revision, person: Person) -> list[Blocker]:
    """What keeps this person from accepting this revision."""
    newest = newest_revision(revision.design)
    if newest is not None and newest.pk != revision.pk:
        return [Blocker("superseded", f"{newest} has taken its place. Look at that one and release it instead.", DRAWER)]
    if missing := _checks_current(revision, latest_run(revision.specification)):
        return missing
    run = latest_run(revision.specification)
    return _may_accept(run.verdict if run else "", person)


def _may_accept(verdict: str, person: Person) -> list[Blocker]:
    if verdict == Verdict.FAIL:
        return [Blocker("checks-failed", "Its checks fail; nobody can release it. Change the specification.", DRAWER)]
    if not access.may(person, "release"):
        return [Blocker("not-yours", f"Releasing is for {access.WHO_MAY['release']}.", DRAWER)]
    if verdict == Verdict.REVIEW and person.role != Role.ENGINEER:
        return [Blocker("needs-engineer", "The checks ask for a review; an engineer has to accept it.", ENGINEER)]
    if person.role == Role.ENGINEER and not person.is_licensed:
        return [Blocker("needs-licence", "An engineer's name, licence number and jurisdiction must be on record before a release. "
                                         "The shop manager can enter them.", MANAGER)]
    return []


def _checks_current(revision: Revision, run: CheckRun | None) -> list[Blocker]:
    """Done, and by the engine of today."""
    if run is None or run.status in (JobStatus.WAITING, JobStatus.RUNNING):
        return [Blocker("checks-not-done", f"The checks of {revision} are not finished. Wait a moment.", WORKER)]
    if run.status == JobStatus.BROKEN:
        return [Blocker("checks-broken", f"The checks of {revision} broke off: {run.problem} Run them again.", DRAWER)]
    if run.engine_version != ENGINE_VERSION:
        return [Blocker("checks-old", f"The checks of {revision} are by engine {run.engine_version}; now it is {ENGINE_VERSION}. "
                                      f"Run them again.", DRAWER)]
    return []


# ---- gates, in the order of the line ---------------------------------------------------------------------------------


def has_a_checked_drawing(standing: Standing) -> list[Blocker]:
    newest, run = standing.newest, standing.run
    if newest is None:
        return [Blocker("no-drawing", f"{standing.piece.design} has no specification yet.", DRAWER)]
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
        return [Blocker("checks-failed", f"The checks of {newest} fail. Change the specification.", DRAWER)]
    if release is None:
        who = ENGINEER if verdict == Verdict.REVIEW else DRAWER
        return [Blocker("not-released", f"{newest} is not released. It waits for the {who}.", who)]
    if verdict == Verdict.REVIEW and release.accepted_as != Role.ENGINEER:
        return [Blocker("needs-engineer", f"{newest} was released on a pass, and today's engine asks for a review. "
                                          f"Make a new revision for an engineer to accept.", ENGINEER)]
    return []


def is_bound_to_newest(standing: Standing) -> list[Blocker]:
    piece, newest = standing.piece, standing.newest
    if newest is None or piece.revision is None:
        return [Blocker("not-bound", f"{piece} is not bound to a released drawing.", DRAWER)]
    if piece.revision.pk != newest.pk:
        return [Blocker("drawing-changed", f"The drawing changed: {piece} is formed to revision {piece.revision.letter}, the newest is "
                                           f"{newest.letter}. Move it back to designed and form it to the new drawing.", DRAWER)]
    return []


def form_is_checked(standing: Standing) -> list[Blocker]:
    piece = standing.piece
    check = FormCheck.objects.filter(piece=piece, revision=piece.revision).order_by("-at", "-pk").first()
    if check is None:
        return [Blocker("form-not-checked", "The form is not checked to this revision. Check it and record it.", CREW)]
    open_points = [words for done, words in ((check.core_held, "core held down"), (check.sleeves_sealed, "sleeves straight and sealed"),
                                             (check.pockets_set, "pockets set")) if not done]
    return [Blocker("form-not-right", f"Not right at the newest form check: {', '.join(open_points)}. Mend it and check again.",
                    CREW)] if open_points else []


def pour_is_recorded(standing: Standing) -> list[Blocker]:
    return [] if standing.piece.pour_id else [Blocker("no-pour", "The pour is not recorded.", CREW)]


def strength_to_strip(standing: Standing) -> list[Blocker]:
    handling = standing.described.handling
    if handling is None:
        return []
    return [Blocker("strength-handling", f"{words} This is for stripping and lifting.", CREW)
            for words in strength_rule.shortfalls(standing.strength_test, handling.strength_psi)]


def strength_at_stressing(standing: Standing) -> list[Blocker]:
    needed_psi = standing.described.concrete.strength_at_stressing_psi
    return [Blocker("strength-stressing", f"{words} This is for stressing, and cannot be passed over.", CREW)
            for words in strength_rule.shortfalls(standing.strength_test, needed_psi)]


def wrench_is_calibrated(standing: Standing, wrench: Wrench | None) -> list[Blocker]:
    stressing = standing.described.stressing
    if stressing is None or stressing.method != "torque":
        return []
    today = timezone.localdate()
    if wrench is None:
        if Wrench.objects.filter(active=True, calibrated_until__gte=today).exists():
            return []
        return [Blocker("no-wrench", "No torque wrench of the shop is within its calibration.", MANAGER)]
    if not wrench.active:
        return [Blocker("wrench-retired", f"{wrench} is out of use. Take another wrench.", CREW)]
    if wrench.calibrated_until < today:
        return [Blocker("wrench-calibration", f"The calibration of {wrench} ended on {wrench.calibrated_until}. Take another wrench, "
                                              f"or have it calibrated.", MANAGER)]
    return []


def rods_are_tight(standing: Standing) -> list[Blocker]:
    piece = standing.piece
    if not standing.described.rods:
        return []
    stressings = Stressing.objects.filter(piece=piece, revision=piece.revision)
    if stressings.filter(state=Stressing.State.OPEN).exists():
        return [Blocker("stressing-open", "Its stressing is under way. Finish it first.", CREW)]
    done = stressings.filter(state=Stressing.State.COMPLETE).order_by("-at", "-pk").first()
    if done is None:
        return [Blocker("not-stressed", "Its rods are not stressed, or the stressing was stopped.", CREW)]
    return [Blocker("rod-out", words, CREW) for words in rods_out(done)] + strength_at_stressing(standing)


def load_test_is_asked_for(standing: Standing) -> list[Blocker]:
    if standing.piece.design.load_test_required:
        return []
    return [Blocker("load-test-not-asked", "No load test is asked for; move it to finished.", CREW)]


def load_test_is_accepted(standing: Standing) -> list[Blocker]:
    if not standing.piece.design.load_test_required:
        return []
    newest = standing.piece.load_tests.order_by("-at", "-pk").first()
    if newest is None:
        return [Blocker("no-load-test", "A load test is asked for, and none is recorded.", CREW)]
    return [] if newest.accepted else [Blocker("load-test-not-accepted", "The newest load test was not accepted. Ask the engineer.", ENGINEER)]


def is_load_tested(standing: Standing) -> list[Blocker]:
    """From stressed straight to finished only where no load test is asked for."""
    if standing.piece.stage == Stage.STRESSED and standing.piece.design.load_test_required:
        return [Blocker("load-test-asked", "A load test is asked for; it comes before finished.", CREW)]
    return []


def is_set_in_place(standing: Standing) -> list[Blocker]:
    installation = Installation.objects.filter(piece=standing.piece).first()
    if installation is None:
        return [Blocker("no-installation", "The installation is not recorded: supports measured, cautions confirmed.", CREW)]
    return [Blocker("support-out", words, CREW) for words in supports_out(standing.described, installation.supports_in)]


def supports_out(described: DescribedPiece, measured_in: list[float]) -> list[str]:
    """Which supports stand further than half an inch from where the drawing has them; in words."""
    drawn = [support.at_in for support in described.supports]
    if len(measured_in) != len(drawn):
        return [f"The drawing has {len(drawn)} supports; {len(measured_in)} were measured."]
    return [f"Support {n} stands at {is_at:g} in and the drawing has it at {should_be:g} in: more than 1/2 in off. Move it, or ask the "
            f"engineer." for n, (is_at, should_be) in enumerate(zip(measured_in, drawn, strict=True), start=1)
            if abs(is_at - should_be) > SUPPORT_TOLERANCE_IN + ROUNDING_IN]


Gate = Callable[[Standing], list[Blocker]]
GATES: dict[Stage, tuple[Gate, ...]] = {
    Stage.DESIGNED: (has_a_checked_drawing,),
    Stage.RELEASED: (newest_is_released,),
    Stage.FORMED: (newest_is_released, is_bound_to_newest),
    Stage.POURED: (newest_is_released, is_bound_to_newest, form_is_checked, pour_is_recorded),
    Stage.CURING: (),
    Stage.STRIPPED: (strength_to_strip,),
    Stage.STRESSED: (rods_are_tight,),
    Stage.LOAD_TESTED: (load_test_is_asked_for, load_test_is_accepted),
    Stage.FINISHED: (is_load_tested, load_test_is_accepted),
    Stage.DELIVERED: (),
    Stage.INSTALLED: (is_set_in_place,),
}
