"""A kept file as it is handed out: looked over first, as a download, never to be shown inside the site."""

from __future__ import annotations

import hashlib

from django.http import HttpResponse
from django.utils.http import content_disposition_header

from jobs.attachments import TYPES, Kind
from jobs.errors import Unknown
from jobs.models import Attachment


def handed_out(row: Attachment) -> HttpResponse:
    """Unknown where the file is gone, or is no longer the one that was kept."""
    try:
        with row.file.open("rb") as file:
            data = file.read()
    except FileNotFoundError as exc:
        raise Unknown("The file is not in the data folder. Bring it back from a backup.") from exc
    if hashlib.sha256(data).hexdigest() != row.sha256:
        raise Unknown("The file on the server is no longer the one that was kept, so it is not handed out.")
    named = content_disposition_header(as_attachment=True, filename=row.name)
    return HttpResponse(
        data,
        content_type=TYPES[Kind(row.kind)],
        headers={"Content-Disposition": named or "attachment", "X-Content-Type-Options": "nosniff"},
    )
