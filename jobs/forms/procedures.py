"""Lift-off, re-stressing, incident and finish, as the tablet asks for them."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as lazy

from jobs.floor_gates import FINISH_WORDS
from jobs.forms.measured import QuantityField
from jobs.forms.quality import long_text
from jobs.models import Wrench
from jobs.procedures import Procedure
from jobs.words import here, say, tell


def line_clear(label: str | None = None) -> forms.BooleanField:
    return forms.BooleanField(
        label=label or lazy("Nobody stands in the line of this rod, in front or behind."),
        error_messages={"required": lazy("Confirm this first. Nothing is written down without it.")},
    )


class LiftOffForm(forms.Form):
    def __init__(self, *args: Any, rods: list[str], units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["line_clear"] = line_clear()
        self.fields["rod"] = forms.ChoiceField(label=lazy("Rod"), choices=[(rod, rod) for rod in rods])
        self.fields["force_lbf"] = QuantityField("force", units, label=lazy("Force at which the nut left its plate"))
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)


class RestressingForm(forms.Form):
    def __init__(
        self, *args: Any, ages: list[float], rods: list[str], by_torque: bool, units: str, **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self.rods = rods
        self.fields["age_days"] = forms.TypedChoiceField(
            label=lazy("Age that the drawing names"),
            coerce=float,
            choices=[(str(age), tell("{age} days", age=f"{age:g}")) for age in ages],
        )
        if by_torque:
            self.fields["wrench"] = forms.ModelChoiceField(
                Wrench.objects.filter(active=True).order_by("name"),
                label=lazy("Torque wrench"),
                empty_label=lazy("choose"),
            )
        kind, word = ("torque", say("Torque")) if by_torque else ("force", say("Force"))
        for number, rod in enumerate(rods):
            self.fields[f"line_clear_{number}"] = line_clear(
                tell("Nobody stands in the line of rod {rod}, in front or behind.", rod=rod)
            )
            self.fields[f"rod_{number}"] = QuantityField(
                kind, units, label=tell("{word} of rod {rod}", word=word, rod=rod)
            )
        self.fields["crown_in"] = QuantityField("length", units, label=lazy("Crown measured"), required=False)
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)

    def values(self) -> dict[str, Any]:
        sent = self.cleaned_data
        return {
            "values": {rod: sent[f"rod_{number}"] for number, rod in enumerate(self.rods)},
            **{name: sent[name] for name in ("age_days", "crown_in", "note")},
            "line_clear": all(sent[f"line_clear_{number}"] for number in range(len(self.rods))),
            "wrench": sent.get("wrench"),
        }


class IncidentForm(forms.Form):
    def __init__(self, *args: Any, procedure: Procedure, rods: list[str], rods_needed: bool, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["confirmed"] = forms.MultipleChoiceField(
            label=lazy("Done first"),
            required=procedure.planned,
            choices=[(str(step), here(step)) for step in procedure.first],
            widget=forms.CheckboxSelectMultiple,
        )
        if rods:
            self.fields["rods"] = forms.MultipleChoiceField(
                label=lazy("Which rods"),
                required=rods_needed,
                choices=[(rod, rod) for rod in rods],
                widget=forms.CheckboxSelectMultiple,
            )
        if not procedure.planned:
            self.fields["somebody_hurt"] = forms.BooleanField(label=lazy("Somebody was hurt"), required=False)
        self.fields["what"] = long_text(
            lazy("What happened") if not procedure.planned else lazy("Why, and what was found")
        )


class FinishingForm(forms.Form):
    def __init__(self, *args: Any, asked: list[str], **options: Any) -> None:
        super().__init__(*args, **options)
        for name, words in FINISH_WORDS.items():
            label = here(words) + ("" if name in asked else " " + tell("(the drawing does not ask for it)"))
            self.fields[name] = forms.BooleanField(label=label, required=False)
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)
