"""Signing in and out, the first account, one's own password and keys."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import login, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from jobs import access, tablets
from jobs.actions import people
from jobs.errors import ShopError
from jobs.forms.people import FirstAccountForm, PasswordChangeForm, SignInForm, TokenForm
from jobs.models import ApiToken, Person
from jobs.views.entries import accepted, attempt, person_of, posts_only, sent_to, show

BACKEND = "django.contrib.auth.backends.ModelBackend"


@method_decorator([login_not_required, never_cache], name="dispatch")
class SignIn(LoginView):
    template_name = "jobs/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def dispatch(self, request: HttpRequest, *args: Any, **options: Any) -> Any:
        if not Person.objects.exists():
            return HttpResponseRedirect(reverse("first_account"))
        return super().dispatch(request, *args, **options)


class SignOut(LogoutView):
    next_page = "login"


@login_not_required
@never_cache
def first_account(request: HttpRequest) -> HttpResponse:
    """The first visitor of a fresh shop makes the manager's account, with the code from the console."""
    if Person.objects.exists():
        return HttpResponseRedirect(reverse("login"))
    form = FirstAccountForm(sent_to(request))
    error: ShopError | None = None
    if request.method == "POST" and form.is_valid():
        sent = {name: form.cleaned_data[name] for name in ("code", "username", "password", "first_name", "last_name")}
        try:
            made, error = attempt(lambda: people.create_first_manager(**sent), form)
        except people.WrongSetupCode as wrong:
            made, error = None, wrong
            form.add_error("code", wrong.message)
        if made is not None:
            login(request, made, backend=BACKEND)
            return accepted(
                request,
                "Your account is made, and you are signed in. Next: the shop's name and address.",
                reverse("shop"),
            )
    return show(request, "jobs/first_account.html", {}, error, form)


def password_change(request: HttpRequest) -> HttpResponse:
    form = PasswordChangeForm(sent_to(request))
    error = None
    person = access.person_for(request.user, request.user.pk, may="view")
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data

        def act() -> bool:
            people.change_password(person, by=person, new_password=sent["password"], old_password=sent["old_password"])
            return True

        done, error = attempt(act, form)
        if done:
            person.refresh_from_db()
            update_session_auth_hash(request, person)  # this device stays signed in, the others do not
            words = _("Your password is changed. Other devices have to sign in again.")
            return accepted(request, words, reverse("board"))
    return show(request, "jobs/password_change.html", {}, error, form)


def tokens(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "token")
    tablets.needs_password(request)
    form = TokenForm(sent_to(request))
    error, key = None, ""
    person = access.person_for(request.user, request.user.pk, may="view")
    if request.method == "POST" and form.is_valid():
        made, error = attempt(lambda: people.issue_token(person, by=person, **form.values(person)), form)
        if made is not None:
            key, form = made[1], TokenForm()
    return show(
        request,
        "jobs/tokens.html",
        {"tokens": ApiToken.objects.filter(person=person).order_by("-pk"), "key": key},
        error,
        form,
    )


@posts_only("token_page")
def token_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    token = access.token_for(request.user, pk)
    made, error = attempt(lambda: people.revoke_token(token, by=person_of(request)))
    if made is not None:
        return accepted(request, f"The key “{made.label}” is taken back.", reverse("tokens"))
    rows = ApiToken.objects.filter(person=person_of(request)).order_by("-pk")
    return show(request, "jobs/tokens.html", {"tokens": rows}, error, TokenForm())


@require_safe
def token_page(request: HttpRequest, pk: int) -> HttpResponse:
    return HttpResponseRedirect(reverse("tokens"))
