"""A standard piece's limits, and the measures of one that is ordered."""

from __future__ import annotations

from typing import Any

from django import forms

from engineering.core.contract.units import QUANTITIES, format_number
from engineering.core.standard import MEASURES
from jobs.forms.measured import QuantityField
from jobs.models import Order, StandardPiece

MOST_ORDERS = 500


class StandardForm(forms.Form):
    """`now`: the template's own measures, engine's units. Valid data: `limits`, for the measures that may vary."""

    name = forms.CharField(label="Name", max_length=80, help_text="As the office asks for it: bar counter, cored.")
    about = forms.CharField(label="About it", max_length=300, required=False)

    def __init__(self, *args: Any, now: dict[str, float], units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        for name, measure in MEASURES.items():
            kind = QUANTITIES[measure.quantity]
            own = f"The template has {format_number(kind.from_us(now[name], units), 5)} {kind.unit(units)}."
            for end, word in (("low", "from"), ("high", "to")):
                label = f"{measure.words.capitalize()}, {word}"
                hint = f"{own} Both empty: it does not vary." if end == "low" else ""
                self.fields[f"{_key(name)}_{end}"] = QuantityField(
                    measure.quantity, units, label=label, required=False, help_text=hint
                )
        self.fields["steps"] = forms.IntegerField(
            label="Values checked of each", min_value=2, max_value=9, initial=3,
            help_text="Both ends and evenly between; every combination is checked.",
        )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        sent = super().clean() or {}
        for name in MEASURES:
            low, high = sent.get(f"{_key(name)}_low"), sent.get(f"{_key(name)}_high")
            if (low is None) != (high is None):
                self.add_error(f"{_key(name)}_high", "Give both ends, or neither.")
            elif low is not None and high is not None and low > high:
                self.add_error(f"{_key(name)}_high", "This lies under the lower end.")
        if not self.errors and not self.limits:
            raise forms.ValidationError("Give the limits of at least one measure.")
        return sent

    @property
    def limits(self) -> list[dict[str, Any]]:
        sent = self.cleaned_data
        ends = {name: (sent.get(f"{_key(name)}_low"), sent.get(f"{_key(name)}_high")) for name in MEASURES}
        return [{"measure": n, "low": low, "high": high} for n, (low, high) in ends.items() if low is not None]


class StandardOrderForm(forms.Form):
    """Valid data: order, mark, pieces, and `values` by measure in the engine's units."""

    order = forms.ModelChoiceField(Order.objects.none(), label="Order", empty_label="choose")
    mark = forms.CharField(label="Mark", max_length=40, help_text="Letters, digits, - and _.")
    pieces = forms.IntegerField(label="Pieces of it", min_value=1, max_value=200, initial=1)

    def __init__(self, *args: Any, standard: StandardPiece, **options: Any) -> None:
        super().__init__(*args, **options)
        orders = self.fields["order"]
        assert isinstance(orders, forms.ModelChoiceField)  # noqa: S101  as it is written above
        orders.queryset = Order.objects.filter(archived_at=None).order_by("-created_at")
        units = standard.revision.specification.units
        self.measures = [one["measure"] for one in standard.limits]
        for one in standard.limits:
            measure = MEASURES[one["measure"]]
            kind = QUANTITIES[measure.quantity]
            low, high = (format_number(kind.from_us(one[end], units), 5) for end in ("low", "high"))
            self.fields[_key(one["measure"])] = QuantityField(
                measure.quantity, units, label=measure.words.capitalize(),
                help_text=f"Checked from {low} to {high} {kind.unit(units)}.",
            )  # fmt: skip

    @property
    def values(self) -> dict[str, float]:
        return {name: self.cleaned_data[_key(name)] for name in self.measures}


def _key(measure: str) -> str:
    return measure.replace(" ", "_")
