"""Which missing things a gate lets somebody pass over, with a reason, and who.

What is not in the table is never passed over: stressing below strength, a failed or missing check, a drawing that
changed, a rod out of tolerance, an open non-conformance, a wrench past its calibration.
"""

from __future__ import annotations

from jobs.errors import Blocker
from jobs.models import GatePass, Piece, Role

PASSABLE: dict[str, tuple[Role, ...]] = {
    "form-not-checked": (Role.MANAGER,),
    "form-not-right": (Role.MANAGER,),
    "finish-not-recorded": (Role.MANAGER,),
    "strength-handling": (Role.ENGINEER,),
    "coupons-missing": (Role.ENGINEER,),
    "coupons-old": (Role.ENGINEER,),
    "coupons-short": (Role.ENGINEER,),
    "load-test-not-accepted": (Role.ENGINEER,),
}

ANOTHER_WAY = {"load-test-asked", "load-test-not-asked"}  # the piece goes through another stage: not a gate of its


def to_pass(blockers: list[Blocker], role: str) -> list[Blocker]:
    """What of it this role may pass over; nothing where the piece does not go that way at all."""
    if any(blocker.code in ANOTHER_WAY for blocker in blockers):
        return []
    return [blocker for blocker in blockers if may_pass(blocker, role)]


def may_pass(blocker: Blocker, role: str) -> bool:
    return role in PASSABLE.get(blocker.code, ())


def left_over(piece: Piece, to_stage: str, blockers: list[Blocker]) -> list[Blocker]:
    """The blockers that were not passed over while the piece has stood where it stands."""
    if not any(blocker.code in PASSABLE for blocker in blockers):
        return blockers
    passes = GatePass.objects.filter(
        piece=piece, from_stage=piece.stage, to_stage=to_stage, recorded_at__gte=piece.stage_since
    )
    codes = {code for row in passes for code in row.codes if code in PASSABLE}
    return [blocker for blocker in blockers if blocker.code not in codes]
