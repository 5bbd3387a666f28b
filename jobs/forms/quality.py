"""Non-conformance, its decision and repair, a photo, and the reason for passing over a gate."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.utils.translation import gettext_lazy as lazy

from jobs.models import NonConformance
from jobs.photos import Picture, read_picture
from jobs.words import here, say

SUBJECTS = {
    "form": say("Form"),
    "pour": say("Pour"),
    "cure": say("Cure"),
    "stressing": say("Stressing"),
    "load test": say("Load test"),
    "install": say("Install"),
    "other": say("Other"),
}


def photo_field(*, required: bool = False) -> forms.FileField:
    return forms.FileField(
        label=lazy("Photo"),
        required=required,
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp", "capture": "environment"}),
    )


def long_text(
    label: Any, *, required: bool = True, rows: int = 3, most: int = 5_000, hint: Any = ""
) -> forms.CharField:
    return forms.CharField(
        label=label, required=required, max_length=most, help_text=hint, widget=forms.Textarea(attrs={"rows": rows})
    )


class NonConformanceForm(forms.Form):
    what = long_text(lazy("What is not as it should be"))
    place = forms.CharField(
        label=lazy("Where on the piece"),
        required=False,
        max_length=200,
        help_text=lazy("Such as: left end, pocket R2."),
    )
    photo = photo_field()
    note = long_text(lazy("Note"), required=False, rows=2)


class DecisionForm(forms.Form):
    decision = forms.ChoiceField(
        label=lazy("Decision"), choices=NonConformance.Decision.choices, widget=forms.RadioSelect
    )
    note = long_text(
        lazy("Why; and, for a repair, how"), hint=lazy("Remake rejects the piece; another is made in its place.")
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        decision = cast(forms.ChoiceField, self.fields["decision"])
        decision.choices = [(name, here(label)) for name, label in NonConformance.Decision.choices]


class RepairForm(forms.Form):
    note = long_text(lazy("What was done"))


class PhotoForm(forms.Form):
    photo = photo_field(required=True)
    about = forms.ChoiceField(label=lazy("Of what"), choices=[(name, str(label)) for name, label in SUBJECTS.items()])
    note = long_text(lazy("Note"), required=False, rows=2)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        about = cast(forms.ChoiceField, self.fields["about"])
        about.choices = [(name, here(label)) for name, label in SUBJECTS.items()]


class PassForm(forms.Form):
    reason = long_text(
        lazy("Why it may go on all the same"), hint=lazy("It stands in the event log and on the record.")
    )


def picture_of(form: Any) -> Picture | None:
    """The photo of a valid form, read and made ready. BadEntry where it is no photo."""
    sent = form.cleaned_data.get("photo")
    return read_picture(sent, size=sent.size) if sent else None
