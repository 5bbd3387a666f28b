"""Which pages a tablet keeps, so that today's pieces can be read, and written about, without the network."""

from __future__ import annotations

from typing import Any

from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone

from jobs import access
from jobs.models import Person, Piece, Stage
from jobs.stages import LINE

ON_THE_FLOOR = (*LINE[LINE.index(Stage.RELEASED) : LINE.index(Stage.DELIVERED) + 1], Stage.HELD)
MOST_PIECES = 40  # a page or three each: about a megabyte

# By where a piece stands: the entries that can come next there.
ENTRIES: dict[str, tuple[str, ...]] = {
    Stage.FORMED: ("form_check", "pour"),
    Stage.POURED: ("cure", "strength"),
    Stage.CURING: ("cure", "strength"),
    Stage.STRIPPED: ("strength", "stressing"),
    Stage.STRESSED: ("lift_off", "restressing", "load_test", "finishing"),
    Stage.LOAD_TESTED: ("finishing",),
    Stage.FINISHED: (),
    Stage.DELIVERED: ("install",),
}


def pages_of_today(person: Person) -> list[dict[str, Any]]:
    """[{url, part}]: `part` is true for what a page fetches into itself, the drawing of a piece. Newest stage first,
    those planned for today before the others.
    """
    found = [{"url": reverse(name), "part": False} for name in ("today", "board", "tablet")]
    may_produce = access.may(person, "produce")
    for piece in pieces_of_today():
        found.append({"url": reverse("piece", args=[piece.pk]), "part": False})
        names = (*ENTRIES.get(piece.stage, ()), "non_conformance_new") if may_produce else ()
        found += [{"url": reverse(name, args=[piece.pk]), "part": False} for name in names]
        if piece.revision_id:
            found.append({"url": reverse("revision_drawing", args=[piece.revision_id]), "part": True})
    found.append({"url": reverse("guide_page", args=["tightening-rods"]), "part": False})
    return list({page["url"]: page for page in found}.values())


def pieces_of_today() -> list[Piece]:
    """What stands on the floor: what is planned for today or overdue first, then what was moved last."""
    rows = Piece.objects.filter(stage__in=ON_THE_FLOOR, design__order__archived_at=None)
    due = Q(pour_planned__lte=timezone.localdate())
    ordered = rows.select_related("revision").alias(due=due).order_by(F("due").desc(nulls_last=True), "-stage_since")
    return list(ordered[:MOST_PIECES])
