"""The drawing of a revision as a DXF file, as installed or turned over as it is cast."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET

from engineering.core.contract import parse
from jobs.access import revision_for
from jobs.errors import Unknown
from reports import actions
from reports.drawing.dxf import to_dxf
from reports.drawing.form import form_figures
from reports.views import person_of

WIDTH, SIZE = 1000.0, 9.0  # the sheet the letters are sized for [pt]


@require_GET
def revision_dxf(request: HttpRequest, pk: int) -> HttpResponse:
    """Plan, elevation and sections at full size. Unknown where a face-up piece is asked for turned over."""
    revision = revision_for(request.user, pk)
    piece = parse(revision.specification.document)
    turned = request.GET.get("turned") == "yes"
    if turned and not piece.face_down:
        raise Unknown(f"{revision} is cast face up: there is no turned-over drawing of it.")
    figures = form_figures(piece, turned=turned, width=WIDTH, size=SIZE, enlarge=False)
    data = to_dxf(figures, units=piece.units, title=f"{revision}{', turned over, face down' if turned else ''}")
    actions.note_drawing_taken(revision, by=person_of(request), turned=turned)
    name = f"{revision.design.mark}-{revision.letter}{'-face-down' if turned else ''}.dxf"
    disposition = content_disposition_header(as_attachment=True, filename=name) or "attachment"
    return HttpResponse(data, content_type="image/vnd.dxf", headers={"Content-Disposition": disposition})
