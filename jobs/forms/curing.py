"""Recipe, batch ticket, cure, temperatures, coupons and washout."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as lazy

from engineering.core.mix import KINDS
from jobs.errors import BadEntry
from jobs.forms.measured import QuantityField, moment
from jobs.forms.quality import long_text
from jobs.models import MixVersion
from jobs.words import say, tell

LB_PER_KG = 1 / 0.45359237
COLUMNS = ("name", "kind", "weight", "specific gravity", "solids", "tolerance")


class NumberField(forms.FloatField):
    """A plain number; a decimal comma counts as a point."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**options)

    def to_python(self, value: Any) -> Any:
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


class WeightField(forms.CharField):
    """A weight in lb: a plain number is in the drawing's own system, `12.5 kg`, `300 g` and `28 lb` say theirs."""

    FACTORS = {"lb": 1.0, "kg": LB_PER_KG, "g": LB_PER_KG / 1000, "oz": 1 / 16}

    def __init__(self, units: str = "us", **options: Any) -> None:
        self.unit = "kg" if units == "si" else "lb"
        options.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(max_length=30, **options)

    def clean(self, value: Any) -> float | None:
        text = super().clean(value).strip().lower().replace(",", ".")
        if not text:
            return None
        unit = next((name for name in ("lb", "kg", "oz", "g") if text.endswith(name)), self.unit)
        try:
            return float(text.removesuffix(unit).strip()) * self.FACTORS[unit]
        except ValueError as exc:
            raise forms.ValidationError(tell("Write a number in {unit}, such as 12.5.", unit=self.unit)) from exc


class MixVersionForm(forms.Form):
    cement = forms.ChoiceField(label="Cement", choices=MixVersion.Cement.choices)
    ingredients = long_text(
        "Ingredients, one on each line",
        rows=9,
        hint=f"{'; '.join(COLUMNS)}. Kind: {', '.join(KINDS)}. Weight in lb, as for one batch of the recipe; solids is "
        "the share of a polymer or admixture that is not water [1]; tolerance is the share it may be off [0.01].",
    )
    air_percent = NumberField(label="Air, % of the volume", initial=0)
    working_minutes = forms.IntegerField(label="Working time, minutes from the water on", min_value=1, initial=20)
    note = forms.CharField(label="What changed, and why", required=False, max_length=200)

    def values(self) -> dict[str, Any]:
        sent = self.cleaned_data
        return {
            "cement": sent["cement"],
            "ingredients": read_ingredients(sent["ingredients"]),
            "air": sent["air_percent"] / 100,
            "working_minutes": sent["working_minutes"],
            "note": sent["note"],
        }


def read_ingredients(text: str) -> list[dict[str, Any]]:
    """Rows of a recipe; BadEntry names every line that cannot be read."""
    rows, faults = [], []
    for line, row in enumerate(text.splitlines(), start=1):
        if not row.strip():
            continue
        cells = [cell.strip() for cell in row.split(";")]
        try:
            numbers = [float(cell.replace(",", ".")) for cell in cells[2:] if cell]
        except ValueError:
            numbers = []
        if not 2 <= len(numbers) <= 4:
            faults.append(f"line {line}: {'; '.join(COLUMNS)} are wanted")
            continue
        names = ("weight_lb", "specific_gravity", "solids", "tolerance")
        rows.append({"name": cells[0], "kind": cells[1], **dict(zip(names, numbers, strict=False))})
    if faults:
        raise BadEntry("; ".join(faults).capitalize() + ".", field="ingredients")
    return rows


def written_ingredients(version: MixVersion) -> str:
    return "\n".join(
        f"{row['name']}; {row['kind']}; {row['weight_lb']:g}; {row['specific_gravity']:g}; {row['solids']:g}; "
        f"{row['tolerance']:g}"
        for row in version.ingredients
    )


class TicketForm(forms.Form):
    batch = forms.CharField(label=lazy("Batch"), max_length=40, help_text=lazy("As it stands on the ticket."))
    water_added_at = moment(lazy("Water added at"), required=False)

    def __init__(self, *args: Any, names: list[str], units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.names = names
        for number, name in enumerate(names):
            self.fields[f"weighed_{number}"] = WeightField(units, label=tell("{name}, weighed", name=name))
            self.fields[f"lot_{number}"] = forms.CharField(
                label=tell("{name}, lot", name=name), max_length=60, required=False
            )
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)

    def values(self) -> dict[str, Any]:
        sent = self.cleaned_data
        return {
            **{name: sent[name] for name in ("batch", "water_added_at", "note")},
            "weighed_lb": {name: sent[f"weighed_{number}"] for number, name in enumerate(self.names)},
            "lots": {name: sent[f"lot_{number}"] for number, name in enumerate(self.names)},
        }


class CureCheckForm(forms.Form):
    covered = forms.BooleanField(label=lazy("It is covered"), required=False)
    moist = forms.BooleanField(label=lazy("It is moist under the cover"), required=False)
    note = long_text(lazy("Note"), required=False, rows=2)


class TemperatureForm(forms.Form):
    """One reading typed, or a logger's file."""

    at = moment(lazy("Read at"), required=False)
    value = NumberField(label=lazy("Temperature of the concrete"), required=False)
    degrees = forms.ChoiceField(label=lazy("Degrees"), choices=[("f", "°F"), ("c", "°C")], widget=forms.RadioSelect)
    file = forms.FileField(
        label=lazy("Or a logger's file (CSV)"),
        required=False,
        help_text=lazy("Time and temperature by line; a heading may be there."),
    )
    note = long_text(lazy("Note"), required=False, rows=2)


class CouponForm(forms.Form):
    MOST = 6
    PARTS = (
        ("yield_lbf", "force", say("load where it bends off the straight line")),
        ("ultimate_lbf", "force", say("greatest load")),
        ("width_in", "length", say("width")),
        ("depth_in", "length", say("depth")),
    )

    def __init__(self, *args: Any, units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["span_in"] = QuantityField("length", units, label=lazy("Span between the supports"))
        for number in range(self.MOST):
            for name, quantity, words in self.PARTS:
                self.fields[f"{name}_{number}"] = QuantityField(
                    quantity,
                    units,
                    label=tell("Coupon {number}: {words}", number=number + 1, words=words),
                    required=number == 0,
                )
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)

    def values(self) -> dict[str, Any]:
        sent, specimens = self.cleaned_data, []
        for number in range(self.MOST):
            parts = {name: sent[f"{name}_{number}"] for name, _, _ in self.PARTS}
            if all(value is None for value in parts.values()):
                continue
            if any(value is None for value in parts.values()):
                raise BadEntry(say("Coupon {number} is not complete.", number=number + 1), field=f"yield_lbf_{number}")
            specimens.append({**parts, "span_in": sent["span_in"]})
        return {"specimens": specimens, "note": sent["note"]}


class WashoutForm(forms.Form):
    def __init__(self, *args: Any, units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["sample_lb"] = WeightField(units, label=lazy("Fresh sample"))
        self.fields["fibre_lb"] = WeightField(units, label=lazy("Dry fibre washed out of it"))
        self.fields["note"] = long_text(lazy("Note"), required=False, rows=2)
