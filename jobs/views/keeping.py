"""What the shop keeps and how long; a person's data removed."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from jobs import access
from jobs.actions import erasing, keeping
from jobs.forms.keeping import EraseForm, KeepingForm
from jobs.models import Keeping
from jobs.views.entries import accepted, attempt, person_of, request_id_of, sent_to, show


def what_is_kept(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "shop")
    row = Keeping.objects.filter(pk=1).first() or Keeping(pk=1)
    start = {name: getattr(row, name) for name in KeepingForm.base_fields}
    form = KeepingForm(sent_to(request), initial=start)
    error = None
    if request.method == "POST" and form.is_valid():
        made, error = attempt(lambda: keeping.set_keeping(by=person_of(request), **form.cleaned_data), form)
        if made is not None:
            return accepted(request, "How long things are kept is saved.", reverse("keeping"), draft="keeping")
    return show(request, "jobs/keeping.html", {"here": "shop", "row": row}, error, form)


def person_erase(request: HttpRequest, pk: int) -> HttpResponse:
    """A page of its own: it says what goes and what stays, and asks for the sign-in name."""
    person = access.person_for(request.user, pk)
    form = EraseForm(sent_to(request), username=person.get_username())
    error = None
    if request.method == "POST" and form.is_valid():
        made, error = attempt(
            lambda: erasing.erase(person, by=person_of(request), request_id=request_id_of(request)), form
        )
        if made is not None:
            return accepted(request, f"Done: it is {made} now.", reverse("people"))
    return show(request, "jobs/person_erase.html", {"here": "people", "person": person}, error, form)
