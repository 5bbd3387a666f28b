"""Naming a tablet of the shop, changing over by PIN, setting one's PIN."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as lazy

from jobs.models import Person


def pin_field(label: Any, hint: Any = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        help_text=hint,
        max_length=20,
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off", "pattern": "[0-9]*"}),
    )


class TabletForm(forms.Form):
    name = forms.CharField(
        label=lazy("Name of this tablet"), max_length=60, help_text=lazy("Such as: tablet at the bed.")
    )


class ChangeOverForm(forms.Form):
    person = forms.ModelChoiceField(
        Person.objects.none(), label=lazy("Who are you?"), widget=forms.RadioSelect, empty_label=None
    )
    pin = pin_field(lazy("Your PIN"))

    def __init__(self, *args: Any, people: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["person"].queryset = people  # type: ignore[attr-defined]  # a model choice


class NewPinForm(forms.Form):
    """Twice, since nobody sees what is typed."""

    pin = pin_field(lazy("New PIN"), lazy("4 to 8 digits, not in a row and not all the same."))
    again = pin_field(lazy("The same again"))

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("pin") and values.get("again") and values["pin"] != values["again"]:
            self.add_error("again", "The two PINs differ.")
        return values


class OwnPinForm(NewPinForm):
    password = forms.CharField(
        label=lazy("Your password"),
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    field_order = ("password", "pin", "again")


class DismissForm(forms.Form):
    """A refused entry, as the tablet kept it, and the word with which somebody puts it away."""

    what = forms.CharField(label=lazy("Entry"), max_length=2_000)
    refusal = forms.CharField(label=lazy("Refused because"), max_length=2_000, required=False)
    word = forms.CharField(label=lazy("Your word on it"), max_length=2_000)
    piece = forms.IntegerField(label=lazy("Piece"), required=False, min_value=1)
    refused = forms.UUIDField(label=lazy("Number of the entry"), required=False)
