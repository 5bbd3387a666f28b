"""Which refused entries tell of something that was physically done all the same, and so are kept as facts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.forms import BaseForm
from django.http import HttpRequest
from django.utils import translation

from jobs import access
from jobs.actions.facts import keep_fact
from jobs.errors import GateClosed, NotNow, RequestReused, ShopError, StageMoved
from jobs.forms.floor import ReadingForm
from jobs.models import Piece, Stage
from jobs.views.entries import person_of, request_id_of
from jobs.views.units import units_of

CLOSED = (GateClosed, NotNow, StageMoved, RequestReused)  # the last: sent again after its answer was lost
DONE_BY_MOVING = {
    Stage.FORMED: "It was formed",
    Stage.POURED: "It was poured",
    Stage.STRIPPED: "It was stripped from the form",
    Stage.DELIVERED: "It was delivered",
    Stage.INSTALLED: "It was installed",
}


def _reading(request: HttpRequest) -> str:
    rod, step = request.POST.get("rod", "")[:40], request.POST.get("step", "")
    return f"Rod {rod} was tightened to step {int(step) + 1 if step.isdecimal() and step.isascii() else '?'}"


def _move(request: HttpRequest) -> str:
    return DONE_BY_MOVING.get(request.POST.get("to_stage", ""), "")  # type: ignore[call-overload]  # Stage is a str


def _said(words: str) -> Callable[[HttpRequest], str]:
    return lambda request: words


# By the name of the entry's address. What is only looked at or only written (a form check, a strength test, a note)
# can be written again and is no fact of this kind.
DONE: dict[str, Callable[[HttpRequest], str]] = {
    "reading": _reading,
    "piece_move": _move,
    "pour": _said("It was poured"),
    "load_test": _said("It was load-tested"),
    "load_test_run": _said("A load was put on"),
    "install": _said("It was installed"),
    "lift_off": _said("A nut was lifted off"),
    "restressing": _said("Its rods were brought back to their force"),
    "finishing": _said("Its ends were worked on"),
}


def keep(request: HttpRequest, refusal: ShopError) -> dict[str, Any]:
    """Keep it, and say under which non-conformance; nothing where it was no deed, or not refused by a gate."""
    match = request.resolver_match
    if match is None or not isinstance(refusal, CLOSED) or match.url_name not in DONE:
        return {}
    what = DONE[match.url_name](request)
    if not what:
        return {}
    piece = access.piece_for(request.user, match.kwargs.get("pk"), may="produce")
    try:
        made = keep_fact(
            piece,
            by=person_of(request),
            kind=match.url_name,
            what=what,
            typed=typed(request, _form(request, match.url_name, piece)),
            refusal_code=refusal.code,
            refusal=refusal.message,
            request_id=request_id_of(request),
        )
    except RequestReused:
        return {}  # the number belongs to something else altogether: a refusal like any other
    words = made.non_conformance
    return {"kept": True, "non_conformance": words.pk, "message": made.refusal, "code": made.refusal_code}


def _form(request: HttpRequest, name: str, piece: Piece) -> BaseForm | None:
    """Whose labels and units to go by; the page of a round that is over shows another form than the reading's."""
    return ReadingForm(units=units_of(piece)) if name == "reading" else getattr(request, "entry_form", None)


def typed(request: HttpRequest, form: BaseForm | None) -> list[tuple[str, str]]:
    """Label and value of what was filled in, as it was typed; the labels in the book's own language."""
    with translation.override("en"):
        return _typed(request, form)


def _typed(request: HttpRequest, form: BaseForm | None) -> list[tuple[str, str]]:
    left_out = {"csrfmiddlewaretoken", "request_id", "round"}
    fields = form.fields if form is not None else {}
    labels = {name: str(field.label) for name, field in fields.items() if field.label}
    units = {name: getattr(field, "unit", "") for name, field in fields.items()}
    return [
        (labels.get(name) or name.replace("_", " "), f"{', '.join(values)[:500]} {units.get(name, '')}".strip())
        for name, values in request.POST.lists()
        if name not in left_out
    ]
