"""The log: every request has a number, every line names the request and the job it belongs to, none carries a secret.

The number is made here and goes out in `X-Request-ID`; one that a caller sends is not taken over, so that nobody writes
into our log. A line is masked after it is whole, so what an exception says is masked too.
"""

from __future__ import annotations

import json
import logging
import re
import secrets
import time
from collections.abc import Callable
from contextvars import ContextVar
from datetime import UTC, datetime

from django.http import HttpRequest, HttpResponse

from engineering import job_log

NUMBER = "X-Request-ID"
NOT_TOLD = ("/static/", "/health/")  # no line of their own: many, and nothing in them
_request: ContextVar[str] = ContextVar("request", default="")
requests = logging.getLogger("jobs.requests")

_NAMES = r"authorization|cookie|csrfmiddlewaretoken|password\w*|passwd|secret\w*|token|api[-_]?key|sessionid|csrftoken"
MASKED = (
    (re.compile(r"\bcb_[\w-]{6,}"), "cb_…"),  # a program's key
    (re.compile(r"(\w://[^/\s:@]*:)[^/\s@]+@"), r"\1…@"),  # in the address of a server
    (re.compile(r"(/calendar/)[^/\s\"']+(?=\.ics)"), r"\1…"),
    (
        re.compile(rf"(?i)\b({_NAMES})([\"']?\s*[:=]\s*[\"']?)(?:(?:token|bearer|basic) +)?[^\s\"'&,;…]+"),
        r"\1\2…",
    ),
    (re.compile(r"(?i)\b(bearer|basic) +[\w.~+/=-]{6,}"), r"\1 …"),
)


def masked(text: str) -> str:
    """The text without what looks like a secret: keys, passwords in addresses, values named as secret."""
    for pattern, shown in MASKED:
        text = pattern.sub(shown, text)
    return text


def request_number() -> str:
    """Of the request this thread answers, or of the one whose work it does; "" for none."""
    return _request.get()


def set_request_number(number: str) -> None:
    """For a worker: the request that sent for its work."""
    _request.set(str(number)[:32])


def numbered_requests(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware, the outermost: gives the request its number and the answer its header."""

    def middleware(request: HttpRequest) -> HttpResponse:
        number, began = secrets.token_hex(8), time.monotonic()
        before = _request.set(number)
        request.log_number = number  # type: ignore[attr-defined]  # Django's last lines come after this middleware
        try:
            response = get_response(request)
            response.headers[NUMBER] = number
            if not request.path_info.startswith(NOT_TOLD):
                _tell(request, response, time.monotonic() - began)
            return response
        finally:
            _request.reset(before)

    return middleware


def _tell(request: HttpRequest, response: HttpResponse, took_s: float) -> None:
    """One line: what was asked for, without the query, and how it went. Who: the number of the account."""
    if not requests.isEnabledFor(logging.INFO):
        return
    person = request._cached_user.pk if hasattr(request, "_cached_user") else None  # asks no session that was not read
    told = {"method": request.method, "path": request.path_info, "status": response.status_code}
    told |= {"took_ms": round(took_s * 1000), "person": person}
    requests.info("%s %s: %s", request.method, request.path_info, response.status_code, extra={"told": told})


def belongs_to(record: logging.LogRecord) -> dict[str, str]:
    """The request and the job of a record, where it has them."""
    request = getattr(getattr(record, "request", None), "log_number", "") or _request.get()
    found = {"request_id": request, "run_id": job_log.current()}
    return {name: value for name, value in found.items() if value}


class TextLine(logging.Formatter):
    """A line to read, with `[request_id … run_id …]` at its end."""

    def __init__(self) -> None:
        super().__init__("{asctime} {levelname:7} {name}: {message}", style="{")

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802  logging's name
        marks = " ".join(f"{name} {value}" for name, value in belongs_to(record).items())
        return super().formatMessage(record) + (f" [{marks}]" if marks else "")

    def format(self, record: logging.LogRecord) -> str:
        return masked(super().format(record))


class JsonLine(logging.Formatter):
    """One JSON object: `at` (UTC), `level`, `logger`, `message`, `request_id`, `run_id`, `exception`, and for a request
    its `method`, `path`, `status`, `took_ms`, `person`."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, object] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": masked(record.getMessage()),
        }
        line |= belongs_to(record)
        for name, value in getattr(record, "told", {}).items():
            line[name] = masked(value) if isinstance(value, str) else value
        if record.exc_info:
            line["exception"] = masked(self.formatException(record.exc_info))
        return json.dumps(line, ensure_ascii=False, default=str)
