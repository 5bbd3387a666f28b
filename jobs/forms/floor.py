"""What the crew writes down. Amounts are typed in the units of the piece's drawing, or with a unit of their own."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, cast

from django import forms
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as lazy

from jobs.forms.measured import QuantityField, TemperatureField, moment
from jobs.models import BatchTicket, Mix, StrengthTest, Wrench
from jobs.words import here, tell


class FormCheckForm(forms.Form):
    """The three points, and the height of each rod where the drawing has a point of its axis."""

    core_held = forms.BooleanField(label=lazy("Core held down, it cannot float"), required=False)
    sleeves_sealed = forms.BooleanField(label=lazy("Sleeves straight, tied and sealed"), required=False)
    pockets_set = forms.BooleanField(label=lazy("Pockets and plates set square"), required=False)
    note = forms.CharField(
        label=lazy("Note"), required=False, max_length=5_000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, places: list[dict[str, Any]], units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.places = places
        for number, place in enumerate(places):
            self.fields[f"height_{number}"] = QuantityField("length", units, required=False, label=place["label"])

    def heights(self) -> list[Any]:
        return [self[f"height_{number}"] for number in range(len(self.places))]

    def values(self) -> dict[str, Any]:
        measured = [(place, self.cleaned_data[f"height_{number}"]) for number, place in enumerate(self.places)]
        rows = [
            {"rod": place["rod"], "x_in": place["x_in"], "drawn_in": place["drawn_in"], "measured_in": value}
            for place, value in measured
            if value is not None
        ]
        return {name: self.cleaned_data[name] for name in ("core_held", "sleeves_sealed", "pockets_set", "note")} | {
            "rod_heights": rows
        }


def open_tickets() -> QuerySet[BatchTicket]:
    """Tickets of the last two days that no pour has taken yet."""
    since = timezone.now() - timedelta(days=2)
    return BatchTicket.objects.filter(pour=None, at__gte=since).select_related("mix_version__mix").order_by("-at")


class PourForm(forms.Form):
    batch = forms.CharField(label=lazy("Batch"), max_length=40, help_text=lazy("As it stands on the ticket."))
    mix = forms.ModelChoiceField(
        Mix.objects.none(), label=lazy("Mix"), required=False, empty_label=lazy("not one of the list")
    )
    ticket = forms.ModelChoiceField(
        BatchTicket.objects.none(), label=lazy("Batch ticket"), required=False, empty_label=lazy("none written")
    )
    water_added_at = moment(lazy("Water added at"), required=False)
    slump_in = QuantityField("length", label=lazy("Slump or flow"), required=False)
    unit_weight_pcf = QuantityField("density", label=lazy("Unit weight"), required=False)
    mix_temperature_f = TemperatureField(label=lazy("Temperature of the mix"), required=False)
    air_temperature_f = TemperatureField(label=lazy("Temperature of the air"), required=False)
    note = forms.CharField(
        label=lazy("Note"), required=False, max_length=5_000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, others: list[tuple[int, str]], units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["mix"].queryset = Mix.objects.filter(active=True).order_by("name")  # type: ignore[attr-defined]  # a model choice
        self.fields["ticket"].queryset = open_tickets()  # type: ignore[attr-defined]  # a model choice
        for name in ("slump_in", "unit_weight_pcf", "mix_temperature_f", "air_temperature_f"):
            self.fields[name].units = units  # type: ignore[attr-defined]  # a QuantityField or a TemperatureField
        if others:
            self.fields["others"] = forms.TypedMultipleChoiceField(
                label=lazy("The same batch also went into"),
                choices=others,
                coerce=int,
                required=False,
                widget=forms.CheckboxSelectMultiple,
            )

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "others"}


class StrengthForm(forms.Form):
    MOST = 6
    kind = forms.ChoiceField(
        label=lazy("Specimens"), choices=StrengthTest.Kind.choices, initial="cylinder", widget=forms.RadioSelect
    )
    note = forms.CharField(
        label=lazy("Note"), required=False, max_length=5_000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        kind = cast(forms.ChoiceField, self.fields["kind"])
        kind.choices = [(name, here(label)) for name, label in StrengthTest.Kind.choices]
        for number in range(self.MOST):
            self.fields[f"specimen_{number}"] = QuantityField(
                "stress", units, required=number == 0, label=tell("Specimen {number}", number=number + 1)
            )

    def specimens(self) -> list[Any]:
        return [self[f"specimen_{number}"] for number in range(self.MOST)]

    def values(self) -> dict[str, Any]:
        broken = [self.cleaned_data[f"specimen_{number}"] for number in range(self.MOST)]
        return {
            "kind": self.cleaned_data["kind"],
            "note": self.cleaned_data["note"],
            "specimens_psi": [value for value in broken if value is not None],
        }


class WrenchField(forms.ModelChoiceField):
    """Named with the end of its calibration."""

    def label_from_instance(self, wrench: Any) -> str:
        return tell("{wrench}, calibrated until {day}", wrench=wrench.name, day=f"{wrench.calibrated_until:%Y-%m-%d}")


class StartStressingForm(forms.Form):
    wrench = WrenchField(
        Wrench.objects.none(),
        label=lazy("Torque wrench"),
        required=False,
        empty_label=lazy("choose"),
        error_messages={"required": lazy("Say which torque wrench is used.")},
    )
    gauge_resolution_in = QuantityField(
        "length",
        label=lazy("Smallest step the stretch gauge shows"),
        help_text=lazy("Such as 0.001, 1/64 or 0.02 mm. One too coarse for a rod is refused for it."),
    )

    def __init__(self, *args: Any, by_torque: bool, units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        cast(QuantityField, self.fields["gauge_resolution_in"]).units = units
        field = cast(WrenchField, self.fields["wrench"])
        field.required = by_torque
        field.queryset = Wrench.objects.filter(active=True).order_by("name")


class ReadingForm(forms.Form):
    line_clear = forms.BooleanField(
        label=lazy("Nobody stands in the line of this rod, in front or behind."),
        error_messages={"required": lazy("Confirm this first. Nothing is written down without it.")},
    )
    torque_lbf_ft = QuantityField("torque", label=lazy("Torque read"), required=False)
    elongation_in = QuantityField("length", label=lazy("Stretch measured"), required=False)
    crown_in = QuantityField("length", label=lazy("Crown measured"), required=False)
    lift_off_lbf = QuantityField("force", label=lazy("Lift-off force"), required=False)
    rod = forms.CharField(widget=forms.HiddenInput, max_length=40)
    step = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=100)

    def __init__(self, *args: Any, units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        for name in ("torque_lbf_ft", "elongation_in", "crown_in", "lift_off_lbf"):
            self.fields[name].units = units  # type: ignore[attr-defined]  # a QuantityField

    def values(self) -> dict[str, Any]:
        return dict(self.cleaned_data)


class LoadTestForm(forms.Form):
    """A load that was put on without a plan, or a test that went wrong; what is accepted is concluded from its plan."""

    load_lbf = QuantityField("force", label=lazy("Load put on"))
    deflection_in = QuantityField("length", label=lazy("Deflection under it"))
    residual_in = QuantityField("length", label=lazy("Left 24 hours after unloading"), required=False)
    cracks_seen = forms.BooleanField(label=lazy("A crack was seen"), required=False)
    note = forms.CharField(
        label=lazy("Note"), required=False, max_length=5_000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        for name in ("load_lbf", "deflection_in", "residual_in"):
            self.fields[name].units = units  # type: ignore[attr-defined]  # a QuantityField


class InstallForm(forms.Form):
    cautions_confirmed = forms.BooleanField(
        label=lazy("I have read these cautions, and they are kept here."),
        error_messages={"required": lazy("Read the cautions and confirm them first.")},
    )
    note = forms.CharField(
        label=lazy("Note"), required=False, max_length=5_000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, supports: list[str], units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.count = len(supports)
        for number, label in enumerate(supports):
            self.fields[f"support_{number}"] = QuantityField("length", units, label=label)

    def supports(self) -> list[Any]:
        return [self[f"support_{number}"] for number in range(self.count)]

    def values(self) -> dict[str, Any]:
        return {
            "supports_in": [self.cleaned_data[f"support_{number}"] for number in range(self.count)],
            "cautions_confirmed": self.cleaned_data["cautions_confirmed"],
            "note": self.cleaned_data["note"],
        }


class ReasonForm(forms.Form):
    reason = forms.CharField(label=lazy("Why"), max_length=2_000, widget=forms.Textarea(attrs={"rows": 3}))


def local_now() -> str:
    return timezone.localtime().strftime("%Y-%m-%dT%H:%M")
