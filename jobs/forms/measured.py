"""Fields for what is measured: a number in the reader's unit or with one of its own, a temperature, a moment."""

from __future__ import annotations

import re
from typing import Any

from django import forms

from engineering.core.contract.unit_text import NotAQuantity, read_quantity
from engineering.core.contract.units import QUANTITIES
from jobs.words import tell

DECIMAL = {"inputmode": "decimal", "autocomplete": "off"}
UNIT_IN_IT = re.compile(r"[A-Za-z'\"′″’”]")
PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)", re.ASCII)


class QuantityField(forms.CharField):
    """A measured amount, given back in the us unit of its quantity: `0.31`, `5/16`, `8 mm` for a length in inches."""

    def __init__(self, quantity: str, units: str = "us", **options: Any) -> None:
        self.quantity, self.units = quantity, units
        options.setdefault("max_length", 40)
        options.setdefault("widget", forms.TextInput(attrs=dict(DECIMAL)))
        super().__init__(**options)

    @property
    def unit(self) -> str:
        return QUANTITIES[self.quantity].unit(self.units)

    def clean(self, value: Any) -> float | None:
        text = (
            super()
            .clean(value)
            .strip()
            .replace(",", "." if value and str(value).count(",") == 1 and "." not in str(value) else "")
        )
        if not text:
            return None
        kind = QUANTITIES[self.quantity]
        if PLAIN.fullmatch(text):
            return kind.to_us(float(text), self.units)
        try:
            return read_quantity(text if UNIT_IN_IT.search(text) else f"{text} {kind.unit(self.units)}", self.quantity)
        except (NotAQuantity, OverflowError) as exc:
            raise forms.ValidationError(
                tell(
                    "“{text}” {fault}. Write a number in {unit}, such as 0.31 or 5/16.",
                    text=text,
                    fault=str(exc),
                    unit=kind.unit(self.units),
                )
            ) from exc


TEMPERATURE = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*(?:°|deg)?\s*([CFcf]?)", re.ASCII)


class TemperatureField(forms.CharField):
    """A temperature, given back in °F. A plain number is in the degrees of the drawing; `22 °C` says its own."""

    def __init__(self, units: str = "us", **options: Any) -> None:
        self.units = units
        options.setdefault("max_length", 40)
        options.setdefault("widget", forms.TextInput(attrs=dict(DECIMAL)))
        super().__init__(**options)

    @property
    def unit(self) -> str:
        return "°C" if self.units == "si" else "°F"

    def clean(self, value: Any) -> float | None:
        text = super().clean(value).strip().replace(",", ".").replace("−", "-")
        if not text:
            return None
        read = TEMPERATURE.fullmatch(text)
        if read is None:
            raise forms.ValidationError(
                tell("“{text}” is no temperature. Write a number in {unit}, such as 20.", text=text, unit=self.unit)
            )
        celsius = (read[2] or self.unit[1]).upper() == "C"
        return float(read[1]) * 1.8 + 32 if celsius else float(read[1])


def moment(label: Any, **options: Any) -> forms.DateTimeField:
    return forms.DateTimeField(
        label=label,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
        **options,
    )
