"""Which pages a tablet keeps, so that today's pieces can be read, and written about, without the network."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.urls import reverse
from django.utils import timezone

from engineering.queries import described_piece
from jobs import access
from jobs.models import Incident, Person, Piece, Stage
from jobs.stages import LINE
from jobs.tightness import last_complete, loosened_since, restress_ages, restress_dues

ON_THE_FLOOR = (*LINE[LINE.index(Stage.RELEASED) : LINE.index(Stage.DELIVERED) + 1], Stage.HELD)
TIGHT = LINE[LINE.index(Stage.STRESSED) :]
MOST_PIECES = 40  # a page or three each, some more where rods are tight: a megabyte or two
MOST_INSTALLED = 20
AHEAD = timedelta(days=2)  # so long before its day a re-stressing at the client's is on the tablet

# By where a piece stands: the entries that can come next there.
ENTRIES: dict[str, tuple[str, ...]] = {
    Stage.FORMED: ("form_check", "pour"),
    Stage.POURED: ("cure", "strength"),
    Stage.CURING: ("cure", "strength"),
    Stage.STRIPPED: ("strength", "stressing"),
    Stage.STRESSED: ("load_test", "finishing"),
    Stage.LOAD_TESTED: ("finishing",),
    Stage.DELIVERED: ("install",),
}


def pages_of_today(person: Person) -> list[dict[str, Any]]:
    """[{url, part}]: `part` is true for what a page fetches into itself, the drawing of a piece. Newest stage first,
    those planned for today before the others.
    """
    found = [{"url": reverse(name), "part": False} for name in ("today", "board", "tablet")]
    may_produce = access.may(person, "produce")
    for piece in (*pieces_of_today(), *installed_and_due()):
        found.append({"url": reverse("piece", args=[piece.pk]), "part": False})
        if may_produce:
            found += [{"url": url, "part": False} for url in _entries(piece)]
        if piece.revision_id:
            found.append({"url": reverse("revision_drawing", args=[piece.revision_id]), "part": True})
    found.append({"url": reverse("guide_page", args=["tightening-rods"]), "part": False})
    return list({page["url"]: page for page in found}.values())


def _entries(piece: Piece) -> list[str]:
    """Where it stands says most; a piece whose rods are tight can be lifted off, brought back to force, slackened, and
    stressed again after that.
    """
    names = [*ENTRIES.get(piece.stage, ()), "non_conformance_new"]
    urls = [reverse(name, args=[piece.pk]) for name in names]
    drawn = described_piece(piece.revision.specification) if piece.stage in TIGHT and piece.revision else None
    if drawn is None or not drawn.rods:
        return urls
    later = ["lift_off", "restressing", "stressing"] if restress_ages(drawn) else ["lift_off", "stressing"]
    slackening = reverse("incident", args=[piece.pk, Incident.Kind.SLACKENED])
    return [*urls, *(reverse(name, args=[piece.pk]) for name in later), slackening]


def pieces_of_today() -> list[Piece]:
    """What stands on the floor: what is planned for today or overdue first, then what was moved last."""
    due = Q(pour_planned__lte=timezone.localdate())
    ordered = _kept(ON_THE_FLOOR).alias(due=due).order_by(F("due").desc(nulls_last=True), "-stage_since")
    return list(ordered[:MOST_PIECES])


def installed_and_due() -> list[Piece]:
    """What is in its place and has its rods to be tightened: at an age that has come, or after a slackening."""
    drawn_so = Q(revision__specification__document__stressing__restress__isnull=False)
    slackened = Exists(Incident.objects.filter(piece=OuterRef("pk"), kind=Incident.Kind.SLACKENED))
    asked = _kept((Stage.INSTALLED,)).filter(drawn_so | slackened)
    rows = asked.select_related("pour").prefetch_related("restressings").order_by("-stage_since")
    return [row for row in rows[: 10 * MOST_INSTALLED] if _has_to_be_tightened(row)][:MOST_INSTALLED]


def _has_to_be_tightened(piece: Piece) -> bool:
    if piece.revision is None:
        return False
    dues = restress_dues(piece, described_piece(piece.revision.specification))
    soon = timezone.now() + AHEAD
    return any(due.at <= soon for due in dues) or loosened_since(piece, last_complete(piece)) is not None


def _kept(stages: tuple[Stage, ...]) -> QuerySet[Piece]:
    rows = Piece.objects.filter(stage__in=stages, design__order__archived_at=None)
    return rows.select_related("revision__specification")
