"""The one next thing to do with a piece, as the tablet shows it: what, and where to write it down; or what it waits
for, and who has it.

Whether it may be done is the gates' to say and the actions' to enforce; this only picks what to show first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from jobs import access
from jobs.errors import Blocker
from jobs.models import Person, Piece, Stage
from jobs.queries import NextMove, PiecePage
from jobs.words import say

# A blocker that an entry of the crew takes away: what to do, and the page for it.
ENTRY_FOR: dict[str, tuple[str, str]] = {
    "form-not-checked": (say("Check the form"), "form_check"),
    "form-not-right": (say("Mend the form and check it again"), "form_check"),
    "no-pour": (say("Pour it"), "pour"),
    "strength-handling": (say("Break specimens before stripping"), "strength"),
    "strength-stressing": (say("Break specimens before stressing"), "strength"),
    "not-stressed": (say("Tighten the rods"), "stressing"),
    "stressing-open": (say("Go on tightening"), "stressing"),
    "rod-out": (say("Look at the stressing"), "stressing"),
    "rods-slack": (say("Tighten the rods again"), "stressing"),
    "finish-not-recorded": (say("Cut tails, fill pockets, and write it down"), "finishing"),
    "no-load-test": (say("Load-test it"), "load_test"),
    "load-test-not-accepted": (say("Load-test it again"), "load_test"),
    "no-installation": (say("Write down the install"), "install"),
}
MOVE_WORDS: dict[str, str] = {
    Stage.DESIGNED: say("The drawing is there: mark it designed"),
    Stage.RELEASED: say("Release this piece to the floor"),
    Stage.FORMED: say("The form is built: mark it formed"),
    Stage.POURED: say("Mark it poured"),
    Stage.CURING: say("Covered and kept moist: mark it curing"),
    Stage.STRIPPED: say("It is out of the form: mark it stripped"),
    Stage.STRESSED: say("Every rod is tight: mark it stressed"),
    Stage.LOAD_TESTED: say("The load test is accepted: mark it load-tested"),
    Stage.FINISHED: say("It is done: mark it finished"),
    Stage.DELIVERED: say("It left the shop: mark it delivered"),
    Stage.INSTALLED: say("It is in its place: mark it installed"),
}
# What a piece at a stage waits for, and who has it: the board's one line.
WAITS: dict[str, tuple[str, str]] = {
    Stage.ORDERED: (say("a checked drawing"), say("engineer or manager")),
    Stage.DESIGNED: (say("release"), say("engineer or manager")),
    Stage.RELEASED: (say("its form"), say("crew")),
    Stage.FORMED: (say("form check and pour"), say("crew")),
    Stage.POURED: (say("covering"), say("crew")),
    Stage.CURING: (say("strength, then stripping"), say("crew")),
    Stage.STRIPPED: (say("strength, then stressing"), say("crew")),
    Stage.STRESSED: (say("load test or finishing"), say("crew")),
    Stage.LOAD_TESTED: (say("finishing"), say("crew")),
    Stage.FINISHED: (say("delivery"), say("crew")),
    Stage.DELIVERED: (say("install"), say("crew")),
    Stage.INSTALLED: ("", ""),
    Stage.HELD: (say("a decision"), say("engineer or manager")),
}


@dataclass
class NextThing:
    """`page` names where an entry is written; `to_stage` is set where only the move itself is left."""

    title: str
    page: str = ""
    to_stage: str = ""
    blockers: list[Blocker] = field(default_factory=list)
    allowed: bool = True
    for_whom: str = ""


def next_thing(page: PiecePage, person: Person) -> NextThing | None:
    """None where nothing is left to do: installed, held or rejected."""
    move = forward(page)
    if move is None:
        return None
    waits = [
        *(blocker for blocker in page.stressing_blockers if blocker.code != "no-rods" and move.blockers),
        *move.blockers,
    ]
    if not waits:
        return NextThing(
            MOVE_WORDS[move.to_stage],
            to_stage=move.to_stage,
            allowed=access.may_move(person, move.to_stage),
            for_whom=WAITS[page.piece.stage][1],
        )
    entry = next((ENTRY_FOR[blocker.code] for blocker in waits if blocker.code in ENTRY_FOR), None)
    if entry is not None and all(blocker.code in ENTRY_FOR for blocker in waits):
        return NextThing(
            entry[0], page=entry[1], blockers=waits, allowed=access.may(person, "produce"), for_whom=say("crew")
        )
    return NextThing(say("Not yet"), blockers=waits)


def forward(page: PiecePage) -> NextMove | None:
    """The move that leads on; of the two from stressed the one that the order asks for."""
    piece: Piece = page.piece
    wanted: Callable[[NextMove], bool]
    if piece.stage == Stage.STRESSED:
        wanted = lambda move: (move.to_stage == Stage.LOAD_TESTED) == piece.design.load_test_required  # noqa: E731  one line says it
    else:
        wanted = lambda move: move.to_stage != Stage.DESIGNED or piece.stage == Stage.ORDERED  # noqa: E731  as above
    return next((move for move in page.moves if wanted(move)), None)
