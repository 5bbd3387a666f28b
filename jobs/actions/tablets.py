"""Shop tablets, personal PINs on them, and a refused entry put away by a person with a word."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.contrib.auth.hashers import check_password, make_password
from django.utils import timezone

from jobs import pins
from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text
from jobs.errors import BadEntry, NotAllowed, NotNow
from jobs.models import Event, Language, Person, Piece, PinTry, ShopTablet

TEXT_LENGTH = 2_000


@one_act
def make_tablet(*, by: Person, name: str) -> ShopTablet:
    """Name the device in hand a tablet of the shop. Its key goes into a signed cookie of that device."""
    need(by, "shop")
    made = ShopTablet.objects.create(name=clean_text(name, name="name", most=60, required=True), made_by=by)
    events.record("tablet-made", f"{made} is a tablet of the shop", by=by, detail={"tablet": made.pk})
    return made


@one_act
def retire_tablet(tablet: ShopTablet, *, by: Person) -> ShopTablet:
    """No PIN opens it from now on, and what still waits on it is taken only from whoever signs in."""
    need(by, "shop")
    if not ShopTablet.objects.filter(pk=tablet.pk, retired_at=None).update(retired_at=timezone.now()):
        raise NotNow(f"{tablet} is no tablet of the shop any more.")
    events.record("tablet-retired", f"{tablet} is no tablet of the shop any more", by=by, detail={"tablet": tablet.pk})
    return ShopTablet.objects.get(pk=tablet.pk)


@one_act
def set_pin(person: Person, *, by: Person, pin: str, password: str | None = None) -> None:
    """One's own, with the password; or another's, by those who look after the people. Opens a door that was locked."""
    if by.pk == person.pk:
        if password is None or not person.check_password(password):
            raise BadEntry("The password is not right. Nothing was changed.", field="password")
    else:
        need(by, "people")
    if not pins.may_use_a_pin(person):
        raise NotNow("A PIN is for the crew; everybody else signs in by password.")
    hashed = make_password(pins.check_strength(pin))
    Person.objects.filter(pk=person.pk).update(pin_hash=hashed, pin_set_at=timezone.now())
    events.record("pin-set", "A PIN was set", by=by, detail={"person": person.pk})


@one_act
def clear_pin(person: Person, *, by: Person) -> None:
    if by.pk != person.pk:
        need(by, "people")
    if not Person.objects.filter(pk=person.pk).exclude(pin_hash="").update(pin_hash="", pin_set_at=None):
        raise NotNow("There is no PIN to take back.")
    events.record("pin-cleared", "A PIN was taken back", by=by, detail={"person": person.pk})


@dataclass(frozen=True)
class PinAnswer:
    """`person`: who it is now; None where the PIN was wrong, or nothing is let through before `locked_until`."""

    person: Person | None = None
    locked_until: datetime | None = None


@one_act
def try_pin(person: Person, *, by: Person, tablet: ShopTablet, pin: str) -> PinAnswer:
    """Change over to `person` on a shop tablet where `by` is signed in. A wrong try is written down, not raised: it
    must count.

    Tries wait for each other at the head of the book, so that many at once are not let through before they count.
    """
    events.lock_book()
    now = Person.objects.get(pk=person.pk)
    if tablet.retired_at is not None or not by.is_active:
        raise NotAllowed("This device is no tablet of the shop. Sign in by password.")
    if until := pins.locked_until(now, tablet):
        return PinAnswer(locked_until=until)
    right = pins.may_use_a_pin(now) and bool(now.pin_hash) and check_password(str(pin)[:100], now.pin_hash)
    PinTry.objects.create(person=now, tablet=tablet, at=timezone.now(), right=right)
    detail = {"person": now.pk, "tablet": tablet.pk, "before": by.pk}
    if not right:
        events.record("pin-wrong", f"A wrong PIN on {tablet}", by=by, detail=detail)
        return PinAnswer(locked_until=pins.locked_until(now, tablet))
    events.record("changed-over", f"Changed over on {tablet} by PIN", by=now, detail=detail)
    return PinAnswer(person=now)


@one_act
def choose_language(person: Person, *, by: Person, language: str) -> Person:
    """Each for oneself; the manager for anybody."""
    if by.pk != person.pk:
        need(by, "people")
    if language not in Language.values:
        raise BadEntry("The crew's pages speak English or Spanish.", field="language")
    before = Person.objects.get(pk=person.pk).language
    if before != language:
        Person.objects.filter(pk=person.pk).update(language=language)
        detail = {"person": person.pk, "before": before, "language": language}
        events.record("language-chosen", "A language was chosen", by=by, detail=detail)
    return Person.objects.get(pk=person.pk)


@one_act
def dismiss_refusal(
    *,
    by: Person,
    what: str,
    refusal: str,
    word: str,
    piece: Piece | None = None,
    refused: UUID | None = None,
    request_id: UUID | None = None,
) -> Event:
    """A refused entry leaves the tablet: what it was, why it was refused and the person's word stay in the book.

    `refused`: the number of that entry.
    """
    need(by, "view")
    if event := events.seen(request_id, "refusal-dismissed", by):
        return event
    word = clean_text(word, name="word", most=TEXT_LENGTH, required=True)
    detail = {
        "what": clean_text(what, name="entry", most=TEXT_LENGTH, required=True),
        "refusal": clean_text(refusal, name="refusal", most=TEXT_LENGTH),
        "word": word,
        "refused": str(refused) if refused else None,
    }
    return events.record(
        "refusal-dismissed", f"Refused entry put away: {word}", by=by, piece=piece, detail=detail, request_id=request_id
    )
