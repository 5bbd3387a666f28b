"""Orders: the form of one, and the search over all."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as lazy


class OrderForm(forms.Form):
    number = forms.CharField(label="Order number", max_length=20)
    client = forms.CharField(label="Client", max_length=120)
    site = forms.CharField(label="Site", max_length=200, required=False, help_text="Where the pieces go.")
    due_date = forms.DateField(
        label="Due", required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    notes = forms.CharField(label="Notes", required=False, max_length=10_000, widget=forms.Textarea(attrs={"rows": 5}))
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def values(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("number", "client", "site", "due_date", "notes")}


class OrderSearch(forms.Form):
    q = forms.CharField(
        label=lazy("Look for"), required=False, max_length=100, widget=forms.TextInput(attrs={"type": "search"})
    )
    state = forms.ChoiceField(
        label=lazy("Show"),
        required=False,
        choices=[("", lazy("open orders")), ("late", lazy("late orders")), ("archived", lazy("put away"))],
    )
