"""Every refusal in one shape: {"code", "message", "blockers": [{"code", "text", "who"}]}; a refused specification
in its own.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from jobs.errors import BadEntry, EditConflict, NotAllowed, ShopError, SpecificationNotAccepted, Unknown
from jobs.models import Order, Revision

WORDS = {
    401: "Sign in, or send a key: Authorization: Token …",
    404: "There is nothing at this address.",
}


def answer_error(exc: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's exception handler. None for what is no refusal but a fault of ours: Django makes a 500 of it."""
    if isinstance(exc, ShopError):
        return _answer(exc.http_status, shop_error(exc))
    if isinstance(exc, Http404):
        return _answer(404, shop_error(Unknown(WORDS[404])))
    if isinstance(exc, PermissionDenied):
        return _answer(403, shop_error(NotAllowed()))
    if isinstance(exc, exceptions.ValidationError):
        return _answer(
            exc.status_code,
            {
                "code": "bad-input",
                "message": "Something in the request is not as it should be: see fields.",
                "blockers": [],
                "fields": _fields(exc.detail),
            },
        )
    if isinstance(exc, exceptions.APIException):
        return _answer(exc.status_code, {"code": _code(exc), "message": _words(exc), "blockers": []}, _headers(exc))
    return None


def shop_error(exc: ShopError) -> dict[str, Any]:
    if isinstance(exc, SpecificationNotAccepted):
        return {
            "format": "check-refusal/1",
            "faults": [{"path": fault.path, "message": fault.message} for fault in exc.faults],
        }
    body: dict[str, Any] = {
        "code": exc.code,
        "message": exc.message,
        "blockers": [asdict(blocker) for blocker in exc.blockers],
    }
    if isinstance(exc, BadEntry) and exc.field:
        body["fields"] = {exc.field: [exc.message]}
    if isinstance(exc, EditConflict) and isinstance(exc.newest, Revision):
        body["newest"] = {"id": exc.newest.pk, "number": exc.newest.number, "letter": exc.newest.letter}
    if isinstance(exc, EditConflict) and isinstance(exc.newest, Order):
        body["newest"] = {"id": exc.newest.pk, "version": exc.newest.version}
    return body


def _answer(status: int, body: dict[str, Any], headers: dict[str, str] | None = None) -> Response:
    set_rollback()
    return Response(body, status=status, headers=headers)


def _code(exc: exceptions.APIException) -> str:
    return str(exc.get_codes()).replace("_", "-")


def _words(exc: exceptions.APIException) -> str:
    return WORDS[401] if isinstance(exc, exceptions.NotAuthenticated) else str(exc.detail)


def _headers(exc: exceptions.APIException) -> dict[str, str]:
    headers: dict[str, str] = {}
    if challenge := getattr(exc, "auth_header", None):
        headers["WWW-Authenticate"] = challenge
    if wait := getattr(exc, "wait", None):
        headers["Retry-After"] = str(int(wait))
    return headers


def _fields(detail: Any) -> dict[str, list[str]]:
    """Each field's messages, flat: `specimens_psi.1` for the second of a list."""
    flat: dict[str, list[str]] = {}

    def walk(path: str, value: Any) -> None:
        if isinstance(value, dict):
            for key, item in value.items():
                walk(f"{path}.{key}" if path else str(key), item)
        elif isinstance(value, list):
            for item in value:
                if isinstance(item, dict | list):
                    walk(path, item)
                else:
                    flat.setdefault(path or "body", []).append(str(item))
        else:
            flat.setdefault(path or "body", []).append(str(value))

    walk("", detail)
    return flat
