"""People and the keys of their programs."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils import timezone

from jobs.access import may, need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text
from jobs.errors import BadEntry, NotAllowed, NothingChanged, NotNow, Taken
from jobs.models import ApiToken, Person, Role
from jobs.site import setup_code

NAMES = {
    "username": (150, True),
    "first_name": (150, False),
    "last_name": (150, False),
    "email": (254, False),
    "licence_number": (40, False),
    "jurisdiction": (80, False),
}
EDITABLE = (*NAMES, "role", "is_active")
KEY_PREFIX = "cb_"
LONGEST_KEY_LIFE = timedelta(days=366)


class WrongSetupCode(NotAllowed):
    code = "wrong-setup-code"
    default = "That is not the set-up code. It stands on the console where the site was started."


@one_act
def create_first_manager(
    *, code: str, username: str, password: str, first_name: str = "", last_name: str = ""
) -> Person:
    """The first account of a fresh shop, for whoever can read the console. Works once."""
    events.lock_book()
    if Person.objects.exists():
        raise NotNow("The first account is made already. Sign in, or ask the shop manager for an account.")
    if not setup_code.verify(code):
        raise WrongSetupCode
    person = _new(role=Role.MANAGER, password=password, username=username, first_name=first_name, last_name=last_name)
    events.record("first-manager-made", "The first manager's account was made", by=person, detail={"person": person.pk})
    setup_code.use_up()
    return person


@one_act
def create_person(
    by: Person,
    *,
    username: str,
    password: str,
    role: str,
    first_name: str = "",
    last_name: str = "",
    email: str = "",
    licence_number: str = "",
    jurisdiction: str = "",
) -> Person:
    need(by, "people")
    person = _new(
        role=role,
        password=password,
        username=username,
        first_name=first_name,
        last_name=last_name,
        email=email,
        licence_number=licence_number,
        jurisdiction=jurisdiction,
    )
    events.record(
        "person-made",
        f"An account for a {person.get_role_display().lower()} was made",
        by=by,
        detail={"person": person.pk, "role": role},
    )
    return person


@one_act
def edit_person(person: Person, *, by: Person, **fields: Any) -> Person:
    """Change some of `EDITABLE`. The last active manager stays one, or nobody could let anybody in."""
    need(by, "people")
    if unknown := set(fields) - set(EDITABLE):
        raise BadEntry(f"An account has no {', '.join(sorted(unknown))} to change.")
    events.lock_book()
    now = Person.objects.get(pk=person.pk)
    _is_somebody(now)
    fields = {name: value for name, value in _clean(**fields).items() if value != getattr(now, name)}
    if not fields:
        raise NothingChanged
    _name_is_free(fields.get("username"), but=now)
    a_manager_stays(now, fields)
    Person.objects.filter(pk=now.pk).update(**fields)
    told: dict[str, Any] = {name: fields[name] for name in ("role", "is_active") if name in fields}
    events.record(
        "person-edited",
        f"An account was changed: {', '.join(sorted(fields))}",
        by=by,
        detail={"person": now.pk, "fields": sorted(fields), **told},
    )
    return Person.objects.get(pk=now.pk)


@one_act
def change_password(person: Person, *, by: Person, new_password: str, old_password: str | None = None) -> None:
    """One's own, with the old one; or another's, by those who look after the people."""
    if by.pk == person.pk:
        if old_password is None or not person.check_password(old_password):
            raise BadEntry("The old password is not right. Nothing was changed.", field="old_password")
    else:
        need(by, "people")
    _is_somebody(Person.objects.get(pk=person.pk))
    _password_will_do(new_password, person)
    person.set_password(new_password)
    person.save(update_fields=["password"])
    events.record("password-changed", "A password was changed", by=by, detail={"person": person.pk})


@one_act
def issue_token(
    person: Person, *, by: Person, label: str, expires_at: datetime, read_only: bool = True
) -> tuple[ApiToken, str]:
    """A key for a program of one's own. (row, key): the key is given here and nowhere else; only its SHA-256 is
    kept.
    """
    need(by, "token")
    if by.pk != person.pk:
        raise NotAllowed("A key is made by the person it belongs to.")
    now = timezone.now()
    if not now < expires_at <= now + LONGEST_KEY_LIFE:
        raise BadEntry("A key ends on a day from tomorrow to a year from now.", field="expires_at")
    key = KEY_PREFIX + secrets.token_urlsafe(32)
    token = ApiToken.objects.create(
        person=person,
        label=clean_text(label, name="label", most=80, required=True),
        digest=digest(key),
        read_only=read_only,
        expires_at=expires_at,
    )
    events.record(
        "token-issued",
        "A key for a program was made",
        by=by,
        detail={"token": token.pk, "person": person.pk, "read_only": read_only, "expires_at": expires_at.isoformat()},
    )
    return token, key


@one_act
def revoke_token(token: ApiToken, *, by: Person) -> ApiToken:
    need(by, "token")
    if by.pk != token.person_id and not may(by, "people"):
        raise NotAllowed("A key is taken back by the person it belongs to, or by the shop manager.")
    if not ApiToken.objects.filter(pk=token.pk, revoked_at=None).update(revoked_at=timezone.now()):
        raise NotNow("This key is taken back already.")
    events.record(
        "token-revoked",
        "A key for a program was taken back",
        by=by,
        detail={"token": token.pk, "person": token.person_id},
    )
    return ApiToken.objects.get(pk=token.pk)


def digest(key: str) -> str:
    """What is kept of a key. It is random and long, so that a plain hash cannot be turned back."""
    return hashlib.sha256(key.encode("utf-8", "surrogatepass")).hexdigest()


def _new(*, role: str, password: str, **names: str) -> Person:
    fields = _clean(role=role, **names)
    _name_is_free(fields["username"])
    person = Person(**fields)
    _password_will_do(password, person)
    person.set_password(password)
    person.save(force_insert=True)
    return person


def _clean(**fields: Any) -> dict[str, Any]:
    kept = dict(fields)
    for name, (most, required) in NAMES.items():
        if name in kept:
            kept[name] = clean_text(kept[name], name=name.replace("_", " "), most=most, required=required)
    if "username" in kept and not all(letter.isalnum() or letter in "@.+-_" for letter in kept["username"]):
        raise BadEntry("A sign-in name is made of letters, digits and @ . + - _ only.", field="username")
    if "role" in kept and kept["role"] not in Role.values:
        raise BadEntry(f"The role should be one of {', '.join(Role.values)}.", field="role")
    return kept


def _name_is_free(username: str | None, but: Person | None = None) -> None:
    others = Person.objects.exclude(pk=but.pk) if but else Person.objects.all()
    if username is not None and others.filter(username__iexact=username).exists():
        raise Taken("That sign-in name is in use already. Choose another.")


def _is_somebody(person: Person) -> None:
    if person.erased_at is not None:
        raise NotNow("The data of this person were removed; the account is nobody's any more. Make a new one.")


def _password_will_do(password: str, person: Person) -> None:
    try:
        validate_password(password, person)
    except ValidationError as refused:
        raise BadEntry(" ".join(refused.messages), field="password") from refused


def a_manager_stays(person: Person, fields: dict[str, Any]) -> None:
    managers = Person.objects.filter(role=Role.MANAGER, is_active=True)
    was_one = person.role == Role.MANAGER and person.is_active
    stays = fields.get("role", person.role) == Role.MANAGER and fields.get("is_active", person.is_active)
    if was_one and not stays and not managers.exclude(pk=person.pk).exists():
        raise NotNow("This is the last manager; make another one first.")
