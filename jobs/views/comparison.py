"""What if: two revisions, or two studies of one kind, side by side. Nothing is worked here and nothing is stored."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_safe

from engineering.models import JobStatus, Study
from jobs import access, comparison
from jobs.errors import ShopError, Unknown
from jobs.models import Revision

MOST = 200
TITLES = {
    "find-rods": "Rods found",
    "region": "Allowable region",
    "re-tightening": "Tightening again",
    "tolerance": "As it may come out of the shop",
    "advice": "What would help",
}
PLOTTED = ("find-rods", "region", "re-tightening")


@dataclass(frozen=True)
class Choice:
    """One that can be put on a side."""

    pk: int
    words: str


@require_safe
def what_if(request: HttpRequest, pk: int) -> HttpResponse:
    """Two revisions; the newest at the right and the one before it at the left unless others are asked for."""
    design = access.design_for(request.user, pk)
    own = list(design.revisions.select_related("specification", "design__order").order_by("number"))
    if not own:
        raise Unknown("This design has no specification yet.")
    left, wrong_left = _asked(request, "left", own[-2] if len(own) > 1 else own[-1])
    right, wrong_right = _asked(request, "right", own[-1])
    others = (
        Revision.objects.select_related("design__order")
        .defer("specification")
        .exclude(design=design)
        .order_by("-made_at")
    )
    error = wrong_left or wrong_right
    context = {
        "here": "orders",
        "design": design,
        "left": left,
        "right": right,
        "own": [Choice(row.pk, _words(row)) for row in own],
        "others": [Choice(row.pk, f"{row.design.order.number} · {_words(row)}") for row in others[:MOST]],
        "found": comparison.of_revisions(left, right),
        "studies": _pairs_of_studies(left, right),
        "plots_url": _plots("compared_revisions", left.pk, right.pk),
        "error": error,
    }
    return render(request, "jobs/design_help/what_if.html", context, status=error.http_status if error else 200)


def _asked(request: HttpRequest, side: str, otherwise: Revision) -> tuple[Revision, ShopError | None]:
    text = request.GET.get(side, "")
    if not text:
        return otherwise, None
    try:
        return access.revision_for(request.user, _number(text)), None
    except Unknown as wrong:
        return otherwise, wrong


def _words(row: Revision) -> str:
    return f"{row}: {row.note}" if row.note else str(row)


def _pairs_of_studies(left: Revision, right: Revision) -> list[dict[str, Any]]:
    """For each kind that both have an answer of: the newest of both, to be opened side by side."""
    done = Study.objects.filter(status=JobStatus.DONE).defer("result").order_by("pk")
    sides = [{row.kind: row for row in done.filter(specification=one.specification_id)} for one in (left, right)]
    return [
        {"title": TITLES[kind], "left": row.pk, "right": sides[1][kind].pk}
        for kind, row in sides[0].items()
        if kind in sides[1] and kind in TITLES and row.pk != sides[1][kind].pk
    ]


@require_safe
def what_if_studies(request: HttpRequest, pk: int) -> HttpResponse:
    """Two finished studies of one kind, of this design's revisions; the two newest unless others are asked for."""
    design = access.design_for(request.user, pk)
    rows = Study.objects.filter(status=JobStatus.DONE, specification__revision__design=design)
    rows = rows.select_related("specification__revision__design__order").order_by("pk")
    right = rows.filter(pk=_number(request.GET.get("right", ""))).first() or rows.filter(kind__in=TITLES).last()
    if right is None:
        raise Unknown("No study of this design is finished yet. Ask for one under “Help with this design”.")
    alike = rows.filter(kind=right.kind)
    left = alike.filter(pk=_number(request.GET.get("left", ""))).first()
    left = left or alike.filter(pk__lt=right.pk).last() or right
    context = {
        "here": "orders",
        "design": design,
        "left": left,
        "right": right,
        "title": TITLES.get(right.kind, right.kind),
        "own": [Choice(row.pk, study_words(row)) for row in alike.defer("result")],
        "found": comparison.of_studies(left, right),
        "plots_url": _plots("compared_studies", left.pk, right.pk) if right.kind in PLOTTED else "",
    }
    return render(request, "jobs/design_help/what_if_studies.html", context)


def study_words(row: Study) -> str:
    revision = Revision.objects.select_related("design").get(specification=row.specification_id)
    return f"{revision}, {row.finished_at:%-d %b %Y %H:%M}" if row.finished_at else str(revision)


def _plots(name: str, left: int, right: int) -> str:
    """The plots are drawn by the records' package; empty where it is not installed. Nothing here imports it."""
    try:
        return reverse(name, args=[left, right])
    except NoReverseMatch:
        return ""


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else 0

