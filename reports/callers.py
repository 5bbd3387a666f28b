"""How often one address may call a page that anybody may call."""

from django.core.cache import cache
from django.http import HttpRequest

from jobs.site.client_address import client_address

ALLOWED_PER_MINUTE = {"verify-page": 120, "verify-file": 20, "shared": 60}
MOST_WRONG_CODES = 20  # of shared links, from one address …
WITHIN_S = 15 * 60  # … in a quarter of an hour


def too_many(request: HttpRequest, what: str) -> bool:
    """Count this call; True where the address is over its allowance for this minute. Each process counts for itself."""
    key = f"calls:{what}:{client_address(request)}"
    if cache.add(key, 1, timeout=60):
        return False
    try:
        return cache.incr(key) > ALLOWED_PER_MINUTE[what]
    except ValueError:  # the minute ended in between
        return False


def guessing(request: HttpRequest) -> bool:
    """Whether the address gave so many wrong codes of shared links that none is looked at for a while."""
    return int(cache.get(_wrong_codes(request), 0)) >= MOST_WRONG_CODES


def note_wrong_code(request: HttpRequest) -> None:
    """Count one wrong code of the address."""
    key = _wrong_codes(request)
    if not cache.add(key, 1, timeout=WITHIN_S):
        try:
            cache.incr(key)
        except ValueError:  # the quarter of an hour ended in between
            cache.add(key, 1, timeout=WITHIN_S)


def _wrong_codes(request: HttpRequest) -> str:
    return f"wrong-codes:{client_address(request)}"
