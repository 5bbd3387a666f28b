"""Which shop tablet a request comes from, and whose an entry is that had waited there.

An entry that waited is written as whoever made it, even when somebody else has changed over on the tablet since. What
says who that was is a proof: signed by the site, drawn into the page, good only from the same shop tablet and only
while somebody is signed in on it.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

from jobs.errors import NotAllowed
from jobs.models import Person, ShopTablet

COOKIE, SALT, PROOF_SALT = "tablet", "jobs.tablet", "jobs.tablet.proof"
BY_PIN = "by_pin"  # in the session of whoever changed over by PIN
COOKIE_LIFE = timedelta(days=400)  # the longest that browsers keep one
PROOF_LIFE = timedelta(days=14)  # as long as a tablet keeps drafts


def remember(answer: HttpResponse, tablet: ShopTablet) -> None:
    answer.set_signed_cookie(
        COOKIE,
        str(tablet.key),
        salt=SALT,
        max_age=int(COOKIE_LIFE.total_seconds()),
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def tablet_of(request: HttpRequest) -> ShopTablet | None:
    """The shop tablet in use, if it is one and was not retired; looked up once a request."""
    kept: Any = request
    if not hasattr(kept, "shop_tablet"):
        kept.shop_tablet = _look_up(request)
    found: ShopTablet | None = kept.shop_tablet
    return found


def _look_up(request: HttpRequest) -> ShopTablet | None:
    if COOKIE not in request.COOKIES:
        return None
    try:
        key = UUID(request.get_signed_cookie(COOKIE, salt=SALT, max_age=COOKIE_LIFE))
    except (signing.BadSignature, ValueError):
        return None
    return ShopTablet.objects.filter(key=key, retired_at=None).first()


def proof(request: HttpRequest) -> str:
    """For the page to keep beside each entry; empty where the device is no tablet of the shop."""
    tablet = tablet_of(request)
    if tablet is None or not request.user.is_authenticated:
        return ""
    return signing.dumps({"person": request.user.pk, "tablet": str(tablet.key)}, salt=PROOF_SALT)


def person_proven(request: HttpRequest, text: str) -> Person | None:
    """Who made the entry, by its proof; None where it proves nothing here."""
    tablet = tablet_of(request)
    if tablet is None or not text:
        return None
    try:
        told = signing.loads(text, salt=PROOF_SALT, max_age=PROOF_LIFE)
        of_this = told["tablet"] == str(tablet.key)
        return Person.objects.filter(pk=told["person"], is_active=True).first() if of_this else None
    except (signing.BadSignature, ValueError, TypeError, KeyError):
        return None


def needs_password(request: HttpRequest) -> None:
    """A PIN is a small key: what could let somebody in elsewhere asks for a sign-in by password."""
    if request.session.get(BY_PIN):
        raise NotAllowed("You changed over by PIN. Sign out, and sign in by password for this.")
