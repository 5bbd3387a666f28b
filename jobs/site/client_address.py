from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """The caller's address: what our own proxy wrote last in X-Forwarded-For, or the other end of the connection."""
    if settings.BEHIND_PROXY and (chain := request.META.get("HTTP_X_FORWARDED_FOR", "")):
        return str(chain).rpartition(",")[2].strip()
    return str(request.META.get("REMOTE_ADDR", ""))
