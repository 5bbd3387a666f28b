"""Which further pages a piece has at which stage, as data: title, address, permission, stages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from jobs.models import Piece
from jobs.stages import LINE, Stage
from jobs.words import say

FROM_FORMED = LINE[LINE.index(Stage.FORMED) :]
FROM_POURED = LINE[LINE.index(Stage.POURED) :]
FROM_STRIPPED = LINE[LINE.index(Stage.STRIPPED) :]
FROM_STRESSED = LINE[LINE.index(Stage.STRESSED) :]
BEFORE_INSTALLED = LINE[: LINE.index(Stage.INSTALLED)]


@dataclass(frozen=True)
class FurtherPage:
    group: str
    text: str
    name: str
    permission: str
    stages: tuple[Stage, ...]
    word: str = ""  # a second part of the address


PAGES: list[FurtherPage] = [
    FurtherPage(
        say("If something is wrong"), say("Something is wrong with it"), "non_conformance_new", "hold", FROM_FORMED
    ),
    FurtherPage(say("If something is wrong"), say("Slacken rods"), "incident", "produce", FROM_STRIPPED, "slackened"),
    FurtherPage(say("If something is wrong"), say("A rod broke"), "incident", "produce", FROM_STRIPPED, "broken-rod"),
    FurtherPage(say("If something is wrong"), say("Incident"), "incident", "produce", FROM_FORMED, "incident"),
    FurtherPage(say("Mix and cure"), say("Batch ticket"), "tickets", "produce", (Stage.FORMED,)),
    FurtherPage(say("Mix and cure"), say("Curing bed"), "bed", "produce", (Stage.FORMED, Stage.POURED, Stage.CURING)),
    FurtherPage(say("Mix and cure"), say("Cure and strength"), "cure", "view", FROM_POURED),
    FurtherPage(say("Rods, later"), say("Lift-off after 24 hours"), "lift_off", "produce", FROM_STRESSED),
    FurtherPage(say("Rods, later"), say("Re-stressing"), "restressing", "produce", FROM_STRESSED),
    FurtherPage(say("Rods, later"), say("Tighten the rods again"), "stressing", "produce", FROM_STRESSED),
    FurtherPage(
        say("Rods, later"), say("Finish of the ends"), "finishing", "produce", (Stage.STRESSED, Stage.LOAD_TESTED)
    ),
    FurtherPage(
        say("Load test"), say("Plan the load test"), "load_test_plan", "plan test", (Stage.STRIPPED, Stage.STRESSED)
    ),
    FurtherPage(say("Load test"), say("Run the load test"), "load_test_run", "plan test", (Stage.STRESSED,)),
    FurtherPage(say("Plan"), say("When to pour it"), "pour_planned", "order", LINE[: LINE.index(Stage.POURED)]),
    FurtherPage(say("What it is made of"), say("Lots and trace"), "piece_lots", "view", FROM_FORMED),
    FurtherPage(say("Pictures and files"), say("Take a photo"), "photo_new", "hold", FROM_FORMED),
    FurtherPage(say("Pictures and files"), say("Files"), "piece_files", "view", tuple(LINE)),
]


def links_for(piece: Piece, may: Callable[[str], bool]) -> list[dict[str, Any]]:
    """Groups of links for the stage a piece stands at (held: for where it was held from)."""
    stage = piece.held_from or piece.stage
    groups: dict[str, list[dict[str, str]]] = {}
    for page in PAGES:
        if stage in page.stages and may(page.permission):
            link = {
                "text": page.text,
                "url": reverse(page.name, args=[piece.pk, page.word] if page.word else [piece.pk]),
            }
            groups.setdefault(page.group, []).append(link)
    return [{"title": title, "links": links} for title, links in groups.items()]
