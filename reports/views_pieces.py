"""Records of one piece: which there are, what each tells, and asking for one."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from jobs.access import may, piece_for
from jobs.errors import ShopError, Unknown
from jobs.views.entries import attempt, posts_only, request_id_of
from jobs.words import say
from reports import actions, standing
from reports.models import OF_A_PIECE, IssuedRecord, RecordKind
from reports.names import NAMES
from reports.views import person_of

WHAT = {
    RecordKind.POUR: say(
        "What is wanted of the mix, the form check, the batch and its strength tests; blank to write in where nothing "
        "is written down yet."
    ),
    RecordKind.STRESSING: say("Targets, every reading with its verdict, wrench, people, tolerance."),
    RecordKind.LOAD_TEST: say("Load and deflection over the predicted curve, cracks, who accepted it."),
    RecordKind.HANDOVER: say("For the client: supports, what it may carry, never cut or drill, care, as built."),
    RecordKind.LABEL: say("Two labels to cut out: one under the piece, one on its crate."),
}


@require_GET
def piece_records(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, pk, None)


@posts_only("piece_records")
def request_piece_record(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for a record of a piece, and go to its page."""
    kind = request.POST.get("kind", "")
    piece = piece_for(request.user, pk)
    if kind not in OF_A_PIECE:
        raise Unknown("There is no such record of a piece.")
    asked = RecordKind(kind)
    piece = piece_for(request.user, pk, may=actions.PERMISSION[asked])
    record, error = attempt(
        lambda: actions.request_piece_record(
            piece,
            asked,
            by=person_of(request),
            site_address=request.build_absolute_uri("/").rstrip("/"),
            request_id=request_id_of(request),
        )
    )
    if record is None:
        return _page(request, pk, error)
    return HttpResponseRedirect(reverse("record", args=[record.number]))


def _page(request: HttpRequest, pk: int, error: ShopError | None) -> HttpResponse:
    piece = piece_for(request.user, pk)
    records = IssuedRecord.objects.filter(piece=piece).select_related(
        "revision__design", "requested_by", "piece__design"
    )
    kinds = [(kind, NAMES[kind], WHAT[kind], may(request.user, actions.PERMISSION[kind])) for kind in OF_A_PIECE]
    return render(
        request,
        "reports/piece_records.html",
        {
            "piece": piece,
            "kinds": kinds,
            "records": [(r, standing.superseded_by(r)) for r in records[:100]],
            "error": error,
            "here": "board",
        },
        status=error.http_status if error else 200,
    )
