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

# A blocker that an entry of the crew takes away: what to do, and the page for it.
ENTRY_FOR: dict[str, tuple[str, str]] = {
    "form-not-checked": ("Check the form", "form_check"),
    "form-not-right": ("Mend the form and check it again", "form_check"),
    "no-pour": ("Pour it", "pour"),
    "strength-handling": ("Break specimens before stripping", "strength"),
    "strength-stressing": ("Break specimens before stressing", "strength"),
    "not-stressed": ("Tighten the rods", "stressing"),
    "stressing-open": ("Go on tightening", "stressing"),
    "rod-out": ("Look at the stressing", "stressing"),
    "rods-slack": ("Tighten the rods again", "stressing"),
    "finish-not-recorded": ("Cut tails, fill pockets, and write it down", "finishing"),
    "no-load-test": ("Load-test it", "load_test"),
    "load-test-not-accepted": ("Load-test it again", "load_test"),
    "no-installation": ("Write down the install", "install"),
}
MOVE_WORDS: dict[str, str] = {
    Stage.DESIGNED: "The drawing is there: mark it designed",
    Stage.RELEASED: "Release this piece to the floor",
    Stage.FORMED: "The form is built: mark it formed",
    Stage.POURED: "Mark it poured",
    Stage.CURING: "Covered and kept moist: mark it curing",
    Stage.STRIPPED: "It is out of the form: mark it stripped",
    Stage.STRESSED: "Every rod is tight: mark it stressed",
    Stage.LOAD_TESTED: "The load test is accepted: mark it load-tested",
    Stage.FINISHED: "It is done: mark it finished",
    Stage.DELIVERED: "It left the shop: mark it delivered",
    Stage.INSTALLED: "It is in its place: mark it installed",
}
# What a piece at a stage waits for, and who has it: the board's one line.
WAITS: dict[str, tuple[str, str]] = {
    Stage.ORDERED: ("a checked drawing", "engineer or manager"),
    Stage.DESIGNED: ("release", "engineer or manager"),
    Stage.RELEASED: ("its form", "crew"),
    Stage.FORMED: ("form check and pour", "crew"),
    Stage.POURED: ("covering", "crew"),
    Stage.CURING: ("strength, then stripping", "crew"),
    Stage.STRIPPED: ("strength, then stressing", "crew"),
    Stage.STRESSED: ("load test or finishing", "crew"),
    Stage.LOAD_TESTED: ("finishing", "crew"),
    Stage.FINISHED: ("delivery", "crew"),
    Stage.DELIVERED: ("install", "crew"),
    Stage.INSTALLED: ("", ""),
    Stage.HELD: ("a decision", "engineer or manager"),
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
            entry[0], page=entry[1], blockers=waits, allowed=access.may(person, "produce"), for_whom="crew"
        )
    return NextThing("Not yet", blockers=waits)


def forward(page: PiecePage) -> NextMove | None:
    """The move that leads on; of the two from stressed the one that the order asks for."""
    piece: Piece = page.piece
    wanted: Callable[[NextMove], bool]
    if piece.stage == Stage.STRESSED:
        wanted = lambda move: (move.to_stage == Stage.LOAD_TESTED) == piece.design.load_test_required  # noqa: E731  one line says it
    else:
        wanted = lambda move: move.to_stage != Stage.DESIGNED or piece.stage == Stage.ORDERED  # noqa: E731  as above
    return next((move for move in page.moves if wanted(move)), None)
