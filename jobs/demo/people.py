"""The people of the demo shop. Their passwords are made at the first load and kept, owner-only, in the data folder."""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from jobs.actions import events, people
from jobs.models import Person, Role
from jobs.site.private_files import kept_once


@dataclass(frozen=True)
class Crew:
    manager: Person
    crew: Person
    engineer: Person
    viewer: Person


NAMES = {
    Role.MANAGER: ("oda", "Oda", "Merrinval"),
    Role.CREW: ("tam", "Tam", "Birkholt"),
    Role.ENGINEER: ("runa", "Runa", "Castelmoor"),
    Role.VIEWER: ("pell", "Pell", "Ardenby"),
}
LICENCE = {"licence_number": "PE-00417 (made up)", "jurisdiction": "State of Example"}


def make() -> Crew:
    """The four accounts, made by the shop's own actions from the manager's on."""
    manager = Person.objects.filter(role=Role.MANAGER, is_active=True).first() or _manager()
    made = {role: _somebody(role, manager) for role in (Role.CREW, Role.ENGINEER, Role.VIEWER)}
    return Crew(manager, made[Role.CREW], made[Role.ENGINEER], made[Role.VIEWER])


def sign_in_lines() -> list[str]:
    """One line for each role of the demo that has its account: user name and password."""
    kept, lines = _passwords(), []
    for role, (username, *_) in NAMES.items():
        if Person.objects.filter(username=username, role=role).exists():
            lines.append(f"{role.label:<13} {username:<6} {kept[role]}")
    return lines


def _manager() -> Person:
    """The first account has nobody to make it; `serve` asks for a set-up code here, the demo makes it itself."""
    username, first, last = NAMES[Role.MANAGER]
    person = Person.objects.create_user(
        username, password=_passwords()[Role.MANAGER], role=Role.MANAGER, first_name=first, last_name=last
    )
    events.record("first-manager-made", "The demo's manager was made", by=person, detail={"person": person.pk})
    return person


def _somebody(role: Role, manager: Person) -> Person:
    username, first, last = NAMES[role]
    licence = LICENCE if role == Role.ENGINEER else {}
    return people.create_person(
        manager, username=username, password=_passwords()[role], role=role, first_name=first, last_name=last, **licence
    )


def _passwords() -> dict[str, str]:
    file = Path(settings.DATA) / "demo-sign-in.json"
    kept: dict[str, str] = json.loads(kept_once(file, lambda: json.dumps({role: _password() for role in NAMES})))
    return kept


def _password() -> str:
    """Three short groups that can be typed on a tablet: about 60 bits."""
    letters = "abcdefghjkmnpqrstuvwxyz23456789"
    return "-".join("".join(secrets.choice(letters) for _ in range(4)) for _ in range(3))
