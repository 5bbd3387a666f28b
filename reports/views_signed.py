"""The engineer's signed file: brought back by upload, and handed out again."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import content_disposition_header
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from jobs.access import need
from jobs.errors import BadEntry, ShopError, Unknown
from jobs.views.entries import posts_only
from reports import actions, shelf
from reports.models import RecordKind
from reports.signed_copies import take_back
from reports.verification import NotReadable
from reports.views import person_of, record_context, record_for, uploaded


@posts_only("record", "number")
def upload_signed(request: HttpRequest, number: str) -> HttpResponse:
    """Look at the file, keep it, release where that is allowed; the page says what came of it."""
    found = record_for(request.user, number)
    need(request.user, "release")
    if found.kind != RecordKind.DESIGN:
        raise Unknown(f"{found.number} has no field for an engineer's signature.")
    said, error = "", None
    try:
        copy, release, refused = take_back(found, uploaded(request), by=person_of(request))
        said = f"Kept: the signature is whole, and its certificate names {copy.signer}."
        if release is not None:
            said += f" {found.revision} is released by it."
        error = refused
    except NotReadable as exc:
        error = BadEntry(str(exc), field="file")
    except ShopError as exc:
        error = exc
    status = 200 if said else (error.http_status if error else 200)
    context = record_context(request, record_for(request.user, number)) | {"said": said, "error": error}
    return render(request, "reports/record.html", context, status=status)


@require_GET
@never_cache
def signed_file(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """A signed copy, after looking that it still is the one that was kept."""
    found = record_for(request.user, number)
    gone = f"There is no such signed copy of {found.number} here, or its file is no longer what was kept."
    copy = found.signed_copies.filter(pk=pk).first()
    if copy is None:
        raise Unknown(gone)
    try:
        data = shelf.whole(copy)
    except OSError as exc:
        raise Unknown(gone) from exc
    actions.note_download(found, by=person_of(request), copy=copy)
    named = content_disposition_header(as_attachment=True, filename=copy.file_name)
    return HttpResponse(data, content_type="application/pdf", headers={"Content-Disposition": named or "attachment"})
