"""The tablet itself: what waits on it, whose it is, changing over by PIN, the person's language."""

from __future__ import annotations

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from jobs import access, pins, tablets
from jobs.actions import tablets as acts
from jobs.errors import BadEntry, NotNow, ShopError
from jobs.forms.tablets import ChangeOverForm, DismissForm, NewPinForm, OwnPinForm, TabletForm
from jobs.kept_pages import pages_of_today
from jobs.models import Person, ShopTablet
from jobs.views.account import BACKEND
from jobs.views.entries import accepted, attempt, person_of, posts_only, request_id_of, sent_to, show
from jobs.words import say, tell

ENDS = "ends_at"


def tablet(request: HttpRequest) -> HttpResponse:
    """What waits on this device and what was refused (the device itself knows), and the manager's naming of it."""
    access.need(request.user, "view")
    form, error = TabletForm(sent_to(request)), None
    if request.method == "POST":
        access.need(request.user, "shop")
    if request.method == "POST" and form.is_valid():
        made, error = attempt(lambda: acts.make_tablet(by=person_of(request), name=form.cleaned_data["name"]), form)
        if made is not None:
            answer = accepted(
                request, tell("This device is now {made}, a tablet of the shop.", made=made), reverse("tablet")
            )
            tablets.remember(answer, made)
            return answer
    others = ShopTablet.objects.filter(retired_at=None).order_by("name") if access.may(request.user, "shop") else ()
    context = {"here": "tablet", "tablet": tablets.tablet_of(request), "others": others}
    return show(request, "jobs/tablet/tablet.html", context, error, form)


@posts_only("tablet_of_shop")
def retire(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.tablet_for(request.user, pk, may="shop")
    made = acts.retire_tablet(row, by=person_of(request))
    return accepted(request, tell("{made} is no tablet of the shop any more.", made=made), reverse("tablet"))


@require_safe
def tablet_of_shop(request: HttpRequest, pk: int) -> HttpResponse:
    return HttpResponseRedirect(reverse("tablet"))


def change_over(request: HttpRequest) -> HttpResponse:
    """On a shop tablet where somebody is signed in: another of the crew goes on, by PIN."""
    access.need(request.user, "view")
    here = tablets.tablet_of(request)
    people = Person.objects.filter(is_active=True, role__in=pins.ROLES).exclude(pin_hash="").order_by("first_name")
    form = ChangeOverForm(sent_to(request), people=people)
    error: ShopError | None = None
    if request.method == "POST" and here is None:
        error = NotNow(say("This device is no tablet of the shop. Sign in by password, or ask the shop manager."))
    if request.method == "POST" and here is not None and form.is_valid():
        sent = form.cleaned_data
        answer, error = attempt(
            lambda: acts.try_pin(sent["person"], by=person_of(request), tablet=here, pin=sent["pin"])
        )
        if answer is not None and answer.person is not None:
            return _goes_on(request, answer.person)
        if answer is not None and answer.locked_until is not None:
            until = f"{timezone.localtime(answer.locked_until):%H:%M}"
            form.add_error("pin", f"Too many wrong PINs. Wait until {until}, or sign in by password.")
        elif answer is not None:
            form.add_error("pin", "That PIN is not right.")
    context = {"here": "tablet", "tablet": here, "people": people}
    return show(request, "jobs/tablet/change_over.html", context, error, form)


def _goes_on(request: HttpRequest, person: Person) -> HttpResponse:
    """Sign the person in; the session ends when the one signed in by password would have."""
    ends = request.session.get(ENDS) or timezone.now().timestamp() + request.session.get_expiry_age()
    login(request, person, backend=BACKEND)
    request.session[tablets.BY_PIN], request.session[ENDS] = True, ends
    request.session.set_expiry(max(1, int(ends - timezone.now().timestamp())))
    where = _on_this_site(request, "next") or reverse("board")
    return accepted(request, tell("You are {display_name}.", display_name=person.display_name), where)


def _on_this_site(request: HttpRequest, field: str) -> str:
    """The address that was sent, if it leads nowhere else."""
    where = request.POST.get(field, "")
    ours = url_has_allowed_host_and_scheme(where, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    return where if ours else ""


def pin(request: HttpRequest) -> HttpResponse:
    """One's own PIN, with one's password."""
    access.need(request.user, "view")
    person = access.person_for(request.user, request.user.pk, may="view")
    form, error = OwnPinForm(sent_to(request)), None
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data

        def act() -> bool:
            acts.set_pin(person, by=person, pin=sent["pin"], password=sent["password"])
            return True

        done, error = attempt(act, form)
        if done:
            return accepted(request, tell("Your PIN is set."), reverse("tablet"))
    return show(request, "jobs/tablet/pin.html", {"usable": pins.may_use_a_pin(person)}, error, form)


@posts_only("person")
def pin_of(request: HttpRequest, pk: int) -> HttpResponse:
    """The manager gives somebody of the crew a PIN, or takes it back."""
    person = access.person_for(request.user, pk)
    form, error = NewPinForm(request.POST), None

    def act() -> bool:
        if request.POST.get("do") == "clear":
            acts.clear_pin(person, by=person_of(request))
        else:
            acts.set_pin(person, by=person_of(request), pin=form.cleaned_data["pin"])
        return True

    if request.POST.get("do") == "clear" or form.is_valid():
        done, error = attempt(act, form)
        if done:
            return accepted(request, tell("The PIN of {person} is changed.", person=person), reverse("people"))
    return show(request, "jobs/tablet/pin_of.html", {"here": "people", "person": person}, error, form)


@require_POST
def language(request: HttpRequest) -> HttpResponse:
    person = access.person_for(request.user, request.user.pk, may="view")
    acts.choose_language(person, by=person, language=request.POST.get("language", ""))
    return HttpResponseRedirect(_on_this_site(request, "back") or "/")


@posts_only("tablet", None)
def dismiss(request: HttpRequest) -> HttpResponse:
    """A refused entry is put away with a word; what it was stays in the event log."""
    form = DismissForm(request.POST)
    error: ShopError | None = None
    if form.is_valid():
        sent = dict(form.cleaned_data)
        pk = sent.pop("piece")
        piece = access.piece_for(request.user, pk) if pk else None
        made, error = attempt(
            lambda: acts.dismiss_refusal(by=person_of(request), piece=piece, request_id=request_id_of(request), **sent),
            form,
        )
        if made is not None:
            return accepted(request, tell("Put away; what it was stays in the book."), reverse("tablet"))
    else:
        error = BadEntry(" ".join(f"{form.fields[name].label}: {faults[0]}" for name, faults in form.errors.items()))
    context = {"here": "tablet", "tablet": tablets.tablet_of(request), "others": ()}
    return show(request, "jobs/tablet/tablet.html", context, error, TabletForm())


@require_safe
def pages_to_keep(request: HttpRequest) -> HttpResponse:
    """Addresses of the pages that the device keeps readable without the network."""
    access.need(request.user, "view")
    return JsonResponse({"pages": pages_of_today(person_of(request))})
