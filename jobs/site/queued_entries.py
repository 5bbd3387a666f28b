"""Entries that a page's script sends, one by one, from the queue of its device: answered with what became of each.

`X-Entry: now` is an entry just tapped, `X-Entry: queued` one that had waited. The answer is JSON and says `written`,
`refused` or `sign-in`; whatever else comes back (a fault of ours, a proxy's page, nothing) tells the device to keep it.
The entry itself is the same form at the same address as without the header, and its number makes a second sending
find the first.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone, translation

from jobs import facts, tablets
from jobs.errors import ShopError
from jobs.tap import Tap, coming_by
from jobs.templatetags.book import refusal as said
from jobs.words import here

NOW, QUEUED = "now", "queued"
REFUSED_BY_DJANGO = {400, 404, 405, 410, 413, 414}  # what sending again would not change


class QueuedEntries:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.method != "POST":
            return self.get_response(request)
        how = request.headers.get("X-Entry", "")
        if how not in (NOW, QUEUED):
            with coming_by(Tap(tablet=_name(request))):
                return self.get_response(request)
        if (other := _whose(request)) is not None:
            return other
        if how == QUEUED:
            request.said_to_the_queue = []  # type: ignore[attr-defined]  # see jobs.views.entries.accepted
        claimed = request.headers.get("X-Entry-At", "") if how == QUEUED else ""
        with coming_by(Tap(_name(request), _done_at(claimed), claimed[:40])):
            answer = self.get_response(request)
            return told(request, answer, queued=how == QUEUED)


def _name(request: HttpRequest) -> str:
    tablet = tablets.tablet_of(request)
    return tablet.name if tablet else ""


def _whose(request: HttpRequest) -> HttpResponse | None:
    """Make the request that of whoever made the entry; or the answer that they have to sign in for it."""
    made_by = request.headers.get("X-Entry-Person", "")
    if not request.user.is_authenticated:
        return JsonResponse({"entry": "sign-in"}, status=401)
    if made_by in ("", str(request.user.pk)):
        return None
    person = tablets.person_proven(request, request.headers.get("X-Entry-Proof", ""))
    if person is None or str(person.pk) != made_by:
        return JsonResponse({"entry": "sign-in", "other": True}, status=401)
    request.user = person
    return None


def _done_at(claimed: str) -> datetime | None:
    """When it was tapped by the tablet's clock, or now where that clock runs ahead or says nothing sensible."""
    if not claimed:
        return None
    now = timezone.now()
    try:
        at = datetime.fromisoformat(claimed)
    except ValueError:
        return now
    if timezone.is_naive(at) or at.year < 2000:
        return now
    return min(at, now)


def told(request: HttpRequest, answer: HttpResponse, *, queued: bool) -> HttpResponse:
    """What became of the entry, or the answer as it was where that cannot be said."""
    refusal: Any = getattr(request, "refusal", None)
    if answer.status_code in (301, 302, 303):
        return _written(request, answer, queued=queued)
    if isinstance(refusal, ShopError) and refusal.http_status >= 500:
        return answer
    if refusal is None and answer.status_code not in REFUSED_BY_DJANGO:
        return answer
    with translation.override(getattr(request.user, "language", "en")):
        body: dict[str, Any] = {"entry": "refused", **_words(refusal, answer.status_code)}
    if queued and isinstance(refusal, ShopError):
        body |= facts.keep(request, refusal)
    return JsonResponse(body, status=422 if answer.status_code < 400 else answer.status_code)


def _written(request: HttpRequest, answer: HttpResponse, *, queued: bool) -> HttpResponse:
    body: dict[str, Any] = {"entry": "written", "next": answer.headers["Location"]}
    if queued:
        body["said"] = getattr(request, "said_to_the_queue", [])
    kept = JsonResponse(body)
    kept.cookies = answer.cookies
    return kept


def _words(refusal: Any, status: int) -> dict[str, Any]:
    """`refusal`: a ShopError, the faults of a form as [(label, words)], or nothing that we said ourselves."""
    if isinstance(refusal, ShopError):
        reasons = [{"text": here(blocker.text), "who": here(blocker.who)} for blocker in refusal.blockers]
        return {"code": refusal.code, "message": said(refusal), "blockers": reasons}
    if refusal:
        return {"code": "bad-entry", "message": " ".join(f"{label}: {words}" for label, words in refusal)}
    return {"code": f"status-{status}", "message": f"The book does not take this entry ({status})."}
