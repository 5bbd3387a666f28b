"""How a page takes an entry: the number of the tap, the attempt, the words when it was accepted or refused."""

from __future__ import annotations

import functools
import uuid
from collections.abc import Callable
from typing import Any, TypeVar, cast

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import render
from django.urls import reverse

from jobs.errors import BadEntry, NotAllowed, ShopError, Unknown
from jobs.models import Person
from jobs.words import here

Made = TypeVar("Made")
View = Callable[..., HttpResponse]


def person_of(request: HttpRequest) -> Person:
    """Whoever is signed in: the middleware lets nobody else come to a page that writes."""
    return cast(Person, request.user)


def request_id_of(request: HttpRequest) -> uuid.UUID:
    """The number that came with the entry; a fresh one where it is missing or no number at all."""
    try:
        return uuid.UUID(request.POST.get("request_id", ""))
    except ValueError:
        return uuid.uuid4()


def sent_to(request: HttpRequest) -> QueryDict | None:
    """What a form is bound to: everything that was posted, even if that is nothing at all; None on a mere look."""
    return request.POST if request.method == "POST" else None


def attempt(act: Callable[[], Made], form: BaseForm | None = None) -> tuple[Made | None, ShopError | None]:
    """What the action made, or why it did not. A refusal that names a field of the form is shown at that field too."""
    try:
        return act(), None
    except (Unknown, NotAllowed):
        raise  # the page for these is the same everywhere
    except BadEntry as refusal:
        if form is not None and refusal.field in form.fields:
            form.add_error(refusal.field, here(refusal.message))
        return None, refusal
    except ShopError as refusal:
        return None, refusal


def accepted(request: HttpRequest, text: str, back: str, *, draft: str = "", well: bool = True) -> HttpResponse:
    """Say that it is written down, let the device forget its draft, and go on.

    `well`: false for an entry that is kept but tells of something that needs eyes.
    """
    waited: list[str] | None = getattr(request, "said_to_the_queue", None)
    if waited is None:
        (messages.success if well else messages.warning)(request, text, extra_tags=draft)
    else:  # an entry that had waited on a tablet: nobody is there to read a message on the next page
        waited.append(text)
    return HttpResponseRedirect(back)


def show(
    request: HttpRequest,
    template: str,
    context: dict[str, Any],
    error: ShopError | None = None,
    form: BaseForm | None = None,
) -> HttpResponse:
    """The page; with the status of the refusal, or 422 where the form itself has faults."""
    note_refusal(request, error, form)
    status = error.http_status if error else 422 if form is not None and form.is_bound and form.errors else 200
    return render(request, template, {**context, "error": error, "form": form}, status=status)


def note_refusal(request: HttpRequest, error: ShopError | None, form: BaseForm | None) -> None:
    """Leave with the request why its entry was not written: a sender that reads no page is told so
    (`jobs.site.queued_entries`).
    """
    kept: Any = request
    kept.entry_form = form
    if error is not None:
        kept.refusal = error
    elif form is not None and form.is_bound and form.errors:
        kept.refusal = [
            (str(form.fields[name].label or name) if name in form.fields else "", " ".join(map(str, faults)))
            for name, faults in form.errors.items()
        ]


def posts_only(page: str, argument: str | None = "pk") -> Callable[[View], View]:
    """For an address that only takes entries. Somebody who signs in again is led back there with GET: show its page."""

    def wrap(view: View) -> View:
        @functools.wraps(view)
        def inner(request: HttpRequest, **arguments: Any) -> HttpResponse:
            if request.method != "POST":
                return HttpResponseRedirect(reverse(page, args=[arguments[argument]] if argument else []))
            return view(request, **arguments)

        return inner

    return wrap
