"""What the crew does first when rods are slackened, a rod breaks, or somebody may be hurt: as data.

Judgement of the trade, from no standard; the shop's own safety officer and the law of the place go before it.
"""

from __future__ import annotations

from dataclasses import dataclass

from jobs.models import Incident
from jobs.words import say

LINE = say("Everybody is out of the line of every rod, in front and behind.")


@dataclass(frozen=True)
class Procedure:
    """`planned`: every step has to be confirmed before it is written down; else it is written down all the same."""

    title: str
    first: tuple[str, ...]
    planned: bool
    holds: bool  # the piece is held and a non-conformance raised


PROCEDURES: dict[str, Procedure] = {
    Incident.Kind.SLACKENED: Procedure(
        say("Slacken rods"),
        (
            LINE,
            say("The tail of the rod is held while the nut turns."),
            say(
                "Slackened a little at a time, in the opposite order of tightening, no rod all the way before the "
                "others."
            ),
            say("Both faces, plates and pockets were looked at for cracks after each round."),
        ),
        planned=True,
        holds=False,
    ),
    Incident.Kind.BROKEN_ROD: Procedure(
        say("A rod broke"),
        (
            say("Everybody is away from both ends, and nobody looks into a pocket or a sleeve."),
            say("No nut is touched: the other rods now carry more, and unevenly."),
            say("The piece is supported along its length before anybody goes near: it may crack under its own weight."),
            say("The place is roped off, and the broken ends lie as they fell."),
            say("The engineer is called."),
        ),
        planned=False,
        holds=True,
    ),
    Incident.Kind.INCIDENT: Procedure(
        say("Incident"),
        (
            say("Whoever is hurt is helped, and the emergency services are called."),
            say("Everybody else is out of the rods' line and out from under the piece."),
            say("Work on this piece has stopped, and everything lies as it was."),
            say("The shop manager is called."),
        ),
        planned=False,
        holds=True,
    ),
}
