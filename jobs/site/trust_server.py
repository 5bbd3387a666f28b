"""Beside `serve --tls`: a door over plain http that shows how to trust the site and leads everywhere else to https."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

OPEN = ("/trust/", "/static/")
Application = Callable[[dict[str, Any], Any], Iterable[bytes]]


def door(site: Application, secure_address: str) -> Application:
    """`site`: the whole site, of which only what is in OPEN may be looked at here."""

    def answer(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        path = environ.get("PATH_INFO", "/")
        if environ.get("REQUEST_METHOD") in ("GET", "HEAD") and path.startswith(OPEN):
            return site(environ, start_response)
        where = secure_address if path not in ("/", "") else "/trust/"
        start_response("302 Found", [("Location", where), ("Content-Length", "0"), ("Cache-Control", "no-store")])
        return [b""]

    return answer
