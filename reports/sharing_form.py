"""The form of a link for people outside: for whom, until when, and what it opens."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from jobs.models import Piece
from reports import standing
from reports.models import IssuedRecord

USUAL_DAYS = 30


class SharingForm(forms.Form):
    """Pieces and records are those of the order, handed in by the page."""

    label = forms.CharField(
        label="For whom", max_length=80, help_text="Their name, or what they are to the job: the client, the inspector."
    )
    until = forms.DateField(
        label="Until the end of",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text="A year at most. It can be revoked at any time before.",
    )
    pieces = forms.MultipleChoiceField(label="Pieces", required=False, widget=forms.CheckboxSelectMultiple)
    records = forms.MultipleChoiceField(label="Records", required=False, widget=forms.CheckboxSelectMultiple)

    def __init__(self, pieces: Sequence[Piece], records: Sequence[IssuedRecord], data: Any = None, **more: Any) -> None:
        start = {"until": timezone.localdate() + timedelta(days=USUAL_DAYS)}
        super().__init__(data, initial=start, **more)
        self.piece_rows, self.record_rows = {str(p.pk): p for p in pieces}, {str(r.pk): r for r in records}
        fields: dict[str, Any] = self.fields
        stages = {key: f"{p}, {p.get_stage_display().lower()}" for key, p in self.piece_rows.items()}
        fields["pieces"].choices = list(stages.items())
        fields["records"].choices = [(key, _told(r)) for key, r in self.record_rows.items()]
        for name in ("pieces", "records"):
            if not fields[name].choices:
                del self.fields[name]

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if not self.errors and not values.get("pieces") and not values.get("records"):
            raise forms.ValidationError("Choose at least one piece or record; a link opens nothing else.")
        return values

    def values(self) -> dict[str, Any]:
        """For the action: the chosen rows themselves, and the end of the last day."""
        sent = self.cleaned_data
        end = datetime.combine(sent["until"], time(23, 59, 59), timezone.get_current_timezone())
        return {
            "label": sent["label"],
            "expires_at": end,
            "pieces": [self.piece_rows[key] for key in sent.get("pieces", [])],
            "records": [self.record_rows[key] for key in sent.get("records", [])],
        }


def _told(record: IssuedRecord) -> str:
    of = str(record.piece or record.revision.design.mark)
    superseded = standing.superseded_by(record)
    told = f"{record.number}, {record.get_kind_display().lower()} of {of}, revision {record.revision.letter}"
    return told + (f" (superseded by {superseded})" if superseded else "")
