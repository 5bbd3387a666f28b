"""The shop's library of standard pieces: listed, made of a released drawing, approved, ordered from, retired."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from engineering.core.contract.units import QUANTITIES, format_quantity
from engineering.models import JobStatus
from engineering.queries import described_piece
from jobs import access
from jobs.actions import standards
from jobs.errors import GateClosed, ShopError
from jobs.forms.specification import fits_the_form, tree_of
from jobs.models import Order, StandardPiece
from jobs.views.desk import Desk
from jobs.views.entries import accepted, attempt, person_of, posts_only, request_id_of, sent_to, show

MOST = 200
ROWS = StandardPiece.objects.select_related("revision__design__order", "revision__specification", "study")


@require_safe
def library(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "view")
    live = ROWS.filter(retired_at=None).order_by("name")[:MOST]
    rows = [{"row": row, "limits": limits_in_words(row), "why": standards.blockers(row)} for row in live]
    context = {"here": "orders", "rows": rows}
    return render(request, "jobs/standards/list.html", context)


def limits_in_words(row: StandardPiece) -> list[tuple[str, str]]:
    """Each measure that may vary, and from where to where."""
    from engineering.core.standard import MEASURES  # the engine with numpy: only where limits are shown

    units, found = row.revision.specification.units, []
    for one in row.limits:
        measure = MEASURES[one["measure"]]
        low, high = (format_quantity(one[end], measure.quantity, units) for end in ("low", "high"))
        found.append((measure.words, low if low == high else f"{low} to {high}"))
    return found


def make(request: HttpRequest, pk: int) -> HttpResponse:
    """A standard piece of the released revision `pk`."""
    from engineering.core.standard import MEASURES
    from jobs.forms.standards import StandardForm

    revision = access.revision_for(request.user, pk, may="specify")
    piece = described_piece(revision.specification)
    now = {name: measure.of(piece) for name, measure in MEASURES.items()}
    form, error = StandardForm(sent_to(request), now=now, units=revision.specification.units), None
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data
        words = {"name": sent["name"], "about": sent["about"], "steps": sent["steps"]}
        by, tap = person_of(request), request_id_of(request)
        made, error = attempt(
            lambda: standards.make(revision, by=by, limits=form.limits, request_id=tap, **words), form
        )
        if made is not None:
            text = f"{made} is in the library; its limits are being checked."
            return accepted(request, text, reverse("standard_piece", args=[made.pk]), draft=f"standard-{pk}")
    context = {"here": "orders", "revision": revision, "design": revision.design, "draft": f"standard-{pk}"}
    return show(request, "jobs/standards/make.html", context, error, form)


def standard(request: HttpRequest, pk: int) -> HttpResponse:
    """One of them: its limits, how they were checked, and the form to make a piece from it."""
    row = access.row_for(request.user, ROWS, pk, "view" if request.method == "GET" else "specify")
    if request.method == "POST":
        return _ordered(request, row)
    return _page(request, row, _order_form(request, row))


def _order_form(request: HttpRequest, row: StandardPiece) -> Any:
    from jobs.forms.standards import StandardOrderForm

    initial = {"order": request.GET.get("order", "")[:20]}
    return StandardOrderForm(sent_to(request), standard=row, initial=initial)


def _ordered(request: HttpRequest, row: StandardPiece) -> HttpResponse:
    form, error = _order_form(request, row), None
    if form.is_valid():
        sent, values = form.cleaned_data, form.values
        if request.POST.get("do") == "draw":
            return _drawn(request, row, sent["order"], sent["mark"], values)
        by, tap = person_of(request), request_id_of(request)
        wanted = {"mark": sent["mark"], "values": values, "pieces": sent["pieces"]}
        made, error = attempt(lambda: standards.order_from(row, sent["order"], by=by, request_id=tap, **wanted), form)
        if made is not None:
            text = f"Design {made.mark} is saved, revision A. Its checks are running; a person releases it."
            return accepted(request, text, reverse("design", args=[made.pk]), draft=f"standard-order-{row.pk}")
    return _page(request, row, form, error)


def _drawn(request: HttpRequest, row: StandardPiece, order: Order, mark: str, values: dict[str, float]) -> HttpResponse:
    """The piece with these measures in the editor, as a design of its own; nothing is stored until saved."""
    document, error = attempt(lambda: standards.document_for(row, mark, values))
    if document is None or not fits_the_form(document):
        return _page(request, row, _order_form(request, row), error)
    desk = Desk(request, order=access.order_for(request.user, order.pk, may="specify"))
    desk.action = reverse("design_new", args=[order.pk])
    return desk.page(tree_of(document))


def _page(request: HttpRequest, row: StandardPiece, form: Any, error: ShopError | None = None) -> HttpResponse:
    study = row.study
    context = {
        "here": "orders",
        "standard": row,
        "limits": limits_in_words(row),
        "study": study,
        "percent": round(100 * study.progress),
        "under_way": study.status in (JobStatus.WAITING, JobStatus.RUNNING),
        "worst": _worst(row),
        "why": standards.blockers(row),
        "unchecked": standards.checks_missing(row),
        "outside": isinstance(error, GateClosed) and any(one.code == "outside-limits" for one in error.blockers),
        "draft": f"standard-order-{row.pk}",
        "uses": row.uses.select_related("design__order").order_by("-pk")[:50],
    }
    return show(request, "jobs/standards/standard.html", context, error, form)


def _worst(row: StandardPiece) -> list[dict[str, Any]]:
    from engineering.core.standard import MEASURES

    units = row.revision.specification.units
    return [
        {**one, "words": ", ".join(
            f"{MEASURES[name].words} {one['shown'][name]:g} {QUANTITIES[MEASURES[name].quantity].unit(units)}"
            for name in one["shown"]
        )}
        for one in (row.study.result or {}).get("worst", [])
    ]  # fmt: skip


@posts_only("standard_piece")
def approve(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.row_for(request.user, ROWS, pk, "release")
    made, error = attempt(lambda: standards.approve(row, by=person_of(request), request_id=request_id_of(request)))
    if made is None:
        return _page(request, row, _blank(row), error)
    return accepted(request, f"{row} is approved.", reverse("standard_piece", args=[pk]))


@posts_only("standard_piece")
def retire(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.row_for(request.user, ROWS, pk, "specify")
    made, error = attempt(lambda: standards.retire(row, by=person_of(request), request_id=request_id_of(request)))
    if made is None:
        return _page(request, row, _blank(row), error)
    return accepted(request, f"{row} is retired; nothing more is made from it.", reverse("standard_pieces"))


def _blank(row: StandardPiece) -> Any:
    from jobs.forms.standards import StandardOrderForm

    return StandardOrderForm(None, standard=row)


@require_safe
def under_way(request: HttpRequest, pk: int) -> HttpResponse:
    """How far the study of the limits is, fetched again every second; the whole page when it has ended."""
    row = access.row_for(request.user, ROWS, pk, "view")
    if row.study.status not in (JobStatus.WAITING, JobStatus.RUNNING):
        answer = HttpResponse(status=204)
        answer["HX-Refresh"] = "true"
        return answer
    context = {"standard": row, "percent": round(100 * row.study.progress)}
    return render(request, "jobs/standards/_under_way.html", context)

