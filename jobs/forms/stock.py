"""Lots, their use, a copied design or order, and a piece list."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as lazy

from jobs.forms.quality import long_text
from jobs.models import StockLot
from jobs.words import here


def day(label: str) -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, required=False, widget=widget)


class LotForm(forms.Form):
    kind = forms.ChoiceField(label="What it is", choices=StockLot.Kind.choices)
    lot = forms.CharField(label="Lot or heat number", max_length=80)
    description = forms.CharField(label="Thread and grade, or size", max_length=120)
    supplier = forms.CharField(label="Supplier", max_length=120, required=False)
    certificate = forms.CharField(label="Certificate", max_length=120, required=False)
    received_on = day("Received on")
    valid_until = day("Calibrated until (load cells)")
    active = forms.BooleanField(label="In use", required=False, initial=True)


class LotField(forms.ModelChoiceField):
    """Named in the reader's language."""

    def label_from_instance(self, lot: Any) -> str:
        return f"{here(lot.get_kind_display())} {lot.lot}"


class LotUseForm(forms.Form):
    def __init__(self, *args: Any, rods: list[str], **options: Any) -> None:
        super().__init__(*args, **options)
        lots = StockLot.objects.filter(active=True).exclude(kind=StockLot.Kind.LOAD_CELL)
        self.fields["lot"] = LotField(lots, label=lazy("Lot"), empty_label=lazy("choose"))
        if rods:
            self.fields["rods"] = forms.MultipleChoiceField(
                label=lazy("For which rods"),
                required=False,
                choices=[(rod, rod) for rod in rods],
                widget=forms.CheckboxSelectMultiple,
            )
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)


class CopyDesignForm(forms.Form):
    mark = forms.CharField(label="Mark of the new one", max_length=40)
    pieces = forms.IntegerField(label="Pieces", min_value=1, max_value=200, initial=1)
    title = forms.CharField(label="Title", max_length=200, required=False)


class CopyOrderForm(forms.Form):
    number = forms.CharField(label="Number of the new order", max_length=20)
    due_date = day("Due")


class ListForm(forms.Form):
    file = forms.FileField(label="Piece list (CSV)", help_text="Columns: mark, pieces, like, title.")
