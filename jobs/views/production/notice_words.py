"""A notice in the reader's language: made from its kind and its parts where those are all it says, else as kept."""

from __future__ import annotations

import re
from datetime import datetime

from django.utils.formats import date_format
from django.utils.translation import gettext_noop as _

from jobs.models import Notice
from jobs.words import say, tell

KINDS = {
    "check-failed": say("check failed"),
    "review-wanted": say("review wanted"),
    "repair": say("repair"),
    "non-conformance": say("non-conformance"),
    "strength-reached": say("strength reached"),
    "lift-off-due": say("lift-off due"),
    "visit-planned": say("visit planned"),
    "restressing-due": say("re-stressing due"),
    "calibration-due": say("calibration due"),
    "piece-late": say("piece late"),
}
# What a crew is told of (`jobs.notices`), as it is kept; the parts are read out of the kept words.
TOLD = [
    ("repair", _("{piece} is to be repaired.")),
    ("strength-reached", _("{piece} has reached the strength to be stripped.")),
    ("strength-reached", _("{piece} has reached the strength to be stressed.")),
    ("lift-off-due", _("{piece}: lift off {rods}; a day has passed since the last turn.")),
    ("restressing-due", _("{piece} is to be re-stressed on {day} ({age} days).")),
]


def _pattern(phrase: str) -> re.Pattern[str]:
    return re.compile(re.sub(r"\\\{(\w+)\\\}", r"(?P<\1>.+)", re.escape(phrase)))


PATTERNS = [(kind, phrase, _pattern(phrase)) for kind, phrase in TOLD]


def notice_text(row: Notice) -> str:
    for kind, phrase, pattern in PATTERNS:
        if row.kind == kind and (read := pattern.fullmatch(row.text)):
            parts = read.groupdict()
            if "day" in parts:
                parts["day"] = _day(parts["day"])
            return tell(phrase, **parts)
    return row.text


def _day(kept: str) -> str:
    """`24 Dec 2026` as the reader's language has it."""
    try:
        return date_format(datetime.strptime(kept, "%d %b %Y"), "j M Y")
    except ValueError:
        return kept
