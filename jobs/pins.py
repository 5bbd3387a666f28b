"""Personal PINs: which will do, and for how long a run of wrong ones shuts the door.

Four digits are ten thousand guesses: only a limit on tries makes them any good, so a PIN opens nothing but a shop
tablet on which somebody has signed in by password, and only for the crew.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise

from django.utils import timezone

from jobs.errors import BadEntry
from jobs.models import Person, PinTry, Role, ShopTablet

LEAST, MOST = 4, 8  # digits
LOCKED_FOR = timedelta(minutes=15)
WRONG_FOR_A_PERSON = 5
WRONG_ON_A_TABLET = 15  # over all names, so that one PIN is not tried on everybody
ROLES = (Role.CREW,)


def check_strength(pin: str) -> str:
    """The PIN, if it will do; BadEntry (field `pin`) with the reason."""
    if not isinstance(pin, str) or not pin.isascii() or not pin.isdigit() or not LEAST <= len(pin) <= MOST:
        raise BadEntry(f"A PIN is {LEAST} to {MOST} digits.", field="pin")
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(pin)}
    if len(steps) == 1 and steps <= {0, 1, 9}:
        raise BadEntry("A PIN of one digit or of digits in a row is guessed first. Choose another.", field="pin")
    return pin


def locked_until(person: Person, tablet: ShopTablet) -> datetime | None:
    """When the next try is let through; None: now. Wrong tries before the PIN was set, or a right one, do not count."""
    since = timezone.now() - LOCKED_FOR
    tries = PinTry.objects.filter(at__gt=since)
    of_person = tries.filter(person=person).order_by("-at", "-pk")
    if person.pin_set_at is not None:
        of_person = of_person.filter(at__gt=person.pin_set_at)
    runs = []
    for row in of_person[: WRONG_FOR_A_PERSON]:
        if row.right:
            break
        runs.append(row.at)
    wrong_here = list(
        tries.filter(tablet=tablet, right=False).order_by("-at").values_list("at", flat=True)[:WRONG_ON_A_TABLET]
    )
    until = [
        times[-1] + LOCKED_FOR
        for times, most in ((runs, WRONG_FOR_A_PERSON), (wrong_here, WRONG_ON_A_TABLET))
        if len(times) >= most
    ]
    return max(until, default=None)


def may_use_a_pin(person: Person) -> bool:
    return person.is_active and person.role in ROLES
