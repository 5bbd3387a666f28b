"""What the crew does first when rods are slackened, a rod breaks, or somebody may be hurt: as data.

Judgement of the trade, from no standard; the shop's own safety officer and the law of the place go before it.
"""

from __future__ import annotations

from dataclasses import dataclass

from jobs.models import Incident

LINE = "Everybody is out of the line of every rod, in front and behind."


@dataclass(frozen=True)
class Procedure:
    """`planned`: every step has to be confirmed before it is written down; else it is written down all the same."""

    title: str
    first: tuple[str, ...]
    planned: bool
    holds: bool  # the piece is held and a non-conformance raised


PROCEDURES: dict[str, Procedure] = {
    Incident.Kind.SLACKENED: Procedure(
        "Slacken rods",
        (
            LINE,
            "The tail of the rod is held while the nut turns.",
            "Slackened a little at a time, in the opposite order of tightening, no rod all the way before the others.",
            "Both faces, plates and pockets were looked at for cracks after each round.",
        ),
        planned=True,
        holds=False,
    ),
    Incident.Kind.BROKEN_ROD: Procedure(
        "A rod broke",
        (
            "Everybody is away from both ends, and nobody looks into a pocket or a sleeve.",
            "No nut is touched: the other rods now carry more, and unevenly.",
            "The piece is supported along its length before anybody goes near: it may crack under its own weight.",
            "The place is roped off, and the broken ends lie as they fell.",
            "The engineer is called.",
        ),
        planned=False,
        holds=True,
    ),
    Incident.Kind.INCIDENT: Procedure(
        "Incident",
        (
            "Whoever is hurt is helped, and the emergency services are called.",
            "Everybody else is out of the rods' line and out from under the piece.",
            "Work on this piece has stopped, and everything lies as it was.",
            "The shop manager is called.",
        ),
        planned=False,
        holds=True,
    ),
}
