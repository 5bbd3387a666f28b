"""The space that is searched for rods, as a form: what the shop has, how many, where, how tight, retightened when."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from django import forms

from engineering.core.contract.units import QUANTITIES
from engineering.core.tables.grades import GRADES
from engineering.core.tables.threads import THREADS, find_thread
from jobs.forms.measured import QuantityField
from jobs.models import StockLot

LARGEST_SHELF, MOST_RODS, MOST_PLANS, MOST_AGES = 40, 12, 6, 4
BETWEEN = " | "  # a thread and a grade in one value of the form


@dataclass(frozen=True)
class OnShelf:
    """A rod of the shop: thread and grade, and the lots it is there in (none: only usual)."""

    thread: str
    grade: str
    lots: tuple[str, ...] = ()

    @property
    def value(self) -> str:
        return f"{self.thread}{BETWEEN}{self.grade}"

    @property
    def words(self) -> str:
        there = f" (lot {', '.join(self.lots)})" if self.lots else " (usual, no lot in the book)"
        return f"{self.thread} {self.grade}{there}"


def in_stock() -> list[OnShelf]:
    """Rods of the lots in use, as far as a lot's description names a thread and a grade of the tables."""
    found: dict[tuple[str, str], list[str]] = {}
    for lot in StockLot.objects.filter(kind=StockLot.Kind.ROD, active=True).order_by("lot")[:2_000]:
        named = named_in(lot.description)
        if named:
            found.setdefault(named, []).append(lot.lot)
    return [OnShelf(thread, grade, tuple(lots)) for (thread, grade), lots in found.items()]


def named_in(text: str) -> tuple[str, str] | None:
    """Thread and grade that a description names: `1/2-13 UNC A193 B7 rod`; None where it names no pair of both."""
    grades = [name for name in GRADES if re.search(rf"(?<![\w.-]){re.escape(name)}(?![\w.-])", text, re.I)]
    if not grades:
        return None
    grade = max(grades, key=len)
    rest = re.sub(re.escape(grade), " ", text, flags=re.I)
    names = [name for name in THREADS if re.search(rf"(?<![\w/.]){re.escape(name)}(?![\w/.])", rest, re.I)]
    words = rest.replace(",", " ").split()
    thread = max(names, key=len) if names else next(
        (found.name for word in words if any(c.isdigit() for c in word) and (found := find_thread(word))), None
    )  # fmt: skip
    return (thread, grade) if thread else None


def shelf_choices(space: dict[str, Any]) -> list[OnShelf]:
    """What is in stock first, then the usual rods of such a piece that are not."""
    stock = in_stock()
    have = {(one.thread, one.grade) for one in stock}
    usual = [OnShelf(thread, grade) for thread, grades in space["shelf"] for grade in grades]
    return [*stock, *(one for one in usual if (one.thread, one.grade) not in have)][:LARGEST_SHELF]


class SpaceForm(forms.Form):
    """`space`: the usual space of the piece, as JSON of the engine; it fills the form in. Valid data: `settings`."""

    shelf = forms.MultipleChoiceField(
        label="Threads and grades",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one rod to look through."},
    )
    fewest = forms.IntegerField(label="Rods, at least", min_value=1, max_value=MOST_RODS)
    most = forms.IntegerField(label="Rods, at most", min_value=1, max_value=MOST_RODS)

    def __init__(self, *args: Any, space: dict[str, Any], units: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.space, self.units = space, units
        choices = shelf_choices(space)
        shelf = self.fields["shelf"]
        assert isinstance(shelf, forms.MultipleChoiceField)  # noqa: S101  as it is written above
        shelf.choices = [(one.value, one.words) for one in choices]
        shelf.initial = [one.value for one in choices if one.lots] or [one.value for one in choices]
        self.fields["fewest"].initial, self.fields["most"].initial = space["numbers"][0], space["numbers"][-1]
        for name, label, value in (
            ("lowest", "Height of the rods, from", min(space["heights_in"])),
            ("highest", "Height of the rods, to", max(space["heights_in"])),
        ):
            self.fields[name] = QuantityField("length", units, label=label, initial=self._length(value))
        self.fields["levels"] = forms.IntegerField(
            label="Heights tried", min_value=1, max_value=24, initial=len(space["heights_in"]),
            help_text="Evenly spaced between the two.",
        )  # fmt: skip
        self.fields["spreads"] = percents(
            "Spread, % of the room", space["spreads"], "Of the room between the outermost places; as 60, 80, 100."
        )
        self.fields["shares"] = percents(
            "Force, % of yield", space["shares"], "At jacking. Above 75 % a torque wrench has no room for its scatter."
        )
        plans = "\n".join(", ".join(f"{age:g}" for age in ages) or "never" for ages in space["restress"])
        self.fields["restress"] = forms.CharField(
            label="Tightened again at ages (days)", max_length=200, initial=plans,
            widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false"}),
            help_text="One plan a line: never, or ages such as 28, 90.",
        )  # fmt: skip

    def _length(self, value_in: float) -> str:
        return f"{QUANTITIES['length'].from_us(value_in, self.units):.5g}"

    def clean_restress(self) -> list[list[float]]:
        lines = [line.strip() for line in self.cleaned_data["restress"].splitlines() if line.strip()]
        if len(lines) > MOST_PLANS:
            raise forms.ValidationError(f"{len(lines)} plans; the search takes {MOST_PLANS} at most.")
        return [[] if line.lower() == "never" else _ages(line) for line in lines]

    def clean(self) -> dict[str, Any]:
        sent = super().clean() or {}
        if (sent.get("fewest") or 0) > (sent.get("most") or MOST_RODS):
            self.add_error("most", "This is fewer than the least number of rods.")
        low, high = sent.get("lowest"), sent.get("highest")
        if low is not None and high is not None and low > high:
            self.add_error("highest", "This lies under the lowest height.")
        return sent

    @property
    def settings(self) -> dict[str, Any]:
        """What the study is asked for, in the engine's units. Only of a valid form."""
        sent, shelf = self.cleaned_data, dict[str, list[str]]()
        for value in sent["shelf"]:
            thread, grade = value.split(BETWEEN)
            shelf.setdefault(thread, []).append(grade)
        low, high, levels = sent["lowest"], sent["highest"], sent["levels"]
        step = (high - low) / (levels - 1) if levels > 1 else 0.0
        return {
            "shelf": [[thread, grades] for thread, grades in shelf.items()],
            "numbers": list(range(sent["fewest"], sent["most"] + 1)),
            "heights_in": sorted({round(low + k * step, 4) for k in range(levels)}),
            "spreads": sent["spreads"],
            "shares": sent["shares"],
            "restress": sent["restress"],
        }


class PercentList(forms.CharField):
    """`60, 80` given back as [0.6, 0.8], each once, in order."""

    def clean(self, value: Any) -> list[float]:
        text = super().clean(value)
        try:
            found = [float(item) for item in text.replace("%", " ").replace(";", ",").split(",") if item.strip()]
        except ValueError as wrong:
            raise forms.ValidationError(f"“{text[:40]}” is no list of percents, such as 60, 80, 100.") from wrong
        if not found or len(found) > 12 or not all(1 <= one <= 100 for one in found):
            raise forms.ValidationError("Give 1 to 12 percents from 1 to 100, with commas between.")
        return sorted({one / 100 for one in found})


def percents(label: str, shares: list[float], help_text: str) -> PercentList:
    initial = ", ".join(f"{100 * share:g}" for share in shares)
    return PercentList(label=label, max_length=100, initial=initial, help_text=help_text)


def _ages(line: str) -> list[float]:
    try:
        found = [float(item) for item in line.replace(";", ",").split(",") if item.strip()]
    except ValueError as wrong:
        raise forms.ValidationError(f"“{line[:40]}” is no list of ages in days; write never, or 28, 90.") from wrong
    if not 0 < len(found) <= MOST_AGES or found != sorted(set(found)) or not all(1 <= age <= 36_500 for age in found):
        raise forms.ValidationError(f"“{line[:40]}”: ages rise, from 1 to 36,500 days, {MOST_AGES} at most in a plan.")
    return found
