"""What is looked for in the whole book."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as lazy

from jobs.search import LONGEST


class SearchForm(forms.Form):
    q = forms.CharField(
        label=lazy("Look for"),
        required=False,
        max_length=LONGEST,
        help_text=lazy(
            "Order, client, mark, piece such as C-104/2, batch, lot, number of a record, words of a non-conformance."
        ),
        widget=forms.TextInput(attrs={"type": "search"}),
    )
