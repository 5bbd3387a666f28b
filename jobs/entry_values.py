"""Values that people and programs type in: refused in words when they cannot be stored or cannot be."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from jobs import tap
from jobs.errors import BadEntry
from jobs.words import say

CLOCK_SLACK = timedelta(minutes=10)  # a tablet's clock may run ahead of ours by this much


def clean_text(value: Any, *, name: str, most: int, required: bool = False) -> str:
    """Text without blanks around it. BadEntry if too long, empty though required, or with characters no database
    keeps.
    """
    if not isinstance(value, str):
        raise BadEntry(say("The {name} should be text.", name=name), field=name)
    text = value.strip()
    if "\0" in text or any("\ud800" <= letter <= "\udfff" for letter in text):
        raise BadEntry(
            say("The {name} has a character in it that cannot be stored. Type it again.", name=name), field=name
        )
    if required and not text:
        raise BadEntry(say("The {name} is missing.", name=name), field=name)
    if len(text) > most:
        raise BadEntry(
            say("The {name} is {text} characters long; {most} fit.", name=name, text=len(text), most=most), field=name
        )
    return text


def number(value: Any, *, name: str, least: float, most: float, unit: str = "") -> float:
    """A finite number between two ends."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadEntry(say("The {name} should be a number.", name=name), field=name)
    try:
        figure = float(value)
    except OverflowError:
        figure = math.inf
    if not math.isfinite(figure) or not least <= figure <= most:
        raise BadEntry(
            say(
                "The {name} should be from {least} to {most}{part}.",
                name=name,
                least=f"{least:g}",
                most=f"{most:g}",
                part=" " + unit if unit else "",
            ),
            field=name,
        )
    return figure


def number_or_none(value: Any, *, name: str, least: float, most: float, unit: str = "") -> float | None:
    return None if value is None else number(value, name=name, least=least, most=most, unit=unit)


def when_done(at: datetime | None, *, name: str = "time") -> datetime:
    """The moment of an entry, never in the future. None given: when it was tapped, for one that waited on a tablet."""
    now = timezone.now()
    if at is None:
        return tap.current().done_at or now
    if timezone.is_naive(at):
        raise BadEntry(say("The {name} needs a time zone.", name=name), field=name)
    if at > now + CLOCK_SLACK:
        raise BadEntry(
            say("The {name} lies in the future. Set the tablet's clock right and enter it again.", name=name),
            field=name,
        )
    if at.year < 2000:
        raise BadEntry(say("The {name} lies too far back.", name=name), field=name)
    return at
