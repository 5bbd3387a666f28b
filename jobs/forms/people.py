"""Signing in, the first account, people and their keys."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from jobs.models import Person, Role


def secret(label: Any, hint: Any = "", complete: str = "new-password") -> forms.CharField:
    return forms.CharField(
        label=label,
        help_text=hint,
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": complete}),
    )


class SignInForm(AuthenticationForm):
    """Django's own, with our words."""

    username = UsernameField(
        label="Sign-in name", widget=forms.TextInput(attrs={"autofocus": True, "autocomplete": "username"})
    )
    error_messages = {
        "invalid_login": "That name and password do not belong together. Names and passwords mind capitals.",
        "inactive": "This account is closed. Ask the shop manager.",
    }


class NewPasswordForm(forms.Form):
    """Two fields that must agree; the rest is the action's to judge."""

    password = secret(lazy("New password"), lazy("Ten characters or more, and no common word."))
    again = secret(lazy("The same again"))

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("password") and values.get("again") and values["password"] != values["again"]:
            self.add_error("again", _("The two passwords differ."))
        return values


class PasswordChangeForm(NewPasswordForm):
    old_password = secret(lazy("Old password"), complete="current-password")
    field_order = ("old_password", "password", "again")


class FirstAccountForm(NewPasswordForm):
    code = forms.CharField(
        label="Set-up code",
        max_length=40,
        help_text="It stands on the console where the site was started.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    username = forms.CharField(
        label="Sign-in name", max_length=150, widget=forms.TextInput(attrs={"autocomplete": "username"})
    )
    first_name = forms.CharField(label="First name", max_length=150, required=False)
    last_name = forms.CharField(label="Last name", max_length=150, required=False)
    field_order = ("code", "username", "first_name", "last_name", "password", "again")


class PersonForm(forms.Form):
    username = forms.CharField(
        label="Sign-in name", max_length=150, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    first_name = forms.CharField(label="First name", max_length=150, required=False)
    last_name = forms.CharField(label="Last name", max_length=150, required=False)
    email = forms.EmailField(label="E-mail", max_length=254, required=False)
    role = forms.ChoiceField(label="Role", choices=Role.choices)
    licence_number = forms.CharField(
        label="Licence number", max_length=40, required=False, help_text="An engineer's; it stands on every release."
    )
    jurisdiction = forms.CharField(
        label="Jurisdiction", max_length=80, required=False, help_text="Where that licence holds."
    )
    is_active = forms.BooleanField(label="May sign in", required=False, initial=True)

    NAMES = ("username", "first_name", "last_name", "email", "role", "licence_number", "jurisdiction")

    def values(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.NAMES}


class NewPersonForm(PersonForm):
    password = secret("First password", "Ten characters or more. They change it themselves after signing in.")
    is_active = None  # type: ignore[assignment]  # Django's own way to leave out an inherited field


class TokenForm(forms.Form):
    label = forms.CharField(label="What the key is for", max_length=80)
    days = forms.IntegerField(
        label="Days until it ends",
        min_value=1,
        max_value=366,
        initial=90,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    read_only = forms.BooleanField(label="May only read", required=False, initial=True)

    def values(self, person: Person) -> dict[str, Any]:
        expires_at = timezone.now() + timedelta(days=self.cleaned_data["days"])
        return {
            "label": self.cleaned_data["label"],
            "expires_at": expires_at,
            "read_only": self.cleaned_data["read_only"],
        }
