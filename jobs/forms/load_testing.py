"""Plan and readings of a load test."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as lazy

from jobs.errors import BadEntry
from jobs.forms.measured import QuantityField
from jobs.forms.quality import long_text
from jobs.words import say


def plan_seen() -> forms.IntegerField:
    """The plan that the page showed: an entry made for it never counts for another."""
    return forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=1, max_value=2**31 - 1)


class PlanForm(forms.Form):
    def __init__(self, *args: Any, units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["what"] = forms.CharField(label=lazy("What is put on"), max_length=80, initial=lazy("sand bags"))
        self.fields["unit_lbf"] = QuantityField("force", units, label=lazy("Weight of one"))
        self.fields["layers"] = long_text(
            lazy("Layers, one on each line, in the order they go on"),
            rows=6,
            hint=lazy("Number; where. Such as: 10; along the middle. Four layers or more, about equal."),
        )
        self.fields["hold_minutes"] = forms.IntegerField(
            label=lazy("Minutes that the full load lies"),
            min_value=1,
            initial=1_440,
            help_text=lazy("1440 is a day."),
        )
        self.fields["stop_deflection_in"] = QuantityField(
            "length",
            units,
            label=lazy("Stop at this deflection"),
            required=False,
            help_text=lazy("Empty: twice l²/(20,000 h)."),
        )
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)
        self.fields["replaces"] = plan_seen()

    def values(self) -> dict[str, Any]:
        layers = []
        for line, row in enumerate(self.cleaned_data["layers"].splitlines(), start=1):
            if not row.strip():
                continue
            number, _, where = row.partition(";")
            if not number.strip().isascii() or not number.strip().isdigit():
                raise BadEntry(say("Line {line}: a number; then where it goes.", line=line), field="layers")
            layers.append({"number": int(number), "where": where.strip()})
        return {**self.cleaned_data, "layers": layers}


class LoadReadingForm(forms.Form):
    def __init__(self, *args: Any, units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["nobody_under"] = forms.BooleanField(
            label=lazy("Everybody is out from under it and out of the rods' line."),
            error_messages={"required": lazy("Confirm this first. Nothing is written down without it.")},
        )
        self.fields["load_lbf"] = QuantityField("force", units, label=lazy("Load on it now, without its own weight"))
        self.fields["deflection_in"] = QuantityField(
            "length", units, label=lazy("Deflection since before the first bag")
        )
        self.fields["crack_seen"] = forms.BooleanField(label=lazy("A crack is seen"), required=False)
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)
        self.fields["plan"] = plan_seen()

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "plan"}
