"""The shop's own sheet: name and address, mixes, wrenches."""

from __future__ import annotations

from typing import Any

from django import forms


class BedsField(forms.CharField):
    """Names by line, given back as a list."""

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list) else value

    def clean(self, value: Any) -> list[str]:
        return [line.strip() for line in super().clean(value).splitlines() if line.strip()]


class ShopForm(forms.Form):
    name = forms.CharField(label="Name of the shop", max_length=120)
    address = forms.CharField(label="Address", max_length=200, required=False)
    contact = forms.CharField(
        label="Contact", max_length=120, required=False, help_text="Telephone or e-mail; it stands on every record."
    )
    cube_factor = forms.FloatField(
        label="Cylinder strength over cube strength",
        help_text="0.8 unless the shop has measured its own. Cubes count times this.",
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    coupon_days = forms.IntegerField(
        label="Days that coupon tests count for",
        min_value=1,
        max_value=3_650,
        help_text="90, a quarter of a year, is common practice and has no source. No piece is marked stressed without "
        "it. Where the coupons of a mix do not stand behind a piece, an engineer may accept that with a reason.",
        error_messages={"required": "Say for how many days; 90 is common practice."},
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    beds = BedsField(
        label="Curing beds, one on each line",
        required=False,
        help_text="The places where pieces cure, by the names the crew uses. Empty: beds are not kept.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    document_size = forms.ChoiceField(label="Paper", choices=[("letter", "US letter"), ("a4", "A4")])


class MixForm(forms.Form):
    name = forms.CharField(label="Name of the mix", max_length=80)
    description = forms.CharField(label="Description", max_length=200, required=False)
    active = forms.BooleanField(label="In use", required=False, initial=True)


class WrenchForm(forms.Form):
    name = forms.CharField(label="Name or number of the wrench", max_length=80)
    certificate = forms.CharField(label="Calibration certificate", max_length=80, required=False)
    calibrated_until = forms.DateField(
        label="Calibrated until", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    active = forms.BooleanField(label="In use", required=False, initial=True)
