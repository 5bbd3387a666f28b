"""How often one address may call a page that anybody may call."""

from django.core.cache import cache
from django.http import HttpRequest

from jobs.site.client_address import client_address

ALLOWED_PER_MINUTE = {"verify-page": 120, "verify-file": 20}


def too_many(request: HttpRequest, what: str) -> bool:
    """Count this call; True where the address is over its allowance for this minute. Each process counts for itself."""
    key = f"calls:{what}:{client_address(request)}"
    if cache.add(key, 1, timeout=60):
        return False
    try:
        return cache.incr(key) > ALLOWED_PER_MINUTE[what]
    except ValueError:  # the minute ended in between
        return False
