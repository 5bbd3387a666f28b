"""Help with a design: what would help, rods found, the allowable region, the re-tightening plan, tolerances.

Each is a study of the newest revision's specification: started here, worked by the workers, shown when it is there.
"""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from engineering.core.contract import SpecificationRefused
from engineering.models import JobStatus, Study
from engineering.queries import described_piece
from engineering.study_actions import latest_study
from jobs import access
from jobs.actions import studies
from jobs.errors import BadEntry, ShopError, Unknown
from jobs.forms.specification import tree_of
from jobs.models import Design, Revision
from jobs.views import help_plots
from jobs.views.desk import Desk
from jobs.views.entries import accepted, attempt, person_of, posts_only, request_id_of, sent_to, show

HELPS = {
    "advice": ("What would help", "For each check that fails or wants an engineer: what mends it, and by how much."),
    "find-rods": ("Find rods", "Threads, grades, number, height, spread, force and re-stressing, through all checks."),
    "region": ("How much force at which height", "Where every stress check of the concrete holds, scatter included."),
    "re-tightening": ("Tightening again", "At which ages, what remains each time, or a stronger rod instead."),
    "tolerance": ("As it may come out of the shop", "The chance that a check fails, and what drives it."),
}
UNDER_WAY = (JobStatus.WAITING, JobStatus.RUNNING)
LARGEST_DOCUMENT = 500_000


@require_safe
def design_help(request: HttpRequest, pk: int) -> HttpResponse:
    design = access.design_for(request.user, pk)
    return _page(request, design, _newest(design))


def _page(request: HttpRequest, design: Design, revision: Revision, error: Any = None) -> HttpResponse:
    helps = [_help(revision, kind) for kind in HELPS]
    context = {"here": "orders", "design": design, "revision": revision, "helps": helps, "error": error}
    return render(request, "jobs/design_help/page.html", context, status=error.http_status if error else 200)


def _help(revision: Revision, kind: str) -> dict[str, Any]:
    title, words = HELPS[kind]
    study = latest_study(revision.specification, kind)
    done = study is not None and study.status == JobStatus.DONE
    return {
        "kind": kind,
        "title": title,
        "words": words,
        "study": study,
        "under_way": study is not None and study.status in UNDER_WAY,
        "broken": study is not None and study.status == JobStatus.BROKEN,
        "percent": round(100 * study.progress) if study else 0,
        "result": study.result if study and done else None,
        "plots": help_plots.plots_of(kind, study.result) if study and done and study.result else [],
        "template": f"jobs/design_help/_{kind.replace('-', '_')}.html",
    }


def _newest(design: Design) -> Revision:
    newest = design.revisions.select_related("specification").order_by("-number").first()
    if newest is None:
        raise Unknown("This design has no specification yet.")
    return newest


@posts_only("design_help")
def start(request: HttpRequest, pk: int) -> HttpResponse:
    design = access.design_for(request.user, pk, may="specify")
    revision, kind = _newest(design), request.POST.get("kind", "")

    study, error = _started(request, revision, kind)
    if study is None:
        return _page(request, design, revision, error)
    return accepted(request, f"{HELPS[study.kind][0]}: under way.", reverse("design_help", args=[pk]))


def _started(
    request: HttpRequest, revision: Revision, kind: str, settings: dict[str, Any] | None = None
) -> tuple[Study | None, ShopError | None]:
    by, tap = person_of(request), request_id_of(request)
    if kind not in HELPS:
        return None, BadEntry("There is no such help.", field="kind")
    return attempt(lambda: studies.start(revision, by=by, kind=kind, settings=settings, request_id=tap))


def space(request: HttpRequest, pk: int) -> HttpResponse:
    """The space of a search for rods, filled in as usual for the piece and with what the shop has; starts it."""
    from engineering.core import rod_space  # the engine with numpy: only where a space is asked for
    from jobs.forms.finder import SpaceForm

    design = access.design_for(request.user, pk, may="specify")
    revision = _newest(design)
    usual = rod_space.usual_space(described_piece(revision.specification)).to_json()
    form = SpaceForm(sent_to(request), space=usual, units=revision.specification.units)
    error = None
    if request.method == "POST" and form.is_valid():
        study, error = _started(request, revision, "find-rods", form.settings)
        if study is not None:
            back = reverse("design_help", args=[pk]) + "#find-rods"
            return accepted(request, "Find rods: under way.", back, draft=f"rod-space-{pk}")
    context = {"here": "orders", "design": design, "revision": revision, "draft": f"rod-space-{pk}"}
    return show(request, "jobs/design_help/space.html", context, error, form)


@posts_only("design_help")
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    design = access.design_for(request.user, pk, may="specify")
    kind = request.POST.get("kind", "")
    study = latest_study(_newest(design).specification, kind) if kind in HELPS else None
    if study is None:
        raise Unknown("There is no such study of this design.")
    _, error = attempt(lambda: studies.stop(study, by=person_of(request), request_id=request_id_of(request)))
    if error is not None:
        return _page(request, design, _newest(design), error)
    return accepted(request, f"{HELPS[study.kind][0]}: stopped.", reverse("design_help", args=[pk]))


@require_safe
def part(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """One help alone, fetched again every second while it is under way; the whole page when it has ended."""
    design = access.design_for(request.user, pk)
    if kind not in HELPS:
        raise Unknown("There is no such help.")
    shown = _help(_newest(design), kind)
    if not shown["under_way"]:
        answer = HttpResponse(status=204)
        answer["HX-Refresh"] = "true"
        return answer
    return render(request, "jobs/design_help/_under_way.html", {"design": design, "help": shown})


def draft(request: HttpRequest, pk: int, study_pk: int, index: int) -> HttpResponse:
    """A design that was found, opened in the editor as the next revision; nothing is stored until it is saved there."""
    from engineering.core import finder_report  # the engine with numpy: only where a draft is opened

    design = access.design_for(request.user, pk, may="specify")
    newest = _newest(design)
    desk = Desk(request, order=design.order, design=design, newest=newest)
    if request.method == "POST":
        return desk.posted()
    study = Study.objects.filter(
        pk=study_pk, kind="find-rods", status=JobStatus.DONE, specification__revision__design=design
    ).first()
    found = _found(study.result or {}, index) if study else None
    if study is None or found is None:
        raise Unknown("There is no such design in this search.")
    document = finder_report.draft(study.specification.document, study.settings, found)
    return desk.page(tree_of(document))


def visits(request: HttpRequest, pk: int, study_pk: int) -> HttpResponse:
    """The ages of a re-tightening plan, opened in the editor as the next revision; nothing is stored until saved."""
    from engineering.core.retightening import with_restress  # the engine with numpy: only where a draft is opened

    design = access.design_for(request.user, pk, may="specify")
    desk = Desk(request, order=design.order, design=design, newest=_newest(design))
    if request.method == "POST":
        return desk.posted()
    rows = Study.objects.filter(kind="re-tightening", status=JobStatus.DONE, specification__revision__design=design)
    study = rows.select_related("specification").filter(pk=study_pk).first()
    planned = (study.result or {}).get("visits") if study else None
    if study is None or not planned:
        raise Unknown("There is no such plan of this design, or it has no visits.")
    ages = [visit["age"] for visit in planned]
    return desk.page(tree_of(with_restress(study.specification.document, ages)))


def _found(result: dict[str, Any], index: int) -> dict[str, Any] | None:
    lists = [wish["designs"] for wish in result.get("wishes", [])] + [result.get("nearest", [])]
    return next((one for designs in lists for one in designs if one["index"] == index), None)


@require_POST
def preview(request: HttpRequest) -> HttpResponse:
    """Verdict and leading figures of a posted document, worked in this request; nothing is stored.

    With `help`: what would help at once, from changes that need no other rods. 422: not accepted.
    """
    from engineering.core import advice  # the engine with numpy: only where it is asked
    from engineering.core import preview as engine

    access.need(request.user, "view")
    try:
        if len(request.body) > LARGEST_DOCUMENT:
            raise ValueError("too long")
        document = json.loads(request.body)
        if request.GET.get("help"):
            shown = advice.advise(document, quick=True)
            return render(request, "jobs/design_help/_quick_advice.html", {"result": shown})
        return render(request, "jobs/design_help/_preview.html", {"preview": engine.preview(document)})
    except (SpecificationRefused, ValueError, RecursionError):
        return render(request, "jobs/design_help/_preview.html", {"preview": None}, status=422)
