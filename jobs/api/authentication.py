"""Who is calling: a person's session, with CSRF enforced, or a program's key (`Authorization: Token …`)."""

from __future__ import annotations

from django.core.cache import cache
from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed, Throttled
from rest_framework.request import Request

from jobs.actions.people import digest
from jobs.models import ApiToken, Person
from jobs.site.client_address import client_address

KEYWORD = "Token"
MOST_WRONG_KEYS = 20  # from one address …
WITHIN_S = 15 * 60  # … in a quarter of an hour
LONGEST_KEY = 200


class KeyAuthentication(BaseAuthentication):
    """`Authorization: Token KEY`. An unknown, ended or revoked key, or one of a closed account, is refused in the
    same words.
    """

    def authenticate(self, request: Request) -> tuple[Person, ApiToken] | None:
        parts = get_authorization_header(request).split()
        if not parts or parts[0].lower() != KEYWORD.lower().encode():
            return None
        caller = f"wrong-keys:{client_address(request)}"
        if cache.get(caller, 0) >= MOST_WRONG_KEYS:
            raise Throttled(wait=WITHIN_S)
        token = _token(parts[1]) if len(parts) == 2 else None
        if token is None:
            cache.add(caller, 0, timeout=WITHIN_S)
            cache.incr(caller)
            raise AuthenticationFailed(
                "This key is not known, has ended or was taken back. Make a new one on your account's page."
            )
        return token.person, token

    def authenticate_header(self, request: Request) -> str:
        return KEYWORD


def _token(key: bytes) -> ApiToken | None:
    if len(key) > LONGEST_KEY:
        return None
    found = ApiToken.objects.select_related("person").filter(digest=digest(key.decode("latin-1"))).first()
    if found is None or found.revoked_at or found.expires_at <= timezone.now() or not found.person.is_active:
        return None
    return found
