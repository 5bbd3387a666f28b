"""The manager's own pages: people, the shop, mixes, wrenches."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_safe

from jobs import access, pins
from jobs.actions import people, shop
from jobs.coupon_rule import LIMIT_MISSING
from jobs.forms.people import NewPasswordForm, NewPersonForm, PersonForm
from jobs.forms.shop import MixForm, ShopForm, WrenchForm
from jobs.forms.tablets import NewPinForm
from jobs.models import Mix, Person, Shop, Wrench
from jobs.views.entries import accepted, attempt, person_of, sent_to, show


@require_safe
def people_list(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "people")
    rows = Person.objects.order_by("-is_active", "role", "username")
    return show(request, "jobs/people.html", {"here": "people", "people": rows})


def person_new(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "people")
    form = NewPersonForm(sent_to(request))
    error = None
    if request.method == "POST" and form.is_valid():
        made, error = attempt(
            lambda: people.create_person(person_of(request), password=form.cleaned_data["password"], **form.values()),
            form,
        )
        if made is not None:
            return accepted(request, f"{made} can sign in now.", reverse("people"), draft="person-new")
    return show(
        request, "jobs/person_form.html", {"here": "people", "draft": "person-new", "person_form": form}, error, form
    )


def person_edit(request: HttpRequest, pk: int) -> HttpResponse:
    person = access.person_for(request.user, pk)
    setting_password = request.POST.get("do") == "password"
    start = {name: getattr(person, name) for name in (*PersonForm.NAMES, "is_active")}
    form = PersonForm(request.POST if request.method == "POST" and not setting_password else None, initial=start)
    password_form = NewPasswordForm(request.POST if setting_password else None)
    error = None
    if setting_password and password_form.is_valid():

        def set_password() -> bool:
            people.change_password(person, by=person_of(request), new_password=password_form.cleaned_data["password"])
            return True

        done, error = attempt(set_password, password_form)
        if done:
            return accepted(request, f"{person} has a new password.", reverse("people"))
    elif request.method == "POST" and form.is_valid():
        fields = form.values() | {"is_active": form.cleaned_data["is_active"]}
        made, error = attempt(lambda: people.edit_person(person, by=person_of(request), **fields), form)
        if made is not None:
            return accepted(request, f"The account of {made} is changed.", reverse("people"), draft=f"person-{pk}")
    context = {
        "here": "people",
        "person": person,
        "draft": f"person-{pk}",
        "person_form": form,
        "password_form": password_form,
        "pin_form": NewPinForm() if pins.may_use_a_pin(person) else None,
    }
    return show(request, "jobs/person_form.html", context, error, password_form if setting_password else form)


def shop_page(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "shop")
    row = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    start = {name: getattr(row, name) for name in ShopForm.base_fields}
    form = ShopForm(request.POST if request.method == "POST" else None, initial=start)
    error = None
    if request.method == "POST" and form.is_valid():
        made, error = attempt(lambda: shop.edit_shop(by=person_of(request), **form.cleaned_data), form)
        if made is not None:
            return accepted(request, "The shop's sheet is saved.", reverse("shop"), draft="shop")
    context = {
        "here": "shop",
        "coupon_limit_missing": LIMIT_MISSING if row.coupon_days is None else "",
        "mixes": Mix.objects.order_by("-active", "name"),
        "wrenches": Wrench.objects.order_by("-active", "name"),
    }
    return show(request, "jobs/shop.html", context, error, form)


def mix(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    access.need(request.user, "shop")
    row = get_object_or_404(Mix, pk=pk) if pk else None
    return _stock_row(request, "mix", row, MixForm, lambda given: shop.save_mix(mix=row, **given))


def wrench(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    access.need(request.user, "shop")
    row = get_object_or_404(Wrench, pk=pk) if pk else None
    return _stock_row(request, "wrench", row, WrenchForm, lambda given: shop.save_wrench(wrench=row, **given))


def _stock_row(
    request: HttpRequest,
    what: str,
    row: Mix | Wrench | None,
    kind: type[MixForm] | type[WrenchForm],
    save: Callable[[dict[str, Any]], Mix | Wrench],
) -> HttpResponse:
    """The page of one thing in the shop's stock, new or to be changed."""
    start = {name: getattr(row, name) for name in kind.base_fields} if row else None
    form = kind(request.POST if request.method == "POST" else None, initial=start)
    draft, error = f"{what}-{row.pk if row else 'new'}", None
    if request.method == "POST" and form.is_valid():
        made, error = attempt(lambda: save({"by": person_of(request), **form.cleaned_data}), form)
        if made is not None:
            return accepted(request, f"{what.capitalize()} {made} is saved.", reverse("shop"), draft=draft)
    context = {"here": "shop", "row": row, "what": what, "draft": draft}
    return show(request, "jobs/stock_form.html", context, error, form)
