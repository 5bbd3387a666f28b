"""Everything of the shop as one download, for the manager."""

from __future__ import annotations

import tempfile
from typing import cast

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse
from django.utils import timezone

from jobs import access, tablets
from jobs.actions.keeping import note_everything_taken
from jobs.models import Person
from jobs.views.entries import posts_only
from reports import everything


@posts_only("keeping", argument=None)
def everything_file(request: HttpRequest) -> HttpResponse:
    """Put together first and sent then, so that a download that begins is whole. The file has no name on the disk."""
    access.need(request.user, "shop")
    tablets.needs_password(request)
    made = tempfile.TemporaryFile(dir=settings.DATA)  # noqa: SIM115  the answer closes it
    try:
        counts = everything.write(made)
        note_everything_taken(by=cast(Person, request.user), counts=counted(counts))
    except BaseException:
        made.close()
        raise
    made.seek(0)
    name = f"everything-{timezone.localdate():%Y-%m-%d}.zip"
    answer = FileResponse(made, as_attachment=True, filename=name, content_type="application/zip")
    return cast(HttpResponse, answer)  # a file is answered in portions; for whoever calls a view it is an answer


def counted(counts: dict[str, object]) -> dict[str, int]:
    """For the event: how many, not which."""
    missing = cast(list[object], counts["missing"])
    return {"rows": cast(int, counts["rows"]), "files": cast(int, counts["files"]), "missing": len(missing)}
