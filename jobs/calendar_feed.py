"""The shop's dates as iCalendar (RFC 5545): due dates, planned pours, earliest stressing, re-stressing, calibration."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

LINE_BYTES = 75


@dataclass(frozen=True)
class Dated:
    """A whole-day entry. `uid` never changes for the same thing, so that a re-dated one moves."""

    uid: str
    on: date
    text: str
    late: bool = False
    url: str = ""


def feed(entries: Iterable[Dated], *, name: str, now: datetime, host: str) -> str:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Camberbook//EN", f"X-WR-CALNAME:{escaped(name)}"]
    stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    for entry in entries:
        lines += [
            "BEGIN:VEVENT",
            f"UID:{escaped(entry.uid)}@{host}",
            f"DTSTAMP:{stamp}",
            f"DTSTART;VALUE=DATE:{entry.on:%Y%m%d}",
            f"DTEND;VALUE=DATE:{entry.on + timedelta(days=1):%Y%m%d}",
            f"SUMMARY:{escaped(entry.text)}",
            *([f"URL:{entry.url}"] if entry.url else []),
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    return "".join(f"{folded(line)}\r\n" for line in [*lines, "END:VCALENDAR"])


def escaped(text: str) -> str:
    """RFC 5545 3.3.11."""
    for sign in ("\\", ";", ","):
        text = text.replace(sign, f"\\{sign}")
    return text.replace("\r", "").replace("\n", "\\n")


def folded(line: str) -> str:
    """RFC 5545 3.1: no line over 75 octets, cut between characters, the rest after a space."""
    parts, part, room = [], "", LINE_BYTES
    for sign in line:
        size = len(sign.encode())
        if size > room:
            parts.append(part)
            part, room = "", LINE_BYTES - 1
        part, room = part + sign, room - size
    return "\r\n ".join([*parts, part])
