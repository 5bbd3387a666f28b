"""The search over everything: what the shop keeps, and the records that were issued."""

from __future__ import annotations

import re
from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from jobs.search import KINDS, RECORDS, Found, Kind, words_in
from jobs.views.search import found_page
from jobs.words import here
from reports.models import PREFIXES, IssuedRecord

NUMBER = re.compile(rf"({'|'.join(PREFIXES.values())})-?(\d{{1,9}})", re.IGNORECASE)
KIND_OF = {prefix: kind for kind, prefix in PREFIXES.items()}


def _records(text: str) -> QuerySet[IssuedRecord]:
    fits: Q = words_in(text, "revision__design__mark", "revision__design__order__number")
    if exact := NUMBER.fullmatch(text):
        fits = Q(pk=int(exact[2]), kind=KIND_OF[exact[1].upper()])
    rows = IssuedRecord.objects.filter(fits).select_related("revision__design", "piece__design")
    return rows.order_by("-pk")


def _record(row: IssuedRecord, person: Any) -> Found:
    about = f"{here(row.get_kind_display())}, {row.piece or row.revision}"
    return Found(row.number, reverse("record", args=[row.number]), about)


EVERYTHING = (*KINDS, Kind(RECORDS, _records, _record))


@require_safe
def search_page(request: HttpRequest) -> HttpResponse:
    return found_page(request, EVERYTHING)
