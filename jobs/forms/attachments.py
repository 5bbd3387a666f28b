"""A file for an order or a piece; and why one is taken off."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as lazy

from jobs.forms.quality import long_text

ACCEPTED = ".pdf,.jpg,.jpeg,.png,.webp,.txt,.csv"


class AttachmentForm(forms.Form):
    file = forms.FileField(
        label=lazy("File"),
        help_text=lazy("PDF, picture, text or CSV; at most 15 MB. Pictures are kept without what the camera wrote in."),
        widget=forms.FileInput(attrs={"accept": ACCEPTED}),
        max_length=1_000,
    )
    note = long_text(lazy("Note"), required=False, rows=2)


class TakeOffForm(forms.Form):
    reason = long_text(lazy("Why it is taken off"))
